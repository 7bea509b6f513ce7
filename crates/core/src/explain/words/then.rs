//! A sentence that holds two rates of two times.

use super::listener::{Listener, Statement};
use super::open::{Understood, exactness, value, written};
use crate::explain::{Amount, Reading, Remark, What};
use crate::work::Direction;
use narrows_hearing::{Amount as Spoken, Unit};

/// Remarks that compare with an earlier time.
pub(super) const EARLIER: [&str; 2] = ["better-before", "after-update"];

/// Words beside the number of today.
const TODAY: [&str; 6] = [
    "now",
    "today",
    "nowadays",
    "currently",
    "these days",
    "since",
];

/// A unit below this is of a rate, be "a second" there or not; larger ones are sizes.
const MEGABYTES: f64 = 2e6;

/// A number without a unit below this is no rate.
const SMALLEST: f64 = 5.0;

/// The two rates of a sentence that compares two times: the one of now, and the one of then. It was better then, so the larger one
/// is of then, unless "now" stands nearer to it.
pub(super) fn two_times(text: &str) -> Option<[Spoken; 2]> {
    let all = narrows_hearing::amounts(text);
    let is_rate = |a: &&Spoken| match a.unit {
        Unit::Data {
            bytes, bits, over, ..
        } => over.is_some() || bits || bytes < MEGABYTES,
        Unit::Bare => a.high >= SMALLEST,
        _ => false,
    };
    let rates: Vec<&Spoken> = all.iter().filter(is_rate).collect();
    let [first, second] = rates[..] else {
        return None;
    };
    let (mut first, mut second) = (first.clone(), second.clone());
    // "110 MB/s last week, 60 now": one unit for both
    match (first.unit, second.unit) {
        (Unit::Bare, unit) => first.unit = unit,
        (unit, Unit::Bare) => second.unit = unit,
        _ => {}
    }
    let lower = text.to_lowercase();
    let gap = |at: usize, amount: &Spoken| {
        if at >= amount.span.end {
            at - amount.span.end
        } else {
            amount.span.start.saturating_sub(at)
        }
    };
    let today = TODAY.iter().find_map(|word| lower.find(word));
    let second_is_now = match today {
        Some(at) if gap(at, &first) != gap(at, &second) => gap(at, &second) < gap(at, &first),
        _ => second.middle() < first.middle(),
    };
    Some(if second_is_now {
        [second, first]
    } else {
        [first, second]
    })
}

/// A reading and a remark, where a remark about an earlier time holds two rates.
pub(super) fn then_or_now(
    text: &str,
    statements: &[Statement],
    listener: &Listener,
) -> Option<Understood> {
    let [Statement::Remark(remark)] = statements else {
        return None;
    };
    if !EARLIER.contains(&remark.id.as_str()) {
        return None;
    }
    let both = two_times(text)?;
    then_and_now(text, &remark.id, &both, remark.desk.clone(), listener)
}

/// A reading of now, and the remark that holds the rate of then.
pub(super) fn then_and_now(
    text: &str,
    id: &str,
    [now, then]: &[Spoken; 2],
    desk: Option<String>,
    listener: &Listener,
) -> Option<Understood> {
    let rate = |amount: &Spoken| {
        let over = match amount.unit {
            Unit::Data { over, .. } => over.unwrap_or(1.0),
            _ => 1.0,
        };
        let numbers = [
            amount.low / over,
            amount.middle() / over,
            amount.high / over,
        ];
        let range = exactness(amount.low < amount.high);
        listener.loose_rate(What::Copy, written(amount.unit), numbers, range)
    };
    let reading = Reading {
        text: text.trim().to_owned(),
        desk: desk
            .clone()
            .filter(|name| !listener.machines.contains(name)),
        what: What::Copy,
        direction: narrows_hearing::way(text)
            .and_then(|way| Direction::BOTH.into_iter().find(|d| d.word() == way)),
        amount: Amount::Rate(rate(now)?),
        size: None,
        streams: 1,
        again: false,
        random: None,
    };
    let remark = Remark {
        text: text.trim().to_owned(),
        id: id.to_owned(),
        desk,
        rate: Some(rate(then)?),
        size: None,
        time: None,
    };
    Some(Understood {
        values: vec![value(&reading), None],
        statements: vec![Statement::Reading(reading), Statement::Remark(remark)],
        ..Understood::default()
    })
}
