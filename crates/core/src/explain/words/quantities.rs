//! Readings that are no rate of payload: what a port shows, a round trip, a busy core, a count.

use super::faulty::Faulty;
use super::items::{Amount, Unit};
use super::rates::FASTEST;
use super::sentence::Said;
use super::units::{Base, Written};
use crate::explain::{Amount as Told, Exactness};
use crate::quantity::{LinkRate, Measure, percent, seconds};
use std::ops::Range;

/// The slowest link that a port can show, in megabits a second: a few wireless ones fall to 1.
const SLOWEST_LINK: f64 = 1.0;

/// Seconds that no ping takes.
const SLOWEST_PING: f64 = 600.0;

impl Said {
    pub(super) fn link(&mut self, whole: &Range<usize>, faulty: &mut Faulty<'_>) -> Option<Told> {
        let mut all = std::mem::take(&mut self.links);
        all.append(&mut self.rates);
        all.append(&mut self.sizes);
        let Some(amount) = Self::only(&mut all, "rate of the link", faulty) else {
            faulty.add(
                whole.clone(),
                "a reading without its number",
                "no rate of the link stands here",
                "write what the port shows, for example 'link rate 1 Gb/s'",
            );
            return None;
        };
        let text = faulty.at(&amount.number);
        let megabits = match amount.unit {
            Unit::Link(factor) => amount.high * factor,
            Unit::Data(written) if written.base == Base::Bytes => {
                bytes_for_bits(&amount, written, faulty);
                return None;
            }
            Unit::Data(written) => amount.high * bits(written) / 1e6,
            _ => match amount.high {
                // what ports show without a unit
                100.0.. => amount.high,
                high if [1.0, 2.5, 5.0].contains(&high) => high * 1000.0,
                _ => {
                    faulty.add(
                        amount.span.clone(),
                        "a number without its unit",
                        format!("'{text}' may be megabits or gigabits"),
                        format!("write '{text} Mb/s' or '{text} Gb/s'"),
                    );
                    return None;
                }
            },
        };
        if amount.low < amount.high {
            faulty.add(
                amount.span.clone(),
                "two numbers in one reading",
                "a link comes up at one rate at a time",
                "write what the port shows now",
            );
            return None;
        }
        if !(SLOWEST_LINK..=FASTEST * 8.0 / 1e6).contains(&megabits) {
            faulty.add(
                amount.span.clone(),
                "a rate that cannot be",
                format!("'{}' is the rate of no link", faulty.at(&amount.span)),
                "write what the port shows, for example 'link rate 1 Gb/s'",
            );
            return None;
        }
        Some(Told::Link(LinkRate::from_base(megabits * 1e6 / 8.0)))
    }

    pub(super) fn ping(&mut self, whole: &Range<usize>, faulty: &mut Faulty<'_>) -> Option<Told> {
        let Some(amount) = Self::only(&mut self.times, "time", faulty) else {
            let bare = self.rates.first();
            let span = bare.map_or(whole.clone(), |amount| amount.span.clone());
            let found = match bare {
                Some(amount) => format!("'{}' is no time", faulty.at(&amount.span)),
                None => "no time stands here".to_owned(),
            };
            let help = "write the average with its unit, for example 'ping 0.4 ms'";
            self.rates.clear();
            faulty.add(span, "a ping without its time", found, help);
            return None;
        };
        let Unit::Time(factor) = amount.unit else {
            return None;
        };
        // "less than 1 ms" is all that some tools print; half of it is as good a guess as any
        let share = if amount.exactness == Exactness::AtMost {
            0.5
        } else {
            1.0
        };
        let time = amount.middle() * factor * share;
        if time <= 0.0 || time > SLOWEST_PING || amount.low > amount.high {
            faulty.add(
                amount.span.clone(),
                "a time that cannot be",
                format!("'{}' is no round trip", faulty.at(&amount.span)),
                "write the average with its unit, for example 'ping 0.4 ms'",
            );
            return None;
        }
        Some(Told::Time(seconds(time)))
    }

    pub(super) fn busy(&mut self, whole: &Range<usize>, faulty: &mut Faulty<'_>) -> Option<Told> {
        let mut all = std::mem::take(&mut self.shares);
        let bare = |amount: &Amount| amount.unit == Unit::Bare;
        all.extend(self.rates.iter().filter(|a| bare(a)).cloned());
        self.rates.retain(|a| !bare(a));
        let Some(amount) = Self::only(&mut all, "share", faulty) else {
            faulty.add(
                whole.clone(),
                "a reading without its number",
                "no share stands here",
                "write how busy the busiest core is, for example 'core busy 98 %'",
            );
            return None;
        };
        let share = amount.middle();
        if !(0.0..=100.0).contains(&share) || amount.low > amount.high {
            faulty.add(
                amount.span.clone(),
                "a share that cannot be",
                format!("'{}' is more than one core has", faulty.at(&amount.span)),
                "write how busy the busiest core is, from 0 % to 100 %; sums over cores go above",
            );
            return None;
        }
        Some(Told::Share(percent(share)))
    }

    pub(super) fn count(&mut self, whole: &Range<usize>, faulty: &mut Faulty<'_>) -> Option<Told> {
        let Some(amount) = Self::only(&mut self.rates, "number", faulty) else {
            faulty.add(
                whole.clone(),
                "a reading without its number",
                "how many is not told",
                "write how many were counted, for example 'errors 1200'",
            );
            return None;
        };
        let count = amount.joined.unwrap_or(amount.high);
        let whole_number = count.fract() == 0.0 && count < 1e18 && amount.low <= amount.high;
        if amount.unit != Unit::Bare || !whole_number {
            faulty.add(
                amount.span.clone(),
                "a number that cannot be",
                format!("'{}' is no number of errors", faulty.at(&amount.span)),
                "write how many were counted, for example 'errors 1200'",
            );
            return None;
        }
        Some(Told::Count(count as u64))
    }
}

/// Bits in one of a unit; where its case is unclear, bits are meant.
fn bits(written: Written) -> f64 {
    match written.base {
        Base::Bits => written.factor() * 8.0,
        Base::Bytes | Base::Unclear => written.factor(),
    }
}

fn bytes_for_bits(amount: &Amount, written: Written, faulty: &mut Faulty<'_>) {
    let number = faulty.at(&amount.number);
    let text = faulty.at(&amount.span);
    let rate = LinkRate::from_base(amount.high * written.factor());
    let in_bits = text
        .get(number.len()..)
        .unwrap_or_default()
        .replace('B', "b");
    faulty.add(
        amount.span.clone(),
        "a link in bytes",
        format!("'{text}' counts bytes; the rate of a link is named in bits"),
        format!(
            "write '{number}{in_bits}' if bits were meant, or '{rate}' for the same rate in bits"
        ),
    );
}
