//! Access points, and what the radios of desks speak.

use crate::air::{Band, Generation, Spoken, Width};
use crate::quantity::LinkRate;
use crate::site::fault::Fault;
use crate::site::model::{Attachment, Cell, End, Machine, Port, Socket, Switch};
use crate::site::ports::Fitted;
use crate::site::reader::{Part, Read, Reader};
use crate::site::schema::Section;
use crate::site::tree::Value;
use crate::site::values::no_such_word;

/// The port of a machine that is its radio.
pub(in crate::site) const AIR: &str = "air";

impl Reader<'_> {
    /// An access point: a switch whose one port is a radio.
    pub(in crate::site) fn access_point(
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
        let crowd = self.stated(part, "crowd");
        let power = self.yes_no(part, "power", "yes-no");
        let equal_time = self.yes_no(part, "equal-time", "yes-no");
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
            powers: None,
            cell: Some(Cell {
                speaks,
                room: room?,
                channel: channel?,
                busy: busy?,
                crowd: crowd?,
                power: power?.is_some_and(|power| power.value.only() == Some(&true)),
                equal_time: equal_time?.is_some_and(|so| so.value.only() == Some(&true)),
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
    pub(in crate::site) fn ports_and_air(
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
    pub(in crate::site) fn spoken(&mut self, part: &Part<'_>) -> Read<Option<Spoken>> {
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
}

/// Any of a list by its word.
pub(super) fn of_word<T: Copy>(
    all: &[T],
    word: impl Fn(T) -> &'static str,
    text: &str,
) -> Option<T> {
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

/// An access point and a switch have names of their own: a run would not know which is meant.
pub(in crate::site) fn same_names(
    reader: &mut Reader<'_>,
    switches: &[Part<'_>],
    points: &[Part<'_>],
) {
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
