//! The written form of a need.
//!
//! ```text
//! need  = size [ "usable" | "comfortable" ]
//!       | rate ( "read" | "write" ) "at the array" [ "with" count ( "stream" | "streams" ) ]
//!       | requests "random" ( "read" | "write" )
//! ```
//!
//! `50 TB`, `50 TB comfortable`, `900 MB/s read at the array`, `400 MB/s write at the array with 4
//! streams`, `2000 IOPS random read`.

use crate::array::Bytes;
use crate::nearest::nearest;
use crate::piece::Piece;
use crate::quantity::units::information::byte;
use crate::quantity::{DataRate, Information, Measure, OperationRate, UnitFault, exact, parse};
use crate::work::Direction;

/// What a layout has to give.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Need {
    /// So much room for files.
    Usable(Bytes),
    /// So much that is still comfortable to fill.
    Comfortable(Bytes),
    /// A rate of large files at the array itself, without the network.
    Rate {
        /// How much, all streams together.
        rate: DataRate,
        /// Which way.
        direction: Direction,
        /// How many streams at once.
        streams: usize,
    },
    /// Small requests a second at random places of the array itself.
    Requests {
        /// How many.
        rate: OperationRate,
        /// Which way.
        direction: Direction,
    },
}

/// More streams than a small studio plays.
pub const MOST_STREAMS: usize = 1000;

const FORMS: &str = "write '50 TB', '50 TB comfortable', '900 MB/s read at the array', \
                     '900 MB/s read at the array with 4 streams' or '2000 op/s random read'";

impl Need {
    /// Reads a need.
    ///
    /// # Errors
    /// With the part that is wrong, what is allowed, and how to write it.
    pub fn parse(text: &str) -> Result<Self, UnitFault> {
        let all = Piece::of(text).words();
        let Some(first) = all.first() else {
            return Err(UnitFault::new(
                0..text.len(),
                "nothing is written here",
                FORMS,
            ));
        };
        // the unit may stand apart or not
        let joined = first.text.parse::<f64>().is_err();
        let taken = if joined { 1 } else { all.len().min(2) };
        let end = all.get(taken - 1).map_or(text.len(), |w| w.end());
        let amount = &text[..end];
        let rest = all.get(taken..).unwrap_or_default();
        if let Ok(requests) = parse::<OperationRate>(amount) {
            return random(text, requests, rest);
        }
        let is_rate = amount.contains('/') || amount.ends_with("ps");
        if is_rate {
            rate(text, parse::<DataRate>(amount)?, rest)
        } else {
            space(text, parse::<Information>(amount)?, rest)
        }
    }
}

fn positive<Q: Measure>(text: &str, value: Q) -> Result<(), UnitFault> {
    if value.base() > 0.0 {
        Ok(())
    } else {
        Err(UnitFault::new(
            0..text.len(),
            "a need of nothing is always met",
            "leave it out, or write an amount above zero",
        ))
    }
}

fn space(text: &str, size: Information, rest: &[Piece<'_>]) -> Result<Need, UnitFault> {
    positive(text, size)?;
    let bytes = size.get::<byte>();
    if bytes > 1e18 {
        return Err(UnitFault::new(
            0..text.len(),
            format!("{} are more than any studio has", exact(size)),
            "write an amount of data, for example 50 TB",
        ));
    }
    let bytes = Bytes::new(libm::ceil(bytes) as u64);
    let (word, more) = match rest {
        [] => return Ok(Need::Usable(bytes)),
        [word, more @ ..] => (word, more),
    };
    let need = match word.text {
        "usable" => Need::Usable(bytes),
        "comfortable" => Need::Comfortable(bytes),
        _ => return Err(stray(*word, &["usable", "comfortable"])),
    };
    match more.first() {
        None => Ok(need),
        Some(word) => Err(left_over(text, *word)),
    }
}

fn rate(text: &str, rate: DataRate, rest: &[Piece<'_>]) -> Result<Need, UnitFault> {
    positive(text, rate)?;
    let end = text.trim_end().len();
    let missing = |what: &str, so_far: &str| {
        let amount = exact(rate);
        UnitFault::new(
            0..end,
            format!("'{}' does not say {what}", text.trim()),
            format!("write '{amount} {so_far}'"),
        )
    };
    let [direction, rest @ ..] = rest else {
        return Err(missing("which way", "read at the array"));
    };
    let direction = match direction.text {
        "read" => Direction::Read,
        "write" => Direction::Write,
        _ => return Err(stray(*direction, &["read", "write"])),
    };
    let place = format!("{} at the array", direction.word());
    let rest = match rest {
        [at, the, array, rest @ ..]
            if (at.text, the.text, array.text) == ("at", "the", "array") =>
        {
            rest
        }
        // what a desk gets depends on the network, which a layout does not know
        [] => return Err(missing("where", &place)),
        [first, ..] => {
            return Err(UnitFault::new(
                first.at..end,
                format!(
                    "'{}' is no place that a layout decides",
                    &text[first.at..end]
                ),
                format!(
                    "write '{} {place}'; what a desk gets is told by narrows budget",
                    exact(rate)
                ),
            ));
        }
    };
    let streams = match rest {
        [] => 1,
        [with, count, streams, more @ ..]
            if with.text == "with" && matches!(streams.text, "stream" | "streams") =>
        {
            if let Some(word) = more.first() {
                return Err(left_over(text, *word));
            }
            match count.text.parse::<usize>() {
                Ok(count @ 1..=MOST_STREAMS) => count,
                _ => {
                    return Err(UnitFault::new(
                        count.span(),
                        format!("'{}' streams cannot be", count.text),
                        format!("write a whole number from 1 to {MOST_STREAMS}"),
                    ));
                }
            }
        }
        [with, ..] if with.text == "with" => {
            return Err(UnitFault::new(
                with.at..end,
                format!("'{}' counts no streams", &text[with.at..end]),
                "write 'with 4 streams'",
            ));
        }
        [word, ..] => return Err(left_over(text, *word)),
    };
    Ok(Need::Rate {
        rate,
        direction,
        streams,
    })
}

fn random(text: &str, rate: OperationRate, rest: &[Piece<'_>]) -> Result<Need, UnitFault> {
    positive(text, rate)?;
    let (direction, more) = match rest {
        [random, direction, more @ ..] if random.text == "random" => (direction, more),
        [other, ..] if other.text != "random" => return Err(stray(*other, &["random"])),
        _ => {
            return Err(UnitFault::new(
                0..text.trim_end().len(),
                format!("'{}' does not say which way", text.trim()),
                format!("write '{} random read' or '{0} random write'", exact(rate)),
            ));
        }
    };
    let direction = match direction.text {
        "read" => Direction::Read,
        "write" => Direction::Write,
        _ => return Err(stray(*direction, &["read", "write"])),
    };
    match more.first() {
        None => Ok(Need::Requests { rate, direction }),
        Some(word) => Err(left_over(text, *word)),
    }
}

fn stray(word: Piece<'_>, allowed: &[&str]) -> UnitFault {
    let near = nearest(word.text, allowed.iter().copied())
        .map(|near| format!("; did you mean '{near}'?"))
        .unwrap_or_default();
    UnitFault::new(
        word.span(),
        format!("'{}' is not known here{near}", word.text),
        format!("write one of {}", allowed.join(", ")),
    )
}

fn left_over(text: &str, word: Piece<'_>) -> UnitFault {
    let end = text.trim_end().len();
    UnitFault::new(
        word.at..end,
        format!("'{}' is left over", &text[word.at..end]),
        FORMS,
    )
}

/// As it would be written; reads back to the same need, sizes at twelve digits.
impl std::fmt::Display for Need {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Usable(bytes) => write!(f, "{} usable", exact(bytes.information())),
            Self::Comfortable(bytes) => write!(f, "{} comfortable", exact(bytes.information())),
            Self::Rate {
                rate,
                direction,
                streams,
            } => {
                write!(f, "{} {} at the array", exact(*rate), direction.word())?;
                match streams {
                    1 => Ok(()),
                    n => write!(f, " with {n} streams"),
                }
            }
            Self::Requests { rate, direction } => {
                write!(f, "{} random {}", exact(*rate), direction.word())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::megabytes_per_second;
    use crate::quantity::units::operation_rate::operation_per_second;

    #[test]
    fn needs_are_read_and_shown_as_they_are_written() {
        let rate = |rate, direction, streams| Need::Rate {
            rate: megabytes_per_second(rate),
            direction,
            streams,
        };
        for (text, expected) in [
            ("50 TB", Need::Usable(Bytes::new(50_000_000_000_000))),
            ("50TB usable", Need::Usable(Bytes::new(50_000_000_000_000))),
            (
                " 1.5 TB  comfortable ",
                Need::Comfortable(Bytes::new(1_500_000_000_000)),
            ),
            (
                "900 MB/s read at the array",
                rate(900.0, Direction::Read, 1),
            ),
            (
                "8 Gb/s write at the array with 4 streams",
                rate(1000.0, Direction::Write, 4),
            ),
            (
                "900MB/s read at the array with 1 stream",
                rate(900.0, Direction::Read, 1),
            ),
            (
                "2000 IOPS random read",
                Need::Requests {
                    rate: OperationRate::new::<operation_per_second>(2000.0),
                    direction: Direction::Read,
                },
            ),
            (
                "80op/s random write",
                Need::Requests {
                    rate: OperationRate::new::<operation_per_second>(80.0),
                    direction: Direction::Write,
                },
            ),
        ] {
            let found = Need::parse(text).unwrap();
            assert_eq!(found, expected, "{text}");
            assert_eq!(
                Need::parse(&found.to_string()).unwrap(),
                expected,
                "{found}"
            );
        }
    }

    #[test]
    fn what_is_wrong_with_a_need_is_pointed_at() {
        for (text, spot, said) in [
            ("", "", "nothing is written"),
            ("50", "50", "no unit"),
            ("50 parsec", "parsec", "not a unit"),
            ("50,5 TB", "50,5", "separator"),
            ("0 TB", "0 TB", "a need of nothing"),
            ("50 TB comfy", "comfy", "not known here"),
            ("50 TB usable soon", "soon", "left over"),
            ("900 MB/s", "900 MB/s", "which way"),
            ("900 mb/s read at the array", "mb/s", "bytes or bits"),
            ("900 MB/s raed at the array", "raed", "did you mean 'read'"),
            ("900 MB/s read", "900 MB/s read", "where"),
            ("900 MB/s read at desk cut-1", "at desk cut-1", "no place"),
            ("900 MB/s read at the array today", "today", "left over"),
            (
                "900 MB/s read at the array with 0 streams",
                "0",
                "cannot be",
            ),
            (
                "900 MB/s read at the array with streams",
                "with streams",
                "counts no streams",
            ),
            (
                "900 MB/s read at the array with 4 streams each",
                "each",
                "left over",
            ),
            ("9e9 TB", "9e9 TB", "more than any"),
            (
                "0 op/s random read",
                "0 op/s random read",
                "a need of nothing",
            ),
            ("2000 IOPS", "2000 IOPS", "which way"),
            ("2000 IOPS random", "2000 IOPS random", "which way"),
            ("2000 IOPS read", "read", "not known here"),
            ("2000 IOPS rnadom read", "rnadom", "did you mean 'random'"),
            ("2000 IOPS random raed", "raed", "did you mean 'read'"),
            ("2000 IOPS random read soon", "soon", "left over"),
        ] {
            let fault = Need::parse(text).unwrap_err();
            assert_eq!(&text[fault.span.clone()], spot, "{text}: {fault}");
            assert!(fault.to_string().contains(said), "{text}: {fault}");
        }
    }
}
