//! A radio link: what was read off, and what stands in the way.

use super::points::of_word;
use crate::air::{AirRate, Band, Between, Link, Obstacle, Reading, Spoken, thickness};
use crate::catalogue::Catalogue;
use crate::copper::DecibelMilliwatts;
use crate::quantity::{Kind, Length, UnitFault, parse, parse_base};
use crate::site::fault::Fault;
use crate::site::model::{Known, Value as Drawn};
use crate::site::reader::{Part, Read, Reader};
use crate::site::tree::{Node, Value};
use crate::site::values::no_such_word;
use crate::spread::{Bounds, Spread};

/// Signals that equipment shows, dBm.
const SIGNALS: std::ops::RangeInclusive<f64> = -110.0..=0.0;

/// Rates on the air that equipment shows, Mb/s.
const SHOWN: std::ops::RangeInclusive<f64> = 1.0..=50_000.0;

/// More than anything but a closed steel box takes, dB.
const MOST_WEAKER: f64 = 60.0;

/// Fields of a link through the air that is worked out.
const OF_A_LINK: [&str; 5] = ["distance", "through", "band", "weaker", "relayed"];

/// Kinds that lie between storeys.
const FLOORS: [&str; 4] = ["timber-floor", "clay-floor", "unknown-floor", "steel-deck"];

/// What may stand in the way, by the rows of the catalogue.
pub(in crate::site) fn kinds(catalogue: &Catalogue) -> Vec<&str> {
    catalogue
        .numbers()
        .filter_map(|row| row.id.strip_prefix("air.through.")?.strip_suffix(".5"))
        .collect()
}

impl Reader<'_> {
    /// What a run says of its radio link; `unknown` is a link of which nothing was read off.
    pub(in crate::site) fn radio_text<'t>(
        &mut self,
        part: &Part<'t>,
    ) -> Read<Option<(&'t str, &'t Node)>> {
        match part.table.get("wireless").map(|entry| &entry.node) {
            Some(node) => match &node.value {
                Value::Text { text, .. } if text.trim() == "unknown" => Ok(Some((text, node))),
                _ => self.text(part, "wireless"),
            },
            None => Ok(None),
        }
    }

    /// What was read off a radio link; nothing where its payload is told.
    pub(in crate::site) fn reading(
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
        let band = self.word(part, "band", "band");
        let weaker = self.weaker(part, reading);
        let relayed = self.yes_no(part, "relayed", "yes-no");
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
            crowd: None,
            band: band?.and_then(|word| of_word(&Band::ALL, Band::word, &word)),
            weaker: weaker?,
            relayed: relayed?.is_some_and(|yes| yes.value.only() == Some(&true)),
        }))
    }

    /// `5..12 dB`: what is lost of a signal besides; a rate that is shown has it in it.
    fn weaker(&mut self, part: &Part<'_>, reading: Reading) -> Read<Option<Drawn<f64>>> {
        let Some((text, node)) = self.text(part, "weaker")? else {
            return Ok(None);
        };
        if matches!(reading, Reading::Shown(_)) {
            return Err(self.report(Fault::new(
                part.place_of("weaker"),
                format!("{} is in the rate that is shown", part.id("weaker")),
                "the system chose that rate for the signal that there is",
                "remove 'weaker', or write the signal in place of the rate",
            )));
        }
        let help = "write decibels above zero, for example \"12 dB\" or \"5..20 dB\"";
        let number = text.trim().strip_suffix("dB").map(str::trim_end);
        let spread = number.and_then(|number| Spread::<f64>::parse(number, Bounds::POSITIVE).ok());
        match spread {
            Some(spread) if spread.law().knots().2 <= MOST_WEAKER => {
                Ok(Some(Known::stated(part.id("weaker"), spread)))
            }
            _ => {
                let fault = UnitFault {
                    span: 0..text.len(),
                    found: format!("'{}' is no loss of up to {MOST_WEAKER:.0} dB", text.trim()),
                    help: help.to_owned(),
                    instead: None,
                };
                Err(self.unit(node, format!("{} is no loss", part.id("weaker")), fault))
            }
        }
    }

    /// Fields of a link through the air stand at no cable, nor where the payload is told.
    pub(in crate::site) fn of_radio(&mut self, part: &Part<'_>) -> Read<()> {
        let told = OF_A_LINK
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
    pub(super) fn obstacles(
        &mut self,
        part: &Part<'_>,
        key: &str,
    ) -> Read<Option<(Vec<Obstacle>, usize)>> {
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
