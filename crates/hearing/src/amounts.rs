//! Numbers with their units as people write them: `1,050 MB/s`, `half a terabyte`, `an hour and a
//! quarter`, `3 min 05`, `ninety megs a second`.

use crate::numbers::{Token, tokens, value};
use crate::units::{Unit, unit_at};
use std::ops::Range;

/// How a number is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// As it stands.
    None,
    /// No more than this.
    AtMost,
    /// No less than this.
    AtLeast,
}

/// A number with its unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Amount {
    /// The lower end, or the number.
    pub low: f64,
    /// The upper end, or the number.
    pub high: f64,
    /// What it counts.
    pub unit: Unit,
    /// How it is meant.
    pub bound: Bound,
    /// Whether it is of each of several.
    pub each: bool,
    /// Where it stands.
    pub span: Range<usize>,
}

impl Amount {
    /// Half way where it is a range.
    pub fn middle(&self) -> f64 {
        f64::midpoint(self.low, self.high)
    }
}

/// Words in front of a number that make it an upper end.
const AT_MOST: &[&str] = &[
    "never more than",
    "no more than",
    "not more than",
    "at most",
    "never above",
    "never over",
    "never past",
    "never gets past",
    "never goes past",
    "never gets above",
    "never goes above",
    "never beyond",
    "never exceeds",
    "not above",
    "nothing above",
    "less than",
    "below",
    "under",
    "not even",
    "up to",
    "maximum of",
    "max",
    "does not exceed",
    "never reaches",
    "does not get past",
    "does not go past",
    "does not go over",
    "cannot get past",
    "does not get above",
    "does not go above",
    "never get more than",
    "never get past",
    "no core above",
    "no cpu core above",
    "none above",
    "none over",
    "not one above",
    "stays below",
    "stays under",
];

/// Words that make it a lower end.
const AT_LEAST: &[&str] = &[
    "at least",
    "no less than",
    "not less than",
    "more than",
    "over",
    "never below",
    "never under",
    "always above",
    "never less than",
    "well over",
    "upwards of",
    "north of",
    "above",
];

/// Every amount of a text, in its order.
pub fn amounts(text: &str) -> Vec<Amount> {
    let tokens = tokens(text);
    let mut found: Vec<Amount> = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        match amount(&tokens, at) {
            Some((amount, next)) => {
                found.push(amount);
                at = next;
            }
            None => at += 1,
        }
    }
    found
}

/// The amount that begins at a token, and where it ends.
fn amount(tokens: &[Token], from: usize) -> Option<(Amount, usize)> {
    let (low, next, spoken) = value(tokens, from)?;
    let (mut unit, mut next) = unit_at(tokens, next);
    let mut low = low;
    if let (Unit::Time(_) | Unit::Data { .. }, Some(share)) = (unit, half(tokens, next)) {
        low += share.0;
        next = share.1;
    }
    if let Unit::Time(seconds) = unit {
        (low, next) = more_time(tokens, low, seconds, next);
    }
    let mut high = low;
    let between = from
        .checked_sub(1)
        .and_then(|i| tokens.get(i))
        .is_some_and(|t| t.is("between"));
    let joined = tokens.get(next).is_some_and(|t| {
        ["to", "-", "until", "till", "and", "or"].contains(&t.text.as_str())
            && (between || t.text != "and")
    });
    if joined && let Some((second, after, _)) = value(tokens, next + 1) {
        let (second_unit, after) = unit_at(tokens, after);
        let alike = second_unit.same(unit) || (unit == Unit::Bare && second_unit != Unit::Bare);
        // "five to three" is a time of day
        if (alike || second_unit == Unit::Bare)
            && second > low
            && !(spoken && second_unit == Unit::Bare)
        {
            high = second;
            if unit == Unit::Bare {
                unit = second_unit;
            }
            next = after;
        }
    }
    // a lone "one" or "a" is a word
    if spoken && unit == Unit::Bare && low <= 1.0 && low > 0.0 {
        return None;
    }
    let each = tokens
        .get(next)
        .is_some_and(|t| ["each", "apiece", "piece"].contains(&t.text.as_str()));
    let start = tokens.get(from)?.span.start;
    let end = tokens.get(next.checked_sub(1)?)?.span.end;
    let amount = Amount {
        low,
        high,
        unit,
        bound: bound(tokens, from),
        each,
        span: start..end,
    };
    Some((amount, next))
}

/// "and a half", "and a quarter" behind a unit.
fn half(tokens: &[Token], at: usize) -> Option<(f64, usize)> {
    let is = |i: usize, words: &[&str]| {
        tokens
            .get(at + i)
            .is_some_and(|t| words.contains(&t.text.as_str()))
    };
    if !is(0, &["and"]) {
        return None;
    }
    let skip = usize::from(is(1, &["a", "one"]));
    if is(1 + skip, &["half"]) {
        Some((0.5, at + 2 + skip))
    } else if is(1 + skip, &["quarter"]) {
        Some((0.25, at + 2 + skip))
    } else {
        None
    }
}

/// "2 min 10 s", "an hour and forty", "1h20", "3 min 05".
fn more_time(tokens: &[Token], mut count: f64, seconds: f64, mut next: usize) -> (f64, usize) {
    let mut last = seconds;
    while last >= 60.0 {
        let at = next + usize::from(tokens.get(next).is_some_and(|t| t.is("and") || t.is(",")));
        let Some((value, after, _)) = value(tokens, at) else {
            break;
        };
        let (unit, after) = unit_at(tokens, after);
        match unit {
            Unit::Time(smaller) if smaller < last => {
                count += value * smaller / seconds;
                last = smaller;
                next = after;
            }
            Unit::Bare if value < 60.0 && value.fract() == 0.0 && after <= at + 2 => {
                count += value * (last / 60.0) / seconds;
                next = after;
                break;
            }
            _ => break,
        }
    }
    (count, next)
}

/// What the words in front of a number say of it.
fn bound(tokens: &[Token], from: usize) -> Bound {
    let before = |words: &str| {
        let mut at = from;
        // "never more than about 90"
        while at > 0
            && tokens.get(at - 1).is_some_and(|t| {
                ["about", "around", "roughly", "some", "~", "the"].contains(&t.text.as_str())
            })
        {
            at -= 1;
        }
        words.split(' ').rev().all(|word| {
            let here = at > 0 && tokens.get(at - 1).is_some_and(|t| t.is(word));
            at = at.saturating_sub(1);
            here
        })
    };
    if AT_MOST.iter().any(|words| before(words)) {
        Bound::AtMost
    } else if AT_LEAST.iter().any(|words| before(words)) {
        Bound::AtLeast
    } else {
        Bound::None
    }
}
