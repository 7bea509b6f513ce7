//! Readings with a date: of one thing that was measured twice the later one is the reading, and the earlier one says what it was.

use super::listener::Statement;
use crate::explain::{Amount, Reading, Remark};

/// When something was measured, as ISO 8601 writes it: a day, with a time of it or without. Later ones are greater.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Moment {
    day: (u16, u8, u8),
    time: (u8, u8),
}

impl Moment {
    /// Reads `2026-11-25`, `2026-11-25 14:05` or `2026-11-25T14:05`; nothing where there is no such day or time.
    pub(super) fn read(text: &str) -> Option<Self> {
        let (day, time) = match text.split_once(['T', 't', ' ']) {
            Some((day, time)) => (day, Some(time)),
            None => (text, None),
        };
        let mut parts = day.split('-');
        let (year, month, number) = (parts.next()?, parts.next()?, parts.next()?);
        if parts.next().is_some() || year.len() != 4 {
            return None;
        }
        let day = (two(year)?, two(month)?, two(number)?);
        let leap = day.0 % 4 == 0 && (day.0 % 100 != 0 || day.0 % 400 == 0);
        let days = match day.1 {
            4 | 6 | 9 | 11 => 30,
            2 => 28 + u8::from(leap),
            1..=12 => 31,
            _ => return None,
        };
        if !(1..=days).contains(&day.2) {
            return None;
        }
        let time = match time {
            None => (0, 0),
            Some(time) => {
                let mut parts = time.trim().split(':');
                let (hour, minute) = (two(parts.next()?)?, two(parts.next()?)?);
                let second = parts.next().map_or(Some(0), two::<u8>)?;
                if hour > 23 || minute > 59 || second > 60 || parts.next().is_some() {
                    return None;
                }
                (hour, minute)
            }
        };
        Some(Self { day, time })
    }

    /// Its day.
    fn day(&self) -> String {
        let (year, month, day) = self.day;
        format!("{year:04}-{month:02}-{day:02}")
    }
}

/// A number of digits only.
fn two<T: std::str::FromStr>(text: &str) -> Option<T> {
    let digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    digits.then(|| text.parse().ok()).flatten()
}

/// Takes each dated rate of which the same was measured later for what it was before.
pub(super) fn by_date(all: Vec<(Option<Moment>, Statement)>) -> Vec<Statement> {
    let rate = |statement: &Statement| match statement {
        Statement::Reading(reading) if matches!(reading.amount, Amount::Rate(_)) => {
            Some(reading.clone())
        }
        _ => None,
    };
    let dated: Vec<(Moment, Reading)> = all
        .iter()
        .filter_map(|(moment, statement)| Some((moment.clone()?, rate(statement)?)))
        .collect();
    let later = |moment: &Moment, reading: &Reading| {
        let mut others = dated.iter();
        others.any(|(when, other)| when > moment && same(reading, other))
    };
    let one = |(moment, statement): (Option<Moment>, Statement)| match (moment, statement) {
        (Some(moment), Statement::Reading(reading)) if later(&moment, &reading) => {
            Statement::Remark(before(&moment, reading))
        }
        (_, statement) => statement,
    };
    all.into_iter().map(one).collect()
}

/// Whether two readings are of the same thing.
fn same(one: &Reading, other: &Reading) -> bool {
    let of = |reading: &Reading| {
        (
            reading.what,
            reading.direction,
            reading.streams,
            reading.again,
        )
    };
    one.desk == other.desk && of(one) == of(other)
}

/// A reading as what it was; whether it was better is seen beside the later one.
fn before(moment: &Moment, reading: Reading) -> Remark {
    Remark {
        text: format!("{} on {}", reading.text, moment.day()),
        id: "better-before".to_owned(),
        desk: reading.desk,
        rate: match reading.amount {
            Amount::Rate(rate) => Some(rate),
            _ => None,
        },
        size: None,
        time: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_ordered_and_no_other_day_is_taken() {
        let read = |text: &str| Moment::read(text).unwrap_or_else(|| panic!("{text}"));
        let all = [
            "2024-02-29",
            "2026-11-25",
            "2026-11-25 09:30",
            "2026-11-25T14:05:30",
            "2026-12-01",
        ];
        assert!(all.windows(2).all(|pair| read(pair[0]) < read(pair[1])));
        for text in [
            "",
            "25.11.2026",
            "2026-13-01",
            "2026-00-10",
            "2026-02-29",
            "2026-04-31",
            "26-11-25",
            "2026-11-25 24:10",
            "2026-11-25 10:60",
            "2026-11-25 10",
            "2026-11-+5",
            "Monday",
        ] {
            assert_eq!(Moment::read(text), None, "{text}");
        }
    }
}
