//! How a twisted pair was put in: what lies beside it, how often it is plugged, how warm it is.

use super::ducts::{beside, lay};
use super::fault::Fault;
use super::model::{Duct, End, Medium, Run};
use super::reader::{Part, Read, Reader};
use super::tree::Value;
use crate::copper::{COLDEST, Celsius, HOTTEST, Installation, Neighbours};
use crate::piece::Piece;
use crate::quantity::{LinkRate, UnitFault, parse};

/// The fields of a run that tell it.
pub(super) const KEYS: [&str; 4] = ["neighbours", "duct", "connections", "temperature"];

/// More cables than any duct of a building holds.
const MOST: u32 = 1000;

/// The slowest rate whose reach depends on what lies beside a run.
const MINDS_NEIGHBOURS: LinkRate = LinkRate::from_megabits(2500);

const HELP: &str = "write none, how many, or how many at which rate, for example 6 at 1 Gb/s";

impl Reader<'_> {
    /// What is told of it; nothing where no field of it is there.
    pub(super) fn installation(&mut self, part: &Part<'_>) -> Read<Option<Installation>> {
        let usual = Installation::default();
        let beside = self.neighbours(part);
        let connections = self.whole(part, "connections");
        let warm = self.parsed(part, "temperature", "a temperature", celsius);
        let (beside, connections, warm) = (beside?, connections?, warm?);
        if beside.is_none() && connections.is_none() && warm.is_none() {
            return Ok(None);
        }
        Ok(Some(Installation {
            neighbours: beside.unwrap_or(usual.neighbours),
            connections: connections.unwrap_or(usual.connections),
            temperature: warm.unwrap_or(usual.temperature),
        }))
    }

    fn neighbours(&mut self, part: &Part<'_>) -> Read<Option<Neighbours>> {
        if let Some(node) = part.given("neighbours")?
            && let Value::Whole(digits) = &node.value
        {
            return match digits.parse::<u32>().ok().filter(|n| *n <= MOST) {
                Some(count) => Ok(Some(Neighbours::SameRate(count))),
                None => Err(self.report(Fault::new(
                    node.place.clone(),
                    format!("{} is not a number of neighbours", part.id("neighbours")),
                    format!("'{digits}' is not from 0 to {MOST}"),
                    HELP,
                ))),
            };
        }
        self.parsed(part, "neighbours", "a number of neighbours", neighbours)
    }

    /// Notes which neighbours stand in where a run may be so fast that they count.
    pub(super) fn heard_neighbours(
        &mut self,
        part: &Part<'_>,
        medium: &Medium,
        [near, far]: [&[LinkRate]; 2],
    ) -> Read<()> {
        let Medium::Copper { bundle, .. } = medium else {
            return Ok(());
        };
        // what is known of it makes them matter no more
        let alone = bundle.value.only().is_some_and(|word| word == "alone");
        let told = ["neighbours", "duct", "negotiated"]
            .iter()
            .any(|key| part.table.get(key).is_some());
        if !minds_neighbours([near, far]) || told || alone {
            return Ok(());
        }
        let find_out = part.field("neighbours")?.find_out;
        self.assume(
            part,
            part.id("neighbours"),
            "6".to_owned(),
            "as fast as the cable itself; judgement: one layer around a cable is six".to_owned(),
            find_out,
        );
        Ok(())
    }

    /// The duct that a run lies in.
    pub(super) fn duct(&mut self, part: &Part<'_>) -> Read<Option<Duct>> {
        let told = self.text(part, "duct")?;
        Ok(told.map(|(text, _)| Duct {
            name: text.trim().to_lowercase(),
            counted: part.table.get("neighbours").is_some(),
        }))
    }

    /// Puts the runs of a duct beside each other. What stands in is noted where it may count.
    pub(super) fn of_one_duct(
        &mut self,
        parts: &[Part<'_>],
        runs: &mut [Run],
        knows: impl Fn(&End) -> Vec<LinkRate>,
    ) -> Read<()> {
        let found = beside(runs, &knows);
        for ((run, part), beside) in runs.iter_mut().zip(parts).zip(found) {
            let Some(beside) = beside else { continue };
            let words: Vec<String> = beside
                .iter()
                .map(|(rate, count)| format!("{count} at {rate}"))
                .collect();
            lay(run, beside);
            let Medium::Copper { bundle, .. } = &run.medium else {
                continue;
            };
            let alone = bundle.value.only().is_some_and(|word| word == "alone");
            let ends = [&run.from, &run.to].map(&knows);
            let minds = minds_neighbours(ends.each_ref().map(Vec::as_slice));
            if alone || run.negotiated.is_some() || !minds {
                continue;
            }
            let value = if words.is_empty() {
                "none".to_owned()
            } else {
                words.join(", ")
            };
            let find_out = part.field("neighbours")?.find_out;
            let source = "the other runs of its duct, at the fastest rate that their ends know";
            self.assume(
                part,
                part.id("neighbours"),
                value,
                source.to_owned(),
                find_out,
            );
        }
        Ok(())
    }

    /// Glass and twinax hear no neighbours, and no warmth that counts.
    pub(super) fn of_copper(&mut self, part: &Part<'_>, word: &str) -> Read<()> {
        let told = KEYS.into_iter().find(|key| part.table.get(key).is_some());
        let Some(key) = told else { return Ok(()) };
        Err(self.report(Fault::new(
            part.place_of(key),
            format!("{} is said of no twisted pair", part.id(key)),
            format!("its cable is {word}"),
            format!("remove '{key}': only a twisted pair minds it"),
        )))
    }
}

/// Whether a rate that both ends know may depend on what lies beside the run.
fn minds_neighbours([near, far]: [&[LinkRate]; 2]) -> bool {
    near.iter()
        .any(|rate| *rate >= MINDS_NEIGHBOURS && far.contains(rate))
}

/// `none`, `6`, `6 at 1 Gb/s`, `4 at 1 Gb/s, 2 at 10 Gb/s`.
fn neighbours(text: &str) -> Result<Neighbours, UnitFault> {
    let word = text.trim();
    if matches!(word.to_lowercase().as_str(), "none" | "no") {
        return Ok(Neighbours::SameRate(0));
    }
    if let Some(count) = count(word) {
        return Ok(Neighbours::SameRate(count));
    }
    let mut found: Vec<(LinkRate, u32)> = Vec::new();
    for piece in Piece::of(text).split(',') {
        let wrong = |found: String| piece.fault(found, HELP);
        let (number, rate) = piece
            .cut(" at ")
            .ok_or_else(|| wrong(format!("'{}' does not say at which rate", piece.text)))?;
        let number = count(number.text)
            .ok_or_else(|| wrong(format!("'{}' is not from 0 to {MOST}", number.text)))?;
        let rate = parse::<LinkRate>(rate.text)
            .map_err(|_| wrong(format!("'{}' is not the rate of a link", rate.text)))?;
        found.push((rate, number));
    }
    Ok(Neighbours::Rates(found))
}

/// `6`, `6 neighbours`, `6 cables`.
fn count(text: &str) -> Option<u32> {
    let digits = ["neighbours", "neighbors", "neighbour", "cables", "cable"]
        .into_iter()
        .find_map(|noun| text.strip_suffix(noun))
        .unwrap_or(text)
        .trim();
    digits.parse::<u32>().ok().filter(|n| *n <= MOST)
}

/// `40 C`.
fn celsius(text: &str) -> Result<Celsius, UnitFault> {
    let help = format!("write degrees Celsius from {COLDEST:.0} to {HOTTEST:.0}, for example 40 C");
    let word = text.trim();
    let start = text.len() - text.trim_start().len();
    let wrong = |found: String| UnitFault::new(start..start + word.len(), found, help.clone());
    let number = word
        .strip_suffix(['C', 'c'])
        .map(|n| n.trim_end_matches('\u{b0}').trim().replace(',', "."))
        .ok_or_else(|| wrong(format!("'{word}' has no C behind it")))?;
    let warm: f64 = number
        .parse()
        .map_err(|_| wrong(format!("'{word}' is no temperature")))?;
    if !(COLDEST..=HOTTEST).contains(&warm) {
        return Err(wrong(format!("no cable is known at '{word}'")));
    }
    Ok(Celsius(warm))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_are_told_with_their_rates_or_without() {
        let rate = LinkRate::from_megabits;
        for (text, expected) in [
            ("none", Neighbours::SameRate(0)),
            ("6", Neighbours::SameRate(6)),
            ("6 neighbours", Neighbours::SameRate(6)),
            ("6 at 1 Gb/s", Neighbours::Rates(vec![(rate(1000), 6)])),
            (
                "4 cables at 1 Gb/s, 2 at 10 Gb/s",
                Neighbours::Rates(vec![(rate(1000), 4), (rate(10_000), 2)]),
            ),
        ] {
            assert_eq!(neighbours(text), Ok(expected), "{text}");
        }
        for (text, marked) in [
            ("many", "many"),
            ("6 at 1 Gb/s, two at 10 Gb/s", "two at 10 Gb/s"),
            ("6 at 7 GB/s", "6 at 7 GB/s"),
            ("1001", "1001"),
        ] {
            let fault = neighbours(text).unwrap_err();
            assert_eq!(&text[fault.span], marked, "{text}");
        }
    }

    #[test]
    fn a_temperature_is_one_that_a_cable_may_have() {
        assert_eq!(celsius("40 C"), Ok(Celsius(40.0)));
        assert_eq!(celsius("-5,5\u{b0}C"), Ok(Celsius(-5.5)));
        for text in ["40", "warm C", "900 C", "nan C"] {
            assert!(celsius(text).is_err(), "{text}");
        }
    }
}
