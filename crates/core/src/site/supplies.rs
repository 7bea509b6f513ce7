//! Backup supplies: what they give, what is in them, what hangs on them.

use super::fault::Fault;
use super::keeping::{Battery, Fed, Supply, SupplyKind};
use super::model::{Chosen, Known, Machine, Value as Drawn};
use super::reader::{Part, Read, Reader};
use super::runs::Named;
use super::schema::Kept;
use super::tree::Value;
use super::values::{no_such_word, truth};
use crate::piece::Piece;
use crate::power::AmpereHours;
use crate::quantity::{Energy, Measure, Power, Time, UnitFault, parse};
use crate::spread::{Bounds, Spread};

/// More blocks than a unit under a desk has.
const MOST_BLOCKS: usize = 64;

impl Reader<'_> {
    /// A backup supply.
    pub(super) fn supply(&mut self, part: &Part<'_>, machines: &[Named]) -> Read<Supply> {
        let kind = self.supply_kind(part);
        let rating = self.known_power(part, "rating");
        let apparent = self.parsed(part, "apparent", "an apparent power", apparent);
        let battery = self.parsed(part, "battery", "a battery", battery);
        let minutes = self.parsed(part, "minutes", "a table of minutes", load_table);
        let age = self.quantity::<Time>(part, "age", "supply.age");
        let temperature = self.temperature(part);
        let tested = self.yes_no_or(part, "tested", "supply.tested");
        let measured = self.stated(part, "measured");
        let others = self.stated(part, "others");
        let feeds = self.feeds(part, machines);
        let (battery, minutes) = (battery?, minutes?);
        if battery.is_none() && minutes.is_none() {
            return Err(self.report(Fault::new(
                part.place.clone(),
                format!("{} does not say how long it lasts", part.path),
                "neither 'battery' nor 'minutes' is given",
                "add battery = \"2 x 9 Ah\" from the print on the blocks, or minutes = \"100 W 54 min, 450 W 8 min\" from its data sheet",
            )));
        }
        Ok(Supply {
            name: part.name.clone(),
            kind: kind?,
            rating: rating?,
            apparent: apparent?,
            battery,
            minutes: minutes.unwrap_or_default(),
            age: age?,
            temperature: temperature?,
            tested: tested?,
            measured: measured?,
            others: others?,
            feeds: feeds?,
        })
    }

    fn supply_kind(&mut self, part: &Part<'_>) -> Read<Chosen<SupplyKind>> {
        let find = |word: &str| SupplyKind::ALL.into_iter().find(|k| k.word() == word);
        let words = self.words("supply-kind", find);
        match self.chosen(part, "kind", &words)? {
            Some(kind) => Ok(kind),
            None => self.assumed_choice(part, "kind", "supply-kind", find, |k| k.word().to_owned()),
        }
    }

    /// Yes or no, or the weights of a row of the catalogue.
    pub(super) fn yes_no_or(
        &mut self,
        part: &Part<'_>,
        key: &str,
        row: &str,
    ) -> Read<Chosen<bool>> {
        match self.yes_no(part, key, "yes-no")? {
            Some(stated) => Ok(stated),
            None => self.assumed_choice(part, key, row, truth, |yes| {
                if *yes { "yes" } else { "no" }.to_owned()
            }),
        }
    }

    /// A power that is printed on a box and so no range.
    fn known_power(&mut self, part: &Part<'_>, key: &str) -> Read<Power> {
        let Some(found) = self.stated::<Power>(part, key)? else {
            return Err(self.missing(part, key));
        };
        Ok(found.value.median())
    }

    fn temperature(&mut self, part: &Part<'_>) -> Read<Drawn<f64>> {
        let id = part.id("temperature");
        if let Some(spread) = self.parsed(part, "temperature", "a temperature", degrees)? {
            return Ok(Known::stated(id, spread));
        }
        self.assumed(part, id, "supply.room", part.field("temperature")?.find_out)
    }

    fn feeds(&mut self, part: &Part<'_>, machines: &[Named]) -> Read<Vec<Fed>> {
        let Some((text, node)) = self.text(part, "feeds")? else {
            return Err(self.missing(part, "feeds"));
        };
        let known: Vec<(String, &Named)> = machines.iter().map(|m| (fed(m).id(), m)).collect();
        let all: Vec<&str> = known.iter().map(|(id, _)| id.as_str()).collect();
        let mut found: Vec<Fed> = Vec::new();
        for piece in Piece::of(text).split(',') {
            let word = piece.text;
            let Some((_, machine)) = known.iter().find(|(id, _)| id == word) else {
                let title = format!("{} names no machine of this site", part.id("feeds"));
                let fault = UnitFault {
                    span: piece.span(),
                    ..no_such_word(text, word, &all)
                };
                return Err(self.unit(node, title, fault));
            };
            let fed = fed(machine);
            if found.contains(&fed) {
                let title = format!("{} names a machine twice", part.id("feeds"));
                let found = format!("'{word}' stands before");
                let fault = piece.fault(found, "leave one of the two");
                return Err(self.unit(node, title, fault));
            }
            found.push(fed);
        }
        Ok(found)
    }

    /// A text that is read by a rule of its own.
    pub(super) fn parsed<T>(
        &mut self,
        part: &Part<'_>,
        key: &str,
        noun: &str,
        read: impl Fn(&str) -> Result<T, UnitFault>,
    ) -> Read<Option<T>> {
        let field = part.field(key)?;
        if let Some(node) = part.given(key)?
            && !matches!(node.value, Value::Text { .. })
        {
            return Err(self.wrong_type(part, field, node));
        }
        let Some((text, node)) = self.text(part, key)? else {
            return Ok(None);
        };
        read(text)
            .map(Some)
            .map_err(|fault| self.unit(node, format!("{} is not {noun}", part.id(key)), fault))
    }
}

/// A fault over a word of a text.
fn at(text: &str, word: &str, found: String, help: &str) -> UnitFault {
    let start = text.find(word).unwrap_or(0);
    UnitFault::new(start..start + word.len(), found, help)
}

/// `1500 VA`.
fn apparent(text: &str) -> Result<f64, UnitFault> {
    let help = "write what the box gives in VA, for example 1500 VA";
    let word = text.trim();
    let number = word.strip_suffix("VA").map(str::trim);
    let value = number.and_then(|n| n.parse::<f64>().ok());
    value
        .filter(|v| v.is_finite() && *v > 0.0)
        .ok_or_else(|| at(text, word, format!("'{word}' is no number of VA"), help))
}

/// `22 C`, `20..28 C`.
fn degrees(text: &str) -> Result<Spread<f64>, UnitFault> {
    let help = "write degrees Celsius, for example 22 C or 20..28 C";
    let word = text.trim();
    let number = word
        .strip_suffix('C')
        .map(|n| n.trim_end_matches('°').trim())
        .ok_or_else(|| at(text, word, format!("'{word}' has no C behind it"), help))?;
    let spread = Spread::<f64>::parse(number, Bounds::POSITIVE)
        .map_err(|_| at(text, word, format!("'{word}' is no temperature"), help))?;
    let hottest = spread.law().knots().2;
    if hottest > MOST_DEGREES {
        return Err(at(text, word, format!("'{word}' is no room"), help));
    }
    Ok(spread)
}

/// No room with a battery in it is warmer.
const MOST_DEGREES: f64 = 60.0;

const BATTERIES: &str =
    "write the blocks, for example 2 x 9 Ah, 2 x 9 Ah high-rate 34 W, or lifepo4 640 Wh";

/// `2 x 9 Ah`, `2 x 9 Ah high-rate 34 W`, `lifepo4 640 Wh`, `lifepo4 640 Wh 640 W`.
fn battery(text: &str) -> Result<Battery, UnitFault> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let wrong = |word: &str| at(text, word, format!("'{word}' is not understood"), BATTERIES);
    let power = |number: &str, unit: &str| {
        let found = parse::<Power>(&format!("{number} {unit}")).map_err(|_| wrong(number))?;
        (found.base() > 0.0)
            .then_some(found)
            .ok_or_else(|| wrong(number))
    };
    match words.as_slice() {
        ["lifepo4", number, unit, rest @ ..] => {
            let energy = parse::<Energy>(&format!("{number} {unit}")).map_err(|_| wrong(number))?;
            if energy.base() <= 0.0 {
                return Err(wrong(number));
            }
            let most = match rest {
                [] => None,
                [number, unit] => Some(power(number, unit)?),
                [word, ..] => return Err(wrong(word)),
            };
            Ok(Battery::Lithium { energy, most })
        }
        [blocks, "x", charge, "Ah", rest @ ..] => {
            let count = blocks.parse::<usize>().ok();
            let count = count.filter(|n| (1..=MOST_BLOCKS).contains(n));
            let charge_of = charge.parse::<f64>().ok();
            let charge_of = charge_of.filter(|c| c.is_finite() && *c > 0.0);
            let watts_a_cell = match rest {
                [] => None,
                ["high-rate", number, unit] => Some(power(number, unit)?),
                [word, ..] => return Err(wrong(word)),
            };
            Ok(Battery::Lead {
                blocks: count.ok_or_else(|| wrong(blocks))?,
                charge: AmpereHours(charge_of.ok_or_else(|| wrong(charge))?),
                watts_a_cell,
            })
        }
        _ => Err(at(
            text,
            text.trim(),
            format!("'{}' is no battery", text.trim()),
            BATTERIES,
        )),
    }
}

const TABLES: &str = "write loads and minutes, for example 100 W 54 min, 450 W 8 min";

/// `100 W 54 min, 450 W 8 min`; the heaviest load comes first in what is made of it.
fn load_table(text: &str) -> Result<Vec<(Power, Time)>, UnitFault> {
    let mut found: Vec<(Power, Time)> = Vec::new();
    for entry in Piece::of(text).split(',') {
        let wrong = || {
            let found = format!("'{}' is no load with its minutes", entry.text);
            entry.fault(found, TABLES)
        };
        let words = entry.words();
        let [load, load_unit, time, time_unit] = words.as_slice() else {
            return Err(wrong());
        };
        let read = |number: &Piece<'_>, unit: &Piece<'_>| format!("{} {}", number.text, unit.text);
        let load = parse::<Power>(&read(load, load_unit)).map_err(|_| wrong())?;
        let time = parse::<Time>(&read(time, time_unit)).map_err(|_| wrong())?;
        if load.base() <= 0.0 || time.base() <= 0.0 {
            return Err(wrong());
        }
        found.push((load, time));
    }
    found.sort_by(|a, b| b.0.base().total_cmp(&a.0.base()));
    let falls = found
        .windows(2)
        .all(|pair| matches!(pair, [a, b] if a.0 > b.0 && a.1 < b.1));
    if found.len() < 2 || !falls {
        let whole = text.trim();
        let what = "a table has two loads or more, and a heavier one lasts less long".to_owned();
        return Err(at(text, whole, what, TABLES));
    }
    Ok(found)
}

/// What these texts look like, for the reference.
pub(super) fn allowed(kept: Kept) -> Option<&'static str> {
    Some(match kept {
        Kept::Apparent => "a number with VA behind it",
        Kept::Battery => {
            "blocks of 12 V such as 2 x 9 Ah, with high-rate and the watts a cell over 15 min where they are sold by that; or lifepo4 with Wh, and the most W that it gives"
        }
        Kept::LoadTable => "loads with their minutes, with commas: 100 W 54 min, 450 W 8 min",
        Kept::Degrees => "degrees with C behind them, or a range of that",
        Kept::Fed => "nas.NAME, switch.NAME, access-point.NAME or desk.NAME, with commas",
        Kept::Hour => "an hour of the day such as 20:00",
        _ => return None,
    })
}

/// What a supply feeds when it feeds a machine.
fn fed(machine: &Named) -> Fed {
    Fed {
        machine: machine.machine,
        air: machine.air,
        name: machine.name.clone(),
    }
}

/// A machine that a supply may feed.
impl Fed {
    /// As written in a site file.
    pub fn id(&self) -> String {
        let word = if self.air {
            "access-point"
        } else {
            self.machine.word()
        };
        format!("{word}.{}", self.name)
    }

    /// Whether it holds arrays.
    pub fn is_nas(&self) -> bool {
        self.machine == Machine::Nas
    }
}
