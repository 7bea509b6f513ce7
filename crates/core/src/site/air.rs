//! Words of the air: access points, what radios speak and show, rooms, walls and jacks.

use super::fault::Fault;
use super::model::{
    Attachment, Cell, End, House, Jack, Machine, Medium, Port, Radio, Room, Site, Socket, Switch,
    Wall,
};
use super::ports::Fitted;
use super::reader::{Part, Read, Reader, Reported};
use super::schema::Section;
use super::tree::{Node, Table, Value};
use super::values::no_such_word;
use crate::air::{
    AirRate, Band, Between, Generation, Link, Obstacle, Reading, Spoken, Width, thickness,
};
use crate::catalogue::Catalogue;
use crate::copper::DecibelMilliwatts;
use crate::quantity::{Kind, Length, LinkRate, Measure, UnitFault, metres, parse, parse_base};

/// The port of a machine that is its radio.
pub(super) const AIR: &str = "air";

/// Signals that equipment shows, dBm.
const SIGNALS: std::ops::RangeInclusive<f64> = -110.0..=0.0;

/// Rates on the air that equipment shows, Mb/s.
const SHOWN: std::ops::RangeInclusive<f64> = 1.0..=50_000.0;

/// What may stand in the way, by the rows of the catalogue.
pub(super) fn kinds(catalogue: &Catalogue) -> Vec<&str> {
    catalogue
        .numbers()
        .filter_map(|row| row.id.strip_prefix("air.through.")?.strip_suffix(".5"))
        .collect()
}

/// Kinds that lie between storeys.
const FLOORS: [&str; 4] = ["timber-floor", "clay-floor", "unknown-floor", "steel-deck"];

impl Reader<'_> {
    /// An access point: a switch whose one port is a radio.
    pub(super) fn access_point(
        &mut self,
        part: &Part<'_>,
        mtu: u32,
        fitted: &mut Vec<Fitted>,
    ) -> Read<Switch> {
        let room = self.room_named(part);
        let band = self.word(part, "band", "band");
        let width = self.word(part, "width", "channel-width");
        let generation = self.word(part, "generation", "generation");
        let streams = self.whole(part, "streams");
        let channel = self.whole(part, "channel");
        let busy = self.stated(part, "busy");
        let power = self.yes_no(part, "power", "yes-no");
        let ports = self.ports_and_air(part, Machine::Switch, mtu, fitted);
        let speaks = Spoken {
            band: band?.and_then(|word| of_word(&Band::ALL, Band::word, &word)),
            generation: generation?
                .and_then(|word| of_word(&Generation::ALL, Generation::word, &word)),
            width: width?.and_then(|word| of_word(&Width::ALL, Width::word, &word)),
            streams: streams?.map(|s| s as usize),
        };
        self.possible(part, speaks)?;
        Ok(Switch {
            name: part.name.clone(),
            pause: None,
            ports: ports?,
            cell: Some(Cell {
                speaks,
                room: room?,
                channel: channel?,
                busy: busy?,
                power: power?.is_some_and(|power| power.value.only() == Some(&true)),
            }),
        })
    }

    /// What is told of a radio goes together.
    fn possible(&mut self, part: &Part<'_>, speaks: Spoken) -> Read<()> {
        let (Some(generation), band, width) = (speaks.generation, speaks.band, speaks.width) else {
            return Ok(());
        };
        let word = generation.word();
        let (key, found) = match (band, width) {
            (Some(band), _) if !generation.knows(band) => {
                ("band", format!("{word} has no place at {}", band.word()))
            }
            (_, Some(width)) if width > generation.widest() => (
                "width",
                format!("{word} knows no channel of {}", width.word()),
            ),
            _ => return Ok(()),
        };
        Err(self.report(Fault::new(
            part.place_of(key),
            format!("{} cannot be so", part.path),
            found,
            format!("look again, or leave '{key}' out"),
        )))
    }

    /// The ports that are written, and the radio.
    pub(super) fn ports_and_air(
        &mut self,
        part: &Part<'_>,
        machine: Machine,
        mtu: u32,
        fitted: &mut Vec<Fitted>,
    ) -> Read<Vec<Port>> {
        let air = part.section == Section::AccessPoint || part.table.get("wireless").is_some();
        let written = part.table.get("port").is_some();
        let mut ports = if air && !written {
            Vec::new()
        } else {
            self.ports(part, machine, mtu, fitted)?
        };
        if air && ports.iter().all(|port| port.name != AIR) {
            let port = radio_port(mtu);
            fitted.push(Fitted {
                end: End {
                    machine,
                    name: part.name.clone(),
                    port: AIR.to_owned(),
                },
                port: port.clone(),
                place: part.place.clone(),
                no_such_rate: None,
            });
            ports.push(port);
        }
        Ok(ports)
    }

    /// `ax, 2 streams`: what a desk's radio speaks.
    pub(super) fn spoken(&mut self, part: &Part<'_>) -> Read<Option<Spoken>> {
        let Some(entry) = part.table.get("wireless") else {
            return Ok(None);
        };
        let Value::Text { text, .. } = &entry.node.value else {
            let field = part.field("wireless")?;
            return Err(self.wrong_type(part, field, &entry.node));
        };
        let mut speaks = Spoken::default();
        if text.trim() == "unknown" {
            return Ok(Some(speaks));
        }
        for piece in text.split(',') {
            let word = piece.trim();
            let count = word
                .strip_suffix("streams")
                .or_else(|| word.strip_suffix("stream"))
                .and_then(|n| n.trim().parse::<usize>().ok());
            let generation = of_word(&Generation::ALL, Generation::word, word);
            let (width, band) = (
                of_word(&Width::ALL, Width::word, word),
                of_word(&Band::ALL, Band::word, word),
            );
            match (generation, count, width, band) {
                (Some(_), ..) => speaks.generation = generation,
                (_, Some(1..=4), ..) => speaks.streams = count,
                (_, _, Some(_), _) => speaks.width = width,
                (_, _, _, Some(_)) => speaks.band = band,
                _ => {
                    let all = [
                        "n",
                        "ac",
                        "ax",
                        "be",
                        "1 stream",
                        "2 streams",
                        "80 MHz",
                        "5 GHz",
                    ];
                    let fault = no_such_word(text, word, &all);
                    let title = format!("{} is not what a radio speaks", part.id("wireless"));
                    return Err(self.unit(&entry.node, title, fault));
                }
            }
        }
        self.possible(part, speaks)?;
        Ok(Some(speaks))
    }

    /// The name of a room; whether there is such a room is seen when all are read.
    pub(super) fn room_named(&mut self, part: &Part<'_>) -> Read<Option<String>> {
        let text = self.text(part, "room")?;
        Ok(text.map(|(text, _)| text.trim().to_owned()))
    }

    /// What a run says of its radio link; `unknown` is a link of which nothing was read off.
    pub(super) fn radio_text<'t>(&mut self, part: &Part<'t>) -> Read<Option<(&'t str, &'t Node)>> {
        match part.table.get("wireless").map(|entry| &entry.node) {
            Some(node) => match &node.value {
                Value::Text { text, .. } if text.trim() == "unknown" => Ok(Some((text, node))),
                _ => self.text(part, "wireless"),
            },
            None => Ok(None),
        }
    }

    /// What was read off a radio link; nothing where its payload is told.
    pub(super) fn reading(
        &mut self,
        part: &Part<'_>,
        text: &str,
        node: &Node,
    ) -> Read<Option<Link>> {
        let body = text.trim();
        let (word, rest) = body.split_once(char::is_whitespace).unwrap_or((body, ""));
        let fault = |found: String, help: &str| UnitFault {
            span: 0..text.len(),
            found,
            help: help.to_owned(),
            instead: None,
        };
        let title = format!("{} is not a radio link", part.id("wireless"));
        let reading = match word {
            "unknown" if rest.is_empty() => Reading::None,
            "signal" => {
                let number = rest.trim().strip_suffix("dBm").unwrap_or(rest).trim();
                match number.parse::<f64>() {
                    Ok(dbm) if SIGNALS.contains(&dbm) => Reading::Signal(DecibelMilliwatts(dbm)),
                    _ => {
                        let found = format!("'{}' is no signal", rest.trim());
                        let help =
                            "write the dBm that the system shows, for example \"signal -64 dBm\"";
                        return Err(self.unit(node, title, fault(found, help)));
                    }
                }
            }
            "shown" => match parse_base(Kind::DataRate, rest.trim()) {
                Ok(base) if SHOWN.contains(&(base * 8e-6)) => Reading::Shown(AirRate(base * 8e-6)),
                _ => {
                    let found = format!("'{}' is no rate on the air", rest.trim());
                    let help =
                        "write the rate that the system shows, for example \"shown 866.7 Mb/s\"";
                    return Err(self.unit(node, title, fault(found, help)));
                }
            },
            _ => {
                self.of_radio(part)?;
                return Ok(None);
            }
        };
        let distance = self.stated::<Length>(part, "distance");
        let obstacles = self.obstacles(part, "through");
        let obstacles = obstacles?;
        let floors = obstacles.as_ref().map_or(0, |(_, floors)| *floors);
        Ok(Some(Link {
            id: part.path.clone(),
            ends: [String::new(), String::new()],
            speaks: Spoken::default(),
            between: Between {
                distance: distance?,
                obstacles: obstacles.map(|(all, _)| all),
                floors,
                round: None,
            },
            reading,
            busy: None,
        }))
    }

    /// Fields of a link through the air stand at no cable, nor where the payload is told.
    pub(super) fn of_radio(&mut self, part: &Part<'_>) -> Read<()> {
        let told = ["distance", "through"]
            .into_iter()
            .find(|key| part.table.get(key).is_some());
        let Some(key) = told else { return Ok(()) };
        Err(self.report(Fault::new(
            part.place_of(key),
            format!("{} is told of no link to be worked out", part.id(key)),
            format!("'{key}' describes a way through the air"),
            format!("write wireless = \"unknown\", a signal or a shown rate, or remove '{key}'"),
        )))
    }

    /// `brick, 2 x stud, concrete 25 cm floor`, and how many of them are floors.
    fn obstacles(&mut self, part: &Part<'_>, key: &str) -> Read<Option<(Vec<Obstacle>, usize)>> {
        let Some((text, node)) = self.text(part, key)? else {
            return Ok(None);
        };
        let (mut all, mut floors) = (Vec::new(), 0);
        if text.trim() == "nothing" {
            return Ok(Some((all, floors)));
        }
        let catalogue = self.catalogue;
        for piece in text.split(',') {
            let Some((obstacle, floor)) = one_obstacle(piece.trim(), catalogue) else {
                let mut known = kinds(catalogue);
                known.extend(["nothing", "wall", "floor"]);
                let word = piece.trim();
                let fault = no_such_word(text, word, &known);
                let title = format!("{} names nothing that stands in the way", part.id(key));
                return Err(self.unit(node, title, fault));
            };
            floors += usize::from(floor);
            all.push(obstacle);
        }
        Ok(Some((all, floors)))
    }

    /// The building, its rooms, walls and jacks.
    pub(super) fn house(&mut self, top: &Part<'_>) -> Read<House> {
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
        let jacks: Vec<_> = self
            .named(top, Section::Jack, "jack")
            .iter()
            .map(|part| self.jack(part, &names))
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
        let of = |told: Option<super::model::Value<Length>>, usual: f64| {
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

    fn jack(&mut self, part: &Part<'_>, names: &[String]) -> Read<Jack> {
        let rate = self.link_rate(part, "rate");
        let power = self.yes_no(part, "power", "yes-no");
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
        })
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

/// A side of a room of which nothing is said, m.
const USUAL_ROOM: f64 = 5.0;

/// Any of a list by its word.
fn of_word<T: Copy>(all: &[T], word: impl Fn(T) -> &'static str, text: &str) -> Option<T> {
    all.iter().copied().find(|one| word(*one) == text)
}

/// A radio as a port: its rate is what the standard has at most, which no link shows.
fn radio_port(mtu: u32) -> Port {
    Port {
        name: AIR.to_owned(),
        rate: LinkRate::from_megabits(10_000),
        knows: Vec::new(),
        socket: Socket::Copper,
        count: 1,
        attachment: None::<Attachment>,
        mtu,
        members: 1,
    }
}

/// `2 x brick`, `concrete 25 cm floor`: what it is, and whether it lies between storeys.
fn one_obstacle(text: &str, catalogue: &Catalogue) -> Option<(Obstacle, bool)> {
    let (count, rest) = match text.split_once(" x ") {
        Some((number, rest)) => (number.trim().parse::<u32>().ok()?, rest.trim()),
        None => (1, text),
    };
    if !(1..=20).contains(&count) {
        return None;
    }
    let (kind, floor) = match rest {
        "wall" => ("unknown-wall", false),
        "floor" => ("unknown-floor", true),
        _ => match rest.strip_suffix(" floor") {
            Some(kind) => (kind.trim(), true),
            None => (rest, FLOORS.contains(&rest)),
        },
    };
    let known = kinds(catalogue);
    if known.contains(&kind) {
        let kind = kind.to_owned();
        let count = f64::from(count);
        return Some((Obstacle { kind, count }, floor));
    }
    // a material and how thick it is
    let (material, thick) = kind.split_once(' ')?;
    let thick = parse::<Length>(thick.trim()).ok()?;
    let (kind, times) = thickness(material, thick)?;
    known.contains(&kind).then(|| {
        let obstacle = Obstacle {
            kind: kind.to_owned(),
            count: f64::from(count) * times,
        };
        (obstacle, floor)
    })
}

/// An access point and a switch have names of their own: a run would not know which is meant.
pub(super) fn same_names(reader: &mut Reader<'_>, switches: &[Part<'_>], points: &[Part<'_>]) {
    for point in points {
        let Some(switch) = switches.iter().find(|s| s.name == point.name) else {
            continue;
        };
        reader.report(
            Fault::new(
                point.place.clone(),
                format!("{} has the name of a switch", point.path),
                "both pass on what they get, under one name",
                "give one of them another name",
            )
            .also(switch.place.clone(), "the switch"),
        );
    }
}

/// Desks and access points stand in rooms that there are.
pub(super) fn rooms_named(
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

/// Gives every radio link what its ends speak and, where it does not say itself, what the rooms
/// put between them.
pub(super) fn tie(site: &mut Site) {
    let house = &site.house;
    for run in &mut site.runs {
        let Medium::Wireless {
            carries: Radio::Link(link),
        } = &mut run.medium
        else {
            continue;
        };
        let mut rooms: Vec<&str> = Vec::new();
        let mut ends: Vec<(String, bool)> = Vec::new();
        for end in [&run.from, &run.to] {
            let path = format!("{}.{}", end.machine.word(), end.name);
            if let Some(desk) = site.desks.iter().find(|d| d.name == end.name)
                && end.machine == Machine::Desk
            {
                link.speaks = desk.radio.unwrap_or_default().with(link.speaks);
                rooms.extend(desk.room.as_deref());
                ends.push((path, false));
            } else if let Some(cell) = site
                .switches
                .iter()
                .find(|s| s.name == end.name && end.machine == Machine::Switch)
                .and_then(|s| s.cell.as_ref())
            {
                link.speaks = link.speaks.with(cell.speaks);
                link.busy = link.busy.take().or_else(|| cell.busy.clone());
                rooms.extend(cell.room.as_deref());
                ends.push((format!("access-point.{}", end.name), true));
            } else {
                ends.push((path, false));
            }
        }
        // the access point first; of two, the one further from the desk stays the sender
        ends.sort_by_key(|(_, point)| !point);
        for (place, (path, _)) in link.ends.iter_mut().zip(ends) {
            *place = path;
        }
        if let [a, b] = rooms[..]
            && link.between.obstacles.is_none()
            && let Some(between) = crate::plan::between(house, a, b)
        {
            let told = link.between.distance.take();
            link.between = between;
            if told.is_some() {
                link.between.distance = told;
            }
        }
    }
}
