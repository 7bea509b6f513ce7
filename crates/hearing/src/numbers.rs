//! Numbers, in digits and in words.

use std::ops::Range;

/// A piece of a text.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Token {
    /// In small letters; of a number its digits.
    pub text: String,
    /// As it is written.
    pub shown: String,
    /// What it is worth, where it is in digits.
    pub number: Option<f64>,
    /// Where it stands.
    pub span: Range<usize>,
}

impl Token {
    /// Whether it is this word.
    pub(crate) fn is(&self, word: &str) -> bool {
        self.number.is_none() && self.text == word
    }
}

/// Splits a text into numbers, words and signs.
pub(crate) fn tokens(text: &str) -> Vec<Token> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..) {
        let Some(c) = rest.chars().next() else { break };
        let length = if c.is_ascii_digit() {
            digits(rest)
        } else if c.is_alphabetic() || c == '\u{b5}' {
            rest.char_indices()
                .find(|(_, c)| !(c.is_alphabetic() || *c == '\u{b5}'))
                .map_or(rest.len(), |(i, _)| i)
        } else {
            c.len_utf8()
        };
        let shown = rest.get(..length).unwrap_or_default();
        if !shown.trim().is_empty() && !["'", "\u{2019}", "\"", "(", ")"].contains(&shown) {
            let text = match shown {
                "\u{2013}" | "\u{2014}" | ".." | "\u{2026}" => "-".to_owned(),
                shown => shown.to_lowercase(),
            };
            found.push(Token {
                text,
                shown: shown.to_owned(),
                number: c.is_ascii_digit().then(|| worth(shown)),
                span: at..at + length,
            });
        }
        at += length;
    }
    found
}

/// Bytes of digits with points, commas and apostrophes between.
fn digits(rest: &str) -> usize {
    let bytes = rest.as_bytes();
    let digit = |i: usize| bytes.get(i).is_some_and(u8::is_ascii_digit);
    let mut end = 0;
    while digit(end) || (matches!(bytes.get(end), Some(b'.' | b',' | b'\'')) && digit(end + 1)) {
        end += 1;
    }
    end.max(1)
}

/// What digits are worth: a comma before three digits parts thousands, any other is a decimal one.
fn worth(shown: &str) -> f64 {
    let groups: Vec<&str> = shown.split(['.', ',', '\'']).collect();
    let last = groups.last().map_or(0, |g| g.len());
    let commas = shown.matches(',').count();
    let points = shown.matches('.').count();
    let plain: String = match (commas, points) {
        (0, 0 | 1) => shown.replace('\'', ""),
        (1, 0) if last == 3 && !shown.starts_with("0,") => shown.replace(',', ""),
        (1, 0) => shown.replace(',', "."),
        (_, 1) if shown.rfind('.') > shown.rfind(',') => shown.replace(',', ""),
        (1, _) if shown.rfind(',') > shown.rfind('.') => shown.replace('.', "").replace(',', "."),
        _ => shown.replace([',', '.', '\''], ""),
    };
    plain.parse().unwrap_or(0.0)
}

/// Numbers below a hundred in words.
const SMALL: &[(&str, f64)] = &[
    ("zero", 0.0),
    ("nought", 0.0),
    ("one", 1.0),
    ("two", 2.0),
    ("three", 3.0),
    ("four", 4.0),
    ("five", 5.0),
    ("six", 6.0),
    ("seven", 7.0),
    ("eight", 8.0),
    ("nine", 9.0),
    ("ten", 10.0),
    ("eleven", 11.0),
    ("twelve", 12.0),
    ("thirteen", 13.0),
    ("fourteen", 14.0),
    ("fifteen", 15.0),
    ("sixteen", 16.0),
    ("seventeen", 17.0),
    ("eighteen", 18.0),
    ("nineteen", 19.0),
    ("twenty", 20.0),
    ("thirty", 30.0),
    ("forty", 40.0),
    ("fourty", 40.0),
    ("fifty", 50.0),
    ("sixty", 60.0),
    ("seventy", 70.0),
    ("eighty", 80.0),
    ("ninety", 90.0),
    ("couple", 2.0),
    ("dozen", 12.0),
    ("single", 1.0),
    ("both", 2.0),
];

/// Units that a lone "a" or "an" may stand in front of.
const COUNTED: &[&str] = &[
    "minute",
    "hour",
    "second",
    "day",
    "terabyte",
    "gigabyte",
    "gigabit",
    "megabit",
    "megabyte",
    "tb",
    "gb",
    "hundred",
    "thousand",
    "gig",
    "ms",
    "millisecond",
    "couple",
    "dozen",
];

/// The number that begins at a token, where it ends, and whether it is in words.
pub(crate) fn value(tokens: &[Token], at: usize) -> Option<(f64, usize, bool)> {
    let token = tokens.get(at)?;
    let is = |i: usize, words: &[&str]| {
        tokens
            .get(i)
            .is_some_and(|t| t.number.is_none() && words.contains(&t.text.as_str()))
    };
    if let Some(number) = token.number {
        return in_digits(tokens, at, number);
    }
    if is(at, &["half"]) && is(at + 1, &["a", "an"]) {
        return Some((0.5, at + 2, true));
    }
    if is(at, &["half"])
        && tokens
            .get(at + 1)
            .is_some_and(|t| COUNTED.contains(&t.text.as_str()))
    {
        return Some((0.5, at + 1, true));
    }
    if is(at, &["quarter"]) && is(at + 1, &["of"]) && is(at + 2, &["a", "an"]) {
        return Some((0.25, at + 3, true));
    }
    let article = is(at, &["a", "an"]);
    if article && is(at + 1, &["quarter"]) && is(at + 2, &["of"]) {
        return Some((0.25, at + 3 + usize::from(is(at + 3, &["a", "an"])), true));
    }
    if article
        && !tokens
            .get(at + 1)
            .is_some_and(|t| COUNTED.contains(&t.text.as_str()))
    {
        return None;
    }
    let (mut number, mut next) = if article {
        (1.0, at + 1)
    } else {
        let (_, small) = SMALL.iter().find(|(word, _)| token.is(word))?;
        (*small, at + 1)
    };
    if article && is(next, &["couple", "dozen"]) {
        number = if is(next, &["couple"]) { 2.0 } else { 12.0 };
        next += 1;
    }
    if (20.0..100.0).contains(&number) {
        let dash = usize::from(is(next, &["-"]));
        let unit = SMALL
            .iter()
            .find(|(word, v)| (1.0..10.0).contains(v) && is(next + dash, &[word]));
        if let Some((_, unit)) = unit {
            number += unit;
            next += 1 + dash;
        }
    }
    for (word, factor) in [("hundred", 100.0), ("thousand", 1000.0)] {
        if is(next, &[word]) {
            number *= factor;
            next += 1;
            if is(next, &["and"])
                && let Some((_, rest)) = SMALL.iter().find(|(word, _)| is(next + 1, &[word]))
            {
                number += rest;
                next += 2;
            }
        }
    }
    if is(next, &["of"]) && is(at, &["couple"]) {
        next += 1;
    }
    if is(next, &["quarters"]) && is(next + 1, &["of"]) {
        return Some((
            number / 4.0,
            next + 2 + usize::from(is(next + 2, &["a", "an"])),
            true,
        ));
    }
    if is(next, &["and"]) {
        let skip = usize::from(is(next + 1, &["a", "one"]));
        if is(next + 1 + skip, &["half"]) {
            return Some((number + 0.5, next + 2 + skip, true));
        }
        if is(next + 1 + skip, &["quarter"]) {
            return Some((number + 0.25, next + 2 + skip, true));
        }
    }
    Some((number, next, true))
}

/// A number in digits, unless it is part of a word.
fn in_digits(tokens: &[Token], at: usize, number: f64) -> Option<(f64, usize, bool)> {
    let token = tokens.get(at)?;
    let is = |i: usize, words: &[&str]| {
        tokens
            .get(i)
            .is_some_and(|t| t.number.is_none() && words.contains(&t.text.as_str()))
    };

    // 4k and 2nd are words
    let next = tokens.get(at + 1);
    let glued = next.is_some_and(|t| t.span.start == token.span.end);
    if glued && is(at + 1, &["k", "st", "nd", "rd", "th", "x"]) {
        return None;
    }
    // x8, cat6, smb1
    let before = at.checked_sub(1).and_then(|i| tokens.get(i));
    let hours = is(at.wrapping_sub(1), &["h", "min", "m"])
        && at >= 2
        && tokens.get(at - 2).is_some_and(|t| t.number.is_some());
    if !hours
        && before.is_some_and(|t| {
            t.span.end == token.span.start && t.text.chars().all(char::is_alphabetic)
        })
    {
        return None;
    }
    let (mut number, mut next) = (number, at + 1);
    if is(next, &["thousand"]) {
        number *= 1000.0;
        next += 1;
    }
    if is(next, &["and"]) && is(next + 1, &["a"]) && is(next + 2, &["half"]) {
        return Some((number + 0.5, next + 3, false));
    }
    Some((number, next, false))
}

/// Hours of a day at which something began and ended: "ten past two", "14:05", "ten in the evening".
pub(crate) fn clocks(tokens: &[Token]) -> Vec<f64> {
    let is = |i: usize, words: &[&str]| {
        tokens
            .get(i)
            .is_some_and(|t| t.number.is_none() && words.contains(&t.text.as_str()))
    };
    let small = |i: usize| -> Option<(f64, usize)> {
        if is(i, &["quarter"]) {
            return Some((15.0, i + 1));
        }
        if is(i, &["half"]) {
            return Some((30.0, i + 1));
        }
        value(tokens, i).map(|(v, next, _)| (v, next))
    };
    let mut found = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let number = tokens.get(at).and_then(|t| t.number);
        let minutes = tokens.get(at + 2).and_then(|t| t.number);
        if let (Some(h), true, Some(m)) = (number, is(at + 1, &[":"]), minutes)
            && h < 24.0
            && m < 60.0
        {
            found.push(h + m / 60.0);
            at += 3;
            continue;
        }
        if let Some((first, next)) = small(at) {
            let past = is(next, &["past", "after"]);
            if (past || is(next, &["to", "before"]))
                && let Some((hour, after)) = small(next + 1)
                && hour <= 12.0
                && first < 60.0
                && !is(
                    after,
                    &[
                        "mb", "gb", "megs", "gigs", "meg", "gig", "ms", "gigabit", "megabit", "%",
                    ],
                )
            {
                found.push(hour + if past { first } else { -first } / 60.0);
                at = after;
                continue;
            }
            let late = is(next, &["pm"])
                || (is(next, &["in", "at"])
                    && (is(next + 2, &["evening", "afternoon"]) || is(next + 1, &["night"])));
            let early = is(next, &["am"]) || (is(next, &["in"]) && is(next + 2, &["morning"]));
            if first <= 12.0 && (late || early) {
                found.push(if late { first + 12.0 } else { first });
                at = next + 1;
                continue;
            }
        }
        at += 1;
    }
    found
}
