//! Texts that no pattern takes whole: what they are about is weighed, and what is not sure is asked.

use super::listener::{Listener, Statement};
use super::then::{EARLIER, then_and_now, two_times};
use super::units::{Base, Context, Scale, Written};
use crate::explain::{Amount, Exactness, RateReading, Reading, Remark, What};
use crate::quantity::{Information, LinkRate, Measure, percent, seconds};
use crate::site::Near;
use crate::work::Direction;
use narrows_hearing::{Counted, Ear, Heard, Measured, Sense, Sure, Unit};
use std::sync::OnceLock;

/// What was made of a text.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Understood {
    /// What it says; nothing where that is asked back.
    pub statements: Vec<Statement>,
    /// The number of each statement that is a reading, as it was written.
    pub values: Vec<Option<Value>>,
    /// What it may mean, the likeliest first, where it is not sure.
    pub choices: Vec<Meant>,
    /// Words that nothing was made of.
    pub unused: Vec<String>,
    /// Whether a drive may be in trouble, which is not sure.
    pub feared: bool,
}

/// The number of a reading; an end that is not told is missing.
#[derive(Clone, Debug, PartialEq)]
pub struct Value {
    /// The lower end.
    pub low: Option<f64>,
    /// The upper end.
    pub high: Option<f64>,
    /// `MB/s`, `files/s`, `ms`, `%`, `count`, `layers`, `streams` or `frames/min`.
    pub unit: &'static str,
}

/// A remark that may be meant.
#[derive(Clone, Debug, PartialEq)]
pub struct Meant {
    /// Its id.
    pub id: String,
    /// What it means.
    pub meaning: String,
    /// How likely.
    pub probability: f64,
}

impl Understood {
    /// What a text says to the word.
    pub fn exact(statements: Vec<Statement>) -> Self {
        let of = |statement: &Statement| match statement {
            Statement::Reading(reading) => value(reading),
            Statement::Remark(_) => None,
        };
        Self {
            values: statements.iter().map(of).collect(),
            statements,
            ..Self::default()
        }
    }
}

/// The one ear: its weights are read once, and only where a text asks for them.
fn ear() -> Option<&'static Ear> {
    static EAR: OnceLock<Option<Ear>> = OnceLock::new();
    EAR.get_or_init(|| Ear::embedded().ok()).as_ref()
}

/// What a text may be, where the ear is sure of nothing or of something.
pub(super) fn open(text: &str, listener: &Listener) -> Understood {
    let Some(ear) = ear() else {
        return Understood::default();
    };
    let heard = ear.hear(text);
    let unused = heard
        .unused
        .iter()
        .filter_map(|span| text.get(span.clone()))
        .map(str::to_owned)
        .collect();
    let mut found = Understood {
        unused,
        ..Understood::default()
    };
    found.feared = ear
        .danger(text)
        .is_some_and(|danger| danger.sure == Sure::No);
    let desk = listener.named_in(text);
    if let Sense::Remark(id) = &heard.sense
        && EARLIER.contains(&id.as_str())
        && heard.more.is_empty()
        && let Some(both) = two_times(text)
        && let Some(two) = then_and_now(text, id, &both, desk.clone(), listener)
    {
        return Understood {
            unused: found.unused,
            ..two
        };
    }
    if let Some(reading) = &heard.reading
        && let Some((reading, value)) = made(text, reading, desk.clone(), listener)
    {
        found.statements.push(Statement::Reading(reading));
        found.values.push(Some(value));
    }
    match &heard.sense {
        Sense::Remark(id) => {
            for id in std::iter::once(id).chain(&heard.more) {
                let remark = remark(text, id, desk.clone(), listener);
                // the number is a reading then, and none's in particular
                let remark = match &heard.reading {
                    Some(made) if !heard.more.is_empty() || made.measured.is_rate() => Remark {
                        rate: None,
                        ..remark
                    },
                    _ => remark,
                };
                found.statements.push(Statement::Remark(remark));
                found.values.push(None);
            }
        }
        Sense::Choices | Sense::Nothing => {
            found.choices = meant(&heard, listener);
        }
        Sense::Reading => {}
    }
    found
}

/// What may be meant, in words.
fn meant(heard: &Heard, listener: &Listener) -> Vec<Meant> {
    let rows = listener.remarks.rows();
    let one = |choice: &narrows_hearing::Choice| {
        let row = rows.iter().find(|row| row.id == choice.id)?;
        Some(Meant {
            id: choice.id.clone(),
            meaning: row.meaning.clone(),
            probability: choice.probability,
        })
    };
    heard.choices.iter().filter_map(one).collect()
}

/// Less likely is not near.
const NEAR: f64 = 0.02;

/// What a text that means nothing known may have meant.
pub(super) fn near(text: &str, listener: &Listener) -> Vec<Near> {
    let all = ear().map(|ear| meant(&ear.hear(text), listener));
    let near = all.unwrap_or_default().into_iter();
    near.filter(|meant| meant.probability >= NEAR)
        .map(|meant| Near {
            id: meant.id,
            meaning: meant.meaning,
            thousandths: (meant.probability * 1000.0).round() as u32,
        })
        .collect()
}

/// The remark that a text is taken for because it may cost pictures, and whether that is sure.
pub(super) fn danger(text: &str) -> Option<narrows_hearing::Danger> {
    ear()?.danger(text)
}

/// Whether it has words that mean nothing here.
pub(super) fn has_strangers(text: &str) -> bool {
    ear().is_none_or(|ear| !ear.hear(text).unused.is_empty())
}

/// Whether words say outright which remark a text is, whatever strange words it has beside that.
pub(super) fn is_a_remark(text: &str) -> bool {
    ear().is_some_and(|ear| ear.is_outright(text))
}

/// Whether a text that was heard as nothing has no meaning that is near enough to ask for.
pub(super) fn means_nothing(text: &str) -> bool {
    ear().is_none_or(|ear| matches!(ear.hear(text).sense, Sense::Nothing))
}

/// A remark with the one rate and the one size that its text has; with two of them it says by itself how they compare.
fn remark(text: &str, id: &str, desk: Option<String>, listener: &Listener) -> Remark {
    let amounts = narrows_hearing::amounts(text);
    let data = |rate: bool| {
        let mut all = amounts.iter().filter(move |a| match a.unit {
            Unit::Data { over, bits, .. } => (over.is_some() || bits) == rate,
            _ => false,
        });
        all.next().filter(|_| all.next().is_none())
    };
    let rate = data(true).and_then(|amount| {
        let Unit::Data { over, .. } = amount.unit else {
            return None;
        };
        let over = over.unwrap_or(1.0);
        let numbers = [
            amount.low / over,
            amount.middle() / over,
            amount.high / over,
        ];
        listener.loose_rate(
            What::Copy,
            written(amount.unit),
            numbers,
            exactness(amount.low < amount.high),
        )
    });
    let size = data(false).and_then(|amount| match amount.unit {
        Unit::Data { bytes, .. } => Some(Information::from_base(amount.middle() * bytes)),
        _ => None,
    });
    Remark {
        text: text.trim().to_owned(),
        id: id.to_owned(),
        desk,
        rate,
        size,
        time: None,
    }
}

pub(super) fn exactness(range: bool) -> Exactness {
    if range {
        Exactness::Range
    } else {
        Exactness::Point
    }
}

/// A reading that the models can use, with the number that was told.
fn made(
    text: &str,
    heard: &narrows_hearing::Reading,
    desk: Option<String>,
    listener: &Listener,
) -> Option<(Reading, Value)> {
    let what = What::ALL
        .into_iter()
        .find(|what| what.word() == heard.kind)?;
    let (low, high, unit) = heard.measured.plain();
    let amount = amount(what, &heard.measured, listener)?;
    let reading = Reading {
        text: text.trim().to_owned(),
        desk: desk.filter(|name| !listener.machines.contains(name)),
        what,
        direction: Direction::BOTH
            .into_iter()
            .find(|way| way.word() == heard.way),
        amount,
        size: heard.measured.size.map(Information::from_base),
        streams: 1,
        again: false,
        random: None,
    };
    Some((reading, Value { low, high, unit }))
}

/// More than any unit makes sense of, be it bytes a second of the fastest machine: no reading is so large.
const MOST: f64 = 1e13;

fn amount(what: What, measured: &Measured, listener: &Listener) -> Option<Amount> {
    let (low, high) = (
        measured.low.or(measured.high)?,
        measured.high.or(measured.low)?,
    );
    if !(low >= 0.0 && high <= MOST) {
        return None;
    }
    let middle = f64::midpoint(low, high);
    let bound = match (measured.low, measured.high) {
        (None, _) => Exactness::AtMost,
        (_, None) => Exactness::AtLeast,
        (Some(low), Some(high)) => exactness(low < high),
    };
    Some(match measured.unit {
        Counted::Rate(unit) if what == What::LinkRate => match unit {
            Unit::Data { bytes, .. } => Amount::Link(LinkRate::from_base(high * bytes)),
            _ => return None,
        },
        Counted::Rate(unit) => {
            Amount::Rate(listener.loose_rate(what, written(unit), [low, middle, high], bound)?)
        }
        Counted::BytesPerSecond => {
            let megabytes = [low, middle, high].map(|rate| rate / 1e6);
            let unit = Some(Written {
                scale: Scale::Mega,
                base: Base::Bytes,
                binary: false,
                a_second: true,
                ps: false,
            });
            Amount::Rate(listener.loose_rate(what, unit, megabytes, Exactness::About)?)
        }
        Counted::Seconds => Amount::Time(seconds(middle)),
        Counted::Percent if what == What::CoreBusy => Amount::Share(percent(middle)),
        Counted::Events => Amount::Count(high as u64),
        Counted::Layers | Counted::Streams => Amount::Layers {
            low: measured.low,
            high: measured.high,
        },
        _ => Amount::Other,
    })
}

/// A unit as the catalogue of what units may mean knows it.
pub(super) fn written(unit: Unit) -> Option<Written> {
    let Unit::Data {
        bytes,
        bits,
        unclear,
        binary,
        ps,
        ..
    } = unit
    else {
        return None;
    };
    let one = bytes * if bits { 8.0 } else { 1.0 };
    let scale = match one {
        ..1e2 => Scale::One,
        ..1e5 => Scale::Kilo,
        ..1e8 => Scale::Mega,
        ..1e11 => Scale::Giga,
        _ => Scale::Tera,
    };
    let base = match (bits, unclear) {
        (_, true) => Base::Unclear,
        (true, false) => Base::Bits,
        (false, false) => Base::Bytes,
    };
    Some(Written {
        scale,
        base,
        binary,
        a_second: true,
        ps,
    })
}

impl Listener {
    /// A rate with everything that it may mean.
    pub(super) fn loose_rate(
        &self,
        what: What,
        written: Option<Written>,
        numbers: [f64; 3],
        exactness: Exactness,
    ) -> Option<RateReading> {
        let meanings = self.units.meanings(Context::of(what), written, numbers);
        let fits = numbers[0] <= numbers[2] && numbers[2] > 0.0 && !meanings.is_empty();
        fits.then_some(RateReading {
            meanings,
            exactness,
        })
    }

    /// The one name of the site that stands in a text where a name does: first, before a colon, behind "desk", "at" or "on", or a
    /// name that is no usual word.
    fn named_in(&self, text: &str) -> Option<String> {
        let lower = text.to_lowercase();
        let stands = |name: &&String| {
            let small = name.to_lowercase();
            lower.match_indices(&small).any(|(at, _)| {
                let inner = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
                let before = lower.get(..at).unwrap_or_default();
                let after = lower.get(at + small.len()..).unwrap_or_default();
                if before.ends_with(inner) || after.starts_with(inner) {
                    return false;
                }
                let unusual = small.contains(|c: char| c.is_ascii_digit() || c == '-' || c == '_');
                let behind = ["desk ", " at ", " on "]
                    .iter()
                    .any(|word| before.ends_with(word));
                unusual || before.trim().is_empty() && after.starts_with(':') || behind
            })
        };
        let all = self.names.iter().flatten().chain(&self.machines);
        let mut found = all.filter(stands);
        found.next().filter(|_| found.next().is_none()).cloned()
    }
}

/// The number of a reading that was read by its grammar.
pub(super) fn value(reading: &Reading) -> Option<Value> {
    let same = |value: f64, unit: &'static str| Value {
        low: Some(value),
        high: Some(value),
        unit,
    };
    Some(match &reading.amount {
        Amount::Rate(rate) => {
            let first = rate.meanings.first()?;
            let [low, high] = [first.low, first.high].map(crate::quantity::in_megabytes_per_second);
            Value {
                low: (rate.exactness != Exactness::AtMost).then_some(low),
                high: (rate.exactness != Exactness::AtLeast).then_some(high),
                unit: "MB/s",
            }
        }
        Amount::Link(rate) => same(rate.base() / 1e6, "MB/s"),
        Amount::Time(_) | Amount::Share(_) => {
            let measured = narrows_hearing::measured(reading.what.word(), &reading.text)?;
            let (low, high, unit) = measured.plain();
            Value { low, high, unit }
        }
        Amount::Count(count) => same(*count as f64, "count"),
        Amount::Layers { low, high } => Value {
            low: *low,
            high: *high,
            unit: "layers",
        },
        Amount::Other => return None,
    })
}
