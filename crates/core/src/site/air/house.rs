//! The building: rooms, walls and jacks.

use crate::quantity::{Length, LinkRate, Measure, UnitFault, metres};
use crate::site::model::{House, Jack, Room, Site, Value as Drawn, Wall};
use crate::site::reader::{Part, Read, Reader, Reported};
use crate::site::schema::Section;
use crate::site::tree::{Node, Table, Value};
use crate::site::values::no_such_word;

impl Reader<'_> {
    /// The name of a room; whether there is such a room is seen when all are read.
    pub(in crate::site) fn room_named(&mut self, part: &Part<'_>) -> Read<Option<String>> {
        let text = self.text(part, "room")?;
        Ok(text.map(|(text, _)| text.trim().to_owned()))
    }

    /// The building, its rooms, walls and jacks.
    pub(in crate::site) fn house(&mut self, top: &Part<'_>) -> Read<House> {
        let empty = Table::default();
        let table = match top.table.get("building").map(|entry| &entry.node.value) {
            Some(Value::Table(table)) => table,
            _ => &empty,
        };
        let building = Part {
            section: Section::Building,
            path: "building".to_owned(),
            name: String::new(),
            place: top.place_of("building"),
            table,
        };
        self.known_keys(&building);
        let wall = self.obstacles(&building, "walls");
        let floor = self.obstacles(&building, "floors");
        let storey = self.stated::<Length>(&building, "storey");
        let stairs = self.yes_no(&building, "stairs", "yes-no");
        let room_parts = self.named(top, Section::Room, "room");
        let mut rooms: Vec<Room> = Vec::new();
        let mut whole = true;
        for part in &room_parts {
            match self.room(part, &rooms) {
                Ok(room) => rooms.push(room),
                Err(Reported) => whole = false,
            }
        }
        let names: Vec<String> = room_parts.iter().map(|part| part.name.clone()).collect();
        let walls: Vec<_> = self
            .numbered(top, Section::Wall, "wall")
            .iter()
            .map(|part| self.wall(part, &names))
            .collect();
        let switches = switches(top);
        let jacks: Vec<_> = self
            .named(top, Section::Jack, "jack")
            .iter()
            .map(|part| self.jack(part, &names, &switches))
            .collect();
        if !whole {
            return Err(Reported);
        }
        Ok(House {
            rooms,
            walls: walls.into_iter().collect::<Read<_>>()?,
            wall: wall?.map(|(all, _)| all),
            floor: floor?.map(|(all, _)| all),
            storey: storey?,
            stairs: stairs?.is_some_and(|yes| *yes.value.likeliest()),
            jacks: jacks.into_iter().collect::<Read<_>>()?,
        })
    }

    fn room(&mut self, part: &Part<'_>, before: &[Room]) -> Read<Room> {
        let floor = self.whole(part, "floor");
        let plan = ["left", "front", "wide", "deep"].map(|key| self.stated::<Length>(part, key));
        let floor = floor?.unwrap_or(0);
        let [left, front, wide, deep] = plan;
        // rooms of a storey stand in a row where nobody says how
        let beside = before
            .iter()
            .filter(|room| room.floor == floor)
            .map(|room| (room.plan[0] + room.plan[2]).base())
            .fold(0.0, f64::max);
        let of = |told: Option<Drawn<Length>>, usual: f64| {
            told.map_or(metres(usual), |told| told.median())
        };
        Ok(Room {
            name: part.name.clone(),
            floor,
            plan: [
                of(left?, beside),
                of(front?, 0.0),
                of(wide?, USUAL_ROOM),
                of(deep?, USUAL_ROOM),
            ],
        })
    }

    fn wall(&mut self, part: &Part<'_>, names: &[String]) -> Read<Wall> {
        let made = match self.obstacles(part, "made") {
            Ok(Some((made, _))) => Ok(made),
            Ok(None) => Err(self.missing(part, "made")),
            Err(reported) => Err(reported),
        };
        let Some((text, node)) = self.text(part, "rooms")? else {
            return Err(self.missing(part, "rooms"));
        };
        let two: Vec<&str> = text.split(',').map(str::trim).collect();
        let [a, b] = two[..] else {
            let fault = UnitFault {
                span: 0..text.len(),
                found: format!("'{}' are not two rooms", text.trim()),
                help: "write two rooms with a comma between them".to_owned(),
                instead: None,
            };
            return Err(self.unit(node, format!("{} parts no two rooms", part.path), fault));
        };
        for name in [a, b] {
            self.is_a_room(part, "rooms", (text, node), name, names)?;
        }
        Ok(Wall {
            rooms: [a.to_owned(), b.to_owned()],
            made: made?,
        })
    }

    fn jack(&mut self, part: &Part<'_>, names: &[String], switches: &[&str]) -> Read<Jack> {
        let rate = self.link_rate(part, "rate");
        let power = self.yes_no(part, "power", "yes-no");
        let switch = self.ends_at(part, switches);
        let Some((text, node)) = self.text(part, "room")? else {
            return Err(self.missing(part, "room"));
        };
        let room = text.trim();
        self.is_a_room(part, "room", (text, node), room, names)?;
        Ok(Jack {
            name: part.name.clone(),
            room: room.to_owned(),
            rate: rate?.unwrap_or(LinkRate::from_megabits(1000)),
            power: power?.is_some_and(|yes| *yes.value.likeliest()),
            switch: switch?,
        })
    }

    /// The switch that the cable of a jack ends at.
    fn ends_at(&mut self, part: &Part<'_>, switches: &[&str]) -> Read<Option<String>> {
        let Some((text, node)) = self.text(part, "switch")? else {
            return Ok(None);
        };
        let name = text.trim();
        let name = name.strip_prefix("switch.").unwrap_or(name);
        if switches.contains(&name) {
            return Ok(Some(name.to_owned()));
        }
        let mut fault = no_such_word(text, name, switches);
        if switches.is_empty() {
            "describe the switch first: [switch.NAME]".clone_into(&mut fault.help);
        }
        let title = format!("{} names no switch of this site", part.id("switch"));
        Err(self.unit(node, title, fault))
    }

    fn is_a_room(
        &mut self,
        part: &Part<'_>,
        key: &str,
        (text, node): (&str, &Node),
        name: &str,
        names: &[String],
    ) -> Read<()> {
        if names.iter().any(|known| known == name) {
            return Ok(());
        }
        let all: Vec<&str> = names.iter().map(String::as_str).collect();
        let mut fault = no_such_word(text, name, &all);
        if all.is_empty() {
            "describe the rooms first: [room.NAME]".clone_into(&mut fault.help);
        }
        let title = format!("{} names no room of this site", part.id(key));
        Err(self.unit(node, title, fault))
    }
}

/// The switches of a site, by name.
fn switches<'t>(top: &Part<'t>) -> Vec<&'t str> {
    match top.table.get("switch").map(|entry| &entry.node.value) {
        Some(Value::Table(table)) => table.entries.iter().map(|e| e.key.as_str()).collect(),
        _ => Vec::new(),
    }
}

/// A side of a room of which nothing is said, m.
const USUAL_ROOM: f64 = 5.0;

/// Desks and access points stand in rooms that there are.
pub(in crate::site) fn rooms_named(
    reader: &mut Reader<'_>,
    site: &Site,
    desks: &[Part<'_>],
    points: &[Part<'_>],
) {
    let names: Vec<String> = site.house.rooms.iter().map(|r| r.name.clone()).collect();
    for part in desks.iter().chain(points) {
        let Some(entry) = part.table.get("room") else {
            continue;
        };
        if let Value::Text { text, .. } = &entry.node.value {
            // the fault is noted; nothing follows from it here
            let _ = reader.is_a_room(part, "room", (text, &entry.node), text.trim(), &names);
        }
    }
}
