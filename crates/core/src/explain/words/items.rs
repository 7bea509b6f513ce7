//! Tokens put together: a number with its unit, its range and what it says of its exactness is one
//! item, every other word another.

use super::tokens::{Piece, Token};
use super::units::{Base, Scale, Written, unit};
use crate::explain::Exactness;
use std::ops::Range;

/// The unit of an amount.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Unit {
    /// None is written.
    Bare,
    /// Data, or data a second.
    Data(Written),
    /// Seconds in one of it.
    Time(f64),
    /// A share in hundredths.
    Percent,
    /// So many at once.
    Streams,
    /// So many files.
    Files,
    /// The trade's short forms for links, in megabits a second.
    Link(f64),
    /// Requests a second, in ones.
    Requests(f64),
}

/// A number with everything that belongs to it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Amount {
    /// The lower end, or the number.
    pub low: f64,
    /// The upper end, or the number.
    pub high: f64,
    pub exactness: Exactness,
    pub unit: Unit,
    /// The number with its thousands joined, where its comma leaves that open.
    pub joined: Option<f64>,
    /// All of it.
    pub span: Range<usize>,
    /// The number alone.
    pub number: Range<usize>,
}

impl Amount {
    /// Half way where it is a range.
    pub(super) fn middle(&self) -> f64 {
        f64::midpoint(self.low, self.high)
    }

    /// Whether it may be a rate.
    pub(super) fn may_be_rate(&self) -> bool {
        match self.unit {
            Unit::Bare => true,
            Unit::Data(written) => written.a_second || written.scale_is_small(),
            _ => false,
        }
    }
}

impl Written {
    /// Whether people leave "a second" away behind it: megabytes, not gigabytes.
    fn scale_is_small(self) -> bool {
        matches!(self.scale, Scale::Kilo | Scale::Mega)
    }
}

/// One item.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Item {
    Amount(Amount),
    /// A word, by its place among the tokens.
    Word(Token),
}

impl Item {
    pub(super) fn span(&self) -> Range<usize> {
        match self {
            Self::Amount(amount) => amount.span.clone(),
            Self::Word(token) => token.span.clone(),
        }
    }

    pub(super) fn word(&self) -> Option<&str> {
        match self {
            Self::Word(token) => Some(token.lower.as_str()),
            Self::Amount(_) => None,
        }
    }
}

/// Words and signs in front of a number that say how it is meant.
const BEFORE: &[(&[&str], Exactness)] = &[
    (&["about"], Exactness::About),
    (&["around"], Exactness::About),
    (&["roughly"], Exactness::About),
    (&["approximately"], Exactness::About),
    (&["approx"], Exactness::About),
    (&["ca"], Exactness::About),
    (&["circa"], Exactness::About),
    (&["nearly"], Exactness::About),
    (&["almost"], Exactness::About),
    (&["some"], Exactness::About),
    (&["~"], Exactness::About),
    (&["\u{2248}"], Exactness::About),
    (&["less", "than"], Exactness::AtMost),
    (&["not", "more", "than"], Exactness::AtMost),
    (&["no", "more", "than"], Exactness::AtMost),
    (&["at", "most"], Exactness::AtMost),
    (&["under"], Exactness::AtMost),
    (&["below"], Exactness::AtMost),
    (&["<"], Exactness::AtMost),
    (&["\u{2264}"], Exactness::AtMost),
    (&["never", "above"], Exactness::AtMost),
    (&["never", "over"], Exactness::AtMost),
    (&["more", "than"], Exactness::AtLeast),
    (&["at", "least"], Exactness::AtLeast),
    (&["over"], Exactness::AtLeast),
    (&["above"], Exactness::AtLeast),
    (&[">"], Exactness::AtLeast),
    (&["\u{2265}"], Exactness::AtLeast),
    (&["up", "to"], Exactness::Peak),
];

/// What stands behind a number of things at once.
const STREAMS: &[&str] = &[
    "streams",
    "stream",
    "threads",
    "copies",
    "connections",
    "sessions",
    "jobs",
    "transfers",
    "clients",
];

/// Numbers in words, where they count things at once.
const NUMBERS: &[&str] = &[
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
];

/// Puts tokens together.
pub(super) fn items(text: &str, tokens: &[Token]) -> Vec<Item> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(token) = tokens.get(at) {
        if let Some((amount, next)) = amount(text, tokens, at) {
            found.push(Item::Amount(amount));
            at = next;
        } else {
            found.push(Item::Word(token.clone()));
            at += 1;
        }
    }
    found
}

/// The amount that begins at a token, and where it ends.
fn amount(text: &str, tokens: &[Token], from: usize) -> Option<(Amount, usize)> {
    let start = tokens.get(from)?.span.start;
    let mut exactness = Exactness::Point;
    let mut at = from;
    for (words, meaning) in BEFORE {
        let here = words
            .iter()
            .enumerate()
            .all(|(i, word)| tokens.get(from + i).is_some_and(|t| t.lower == *word));
        if here {
            exactness = *meaning;
            at = from + words.len();
            break;
        }
    }
    let token = tokens.get(at)?;
    let Piece::Number(first, joined) = token.piece else {
        return if at == from {
            in_words(text, tokens, from)
        } else {
            None
        };
    };
    let number = token.span.clone();
    at += 1;
    let (mut own, mut next) = unit_at(text, tokens, at);
    let mut high = first;
    let between = from
        .checked_sub(1)
        .and_then(|before| tokens.get(before))
        .is_some_and(|t| t.is("between"));
    if let Some(to) = range_at(tokens, next, between)
        && let Some(Token {
            piece: Piece::Number(second, _),
            ..
        }) = tokens.get(to)
    {
        let (second_unit, after) = unit_at(text, tokens, to + 1);
        // 80 MB/s to 20 GB is no range
        let alike = own == Unit::Bare || own == second_unit || second_unit == Unit::Bare;
        if alike {
            high = *second;
            exactness = Exactness::Range;
            if own == Unit::Bare {
                own = second_unit;
            }
            next = after;
        }
    }
    if tokens
        .get(next)
        .is_some_and(|t| t.piece == Piece::Sign('+'))
    {
        exactness = Exactness::AtLeast;
        next += 1;
        if own == Unit::Bare {
            (own, next) = unit_at(text, tokens, next);
        }
    }
    let end = tokens.get(next.checked_sub(1)?)?.span.end;
    Some((
        Amount {
            low: first,
            high,
            exactness,
            unit: own,
            joined,
            span: start..end,
            number,
        },
        next,
    ))
}

/// "two streams", "ten minutes".
fn in_words(text: &str, tokens: &[Token], from: usize) -> Option<(Amount, usize)> {
    let word = tokens.get(from)?;
    let count = NUMBERS.iter().position(|n| word.is(n))?;
    let (unit, next) = unit_at(text, tokens, from + 1);
    match unit {
        Unit::Time(_) => {}
        // one thread says something of a tool
        Unit::Streams if count != 1 || tokens.get(from + 1).is_some_and(|t| t.is("stream")) => {}
        _ => return None,
    }
    let end = tokens.get(next.checked_sub(1)?)?.span.end;
    Some((
        Amount {
            low: count as f64,
            high: count as f64,
            exactness: Exactness::Point,
            unit,
            joined: None,
            span: word.span.start..end,
            number: word.span.clone(),
        },
        next,
    ))
}

/// Where the second number of a range begins, if one follows.
fn range_at(tokens: &[Token], at: usize, between: bool) -> Option<usize> {
    let token = tokens.get(at)?;
    let joins = token.piece == Piece::Dots || token.is("to") || (between && token.is("and"));
    joins.then_some(at + 1)
}

/// Words for things at once, and where they end.
fn streams_at(tokens: &[Token], at: usize) -> Option<usize> {
    let is = |i: usize, word: &str| tokens.get(i).is_some_and(|t| t.is(word));
    let mut next = at + usize::from(is(at, "parallel") || is(at, "simultaneous"));
    if tokens
        .get(next)
        .is_some_and(|t| t.piece == Piece::Word && STREAMS.contains(&t.lower.as_str()))
    {
        next += 1;
    }
    let at_once =
        |i: usize| (is(i, "in") && is(i + 1, "parallel")) || (is(i, "at") && is(i + 1, "once"));
    next += usize::from(is(next, "files") && at_once(next + 1));
    if at_once(next) {
        next += 2;
    }
    (next > at).then_some(next)
}

/// The unit that begins at a token, and where it ends.
fn unit_at(text: &str, tokens: &[Token], at: usize) -> (Unit, usize) {
    let Some(token) = tokens.get(at).filter(|t| t.piece == Piece::Word) else {
        return (Unit::Bare, at);
    };
    if let Some(next) = streams_at(tokens, at) {
        return (Unit::Streams, next);
    }
    if token.is("files") || token.is("small") && tokens.get(at + 1).is_some_and(|t| t.is("files")) {
        return (Unit::Files, at + 1 + usize::from(token.is("small")));
    }
    let word = text.get(token.span.clone()).unwrap_or_default();
    if token.is("%") || token.is("percent") {
        return (Unit::Percent, at + 1);
    }
    if let Some((unit, next)) = of_pieces(tokens, at) {
        return (unit, next);
    }
    if let Some(seconds) = time(&token.lower) {
        return (Unit::Time(seconds), at + 1);
    }
    if let Some(written) = unit(word) {
        let (tail, next) = per_second(tokens, at + 1);
        let written = Written {
            a_second: written.a_second || tail,
            ..written
        };
        return (Unit::Data(written), next);
    }
    match token.lower.as_str() {
        "gbe" | "gig" | "gigs" | "g" => (Unit::Link(1000.0), at + 1),
        "m" => (Unit::Link(1.0), at + 1),
        "meg" | "megs" => {
            let (_, next) = per_second(tokens, at + 1);
            let written = Written {
                scale: Scale::Mega,
                base: Base::Unclear,
                binary: false,
                a_second: true,
                ps: false,
            };
            (Unit::Data(written), next)
        }
        _ => (Unit::Bare, per_second(tokens, at).1),
    }
}

/// Requests a second, or the size of a piece in its short form: "9k IOPS", "4k random".
fn of_pieces(tokens: &[Token], at: usize) -> Option<(Unit, usize)> {
    let counted = |i: usize| {
        let token = tokens.get(i)?;
        if REQUESTS.contains(&token.lower.as_str()) {
            return Some(i + 1);
        }
        let (a_second, next) = per_second(tokens, i + 1);
        (a_second && (token.is("requests") || token.is("operations"))).then_some(next)
    };
    if let Some(next) = counted(at) {
        return Some((Unit::Requests(1.0), next));
    }
    if !tokens.get(at)?.is("k") {
        return None;
    }
    if let Some(next) = counted(at + 1) {
        return Some((Unit::Requests(1000.0), next));
    }
    // a picture has its "4k" too
    let of_pieces = |t: &Token| t.is("random") || REQUESTS.contains(&t.lower.as_str());
    tokens.iter().any(of_pieces).then_some((
        Unit::Data(Written {
            scale: Scale::Kilo,
            base: Base::Bytes,
            binary: true,
            a_second: false,
            ps: false,
        }),
        at + 1,
    ))
}

/// Short forms of requests a second.
pub(super) const REQUESTS: [&str; 3] = ["iops", "io/s", "ios/s"];

/// "per second" behind a unit.
fn per_second(tokens: &[Token], at: usize) -> (bool, usize) {
    let is = |i: usize, words: &[&str]| {
        let token = tokens.get(i).filter(|t| t.piece == Piece::Word);
        token.is_some_and(|t| words.contains(&t.lower.as_str()))
    };
    if is(at, &["per", "/", "a", "each"]) && is(at + 1, &["second", "sec", "s"]) {
        (true, at + 2)
    } else if is(at, &["/s", "/sec", "/second"]) {
        (true, at + 1)
    } else {
        (false, at)
    }
}

/// Seconds in a unit of time.
fn time(word: &str) -> Option<f64> {
    Some(match word {
        "us" | "\u{b5}s" | "\u{3bc}s" | "microseconds" => 1e-6,
        "ms" | "msec" | "millisecond" | "milliseconds" => 1e-3,
        "s" | "sec" | "secs" | "second" | "seconds" => 1.0,
        "min" | "mins" | "minute" | "minutes" => 60.0,
        "h" | "hr" | "hrs" | "hour" | "hours" => 3600.0,
        "d" | "day" | "days" => 86_400.0,
        "week" | "weeks" => 604_800.0,
        "month" | "months" => 2_629_746.0,
        "year" | "years" => 31_556_952.0,
        _ => return None,
    })
}
