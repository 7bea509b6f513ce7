//! Words and numbers of a text that a person wrote, each with its place.

use super::faulty::Faulty;
use std::ops::Range;

/// What a token is.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Piece {
    /// A number, and what it is if its comma parts thousands, where both may be meant.
    Number(f64, Option<f64>),
    /// Anything else.
    Word,
    /// Between the two ends of a range.
    Dots,
    /// A sign in front of a number, or behind it.
    Sign(char),
}

/// One token.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Token {
    pub piece: Piece,
    /// In lower case.
    pub lower: String,
    pub span: Range<usize>,
}

impl Token {
    pub(super) fn is(&self, word: &str) -> bool {
        self.piece == Piece::Word && self.lower == word
    }
}

/// A text that is longer is no reading; a fault could not show it either.
pub(super) const LONGEST: usize = 1000;

/// Splits a text; numbers that cannot be are faults.
pub(super) fn tokens(text: &str, faulty: &mut Faulty<'_>) -> Vec<Token> {
    let mut found: Vec<Token> = Vec::new();
    let mut at = 0;
    while let Some(c) = rest(text, at).chars().next() {
        let begins = starts_number(rest(text, at));
        let token = if begins {
            number(text, at, faulty)
        } else if rest(text, at).starts_with("..") {
            sign(text, at, 2, Piece::Dots)
        } else if c == '\u{2026}' || c == '\u{2013}' || c == '\u{2014}' {
            sign(text, at, c.len_utf8(), Piece::Dots)
        } else if c == '-' && starts_number(rest(text, at + 1)) {
            let range = found
                .last()
                .is_some_and(|t| matches!(t.piece, Piece::Number(..)) && t.span.end == at);
            if range {
                sign(text, at, 1, Piece::Dots)
            } else {
                let end = at + 1 + number_length(rest(text, at + 1));
                let shown = text.get(at..end).unwrap_or_default();
                faulty.add(
                    at..end,
                    "a number below zero",
                    format!("'{shown}' is negative"),
                    "write a number that was read off; between two ends of a range write '..'",
                );
                sign(text, at, end - at, Piece::Number(0.0, None))
            }
        } else if "<>~+\u{2248}\u{2264}\u{2265}%".contains(c) {
            let piece = if c == '%' {
                Piece::Word
            } else {
                Piece::Sign(c)
            };
            sign(text, at, c.len_utf8(), piece)
        } else if is_inner(c) || c == '/' {
            word(text, at)
        } else {
            at += c.len_utf8();
            continue;
        };
        at = token.span.end.max(at + 1);
        found.push(token);
    }
    found
}

fn rest(text: &str, at: usize) -> &str {
    text.get(at..).unwrap_or_default()
}

fn sign(text: &str, at: usize, length: usize, piece: Piece) -> Token {
    let span = at..at + length;
    Token {
        piece,
        lower: text.get(span.clone()).unwrap_or_default().to_lowercase(),
        span,
    }
}

/// Letters, digits and what joins words in one name.
fn is_inner(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

fn word(text: &str, at: usize) -> Token {
    let body = rest(text, at);
    let mut letters = body.char_indices().peekable();
    let mut end = 0;
    while let Some((i, c)) = letters.next() {
        let joins = matches!(c, '-' | '/' | '.' | '\'' | '\u{2019}')
            && i > 0
            && letters.peek().is_some_and(|(_, next)| is_inner(*next));
        if is_inner(c) || joins || (c == '/' && i == 0) {
            end = i + c.len_utf8();
        } else {
            break;
        }
    }
    sign(text, at, end, Piece::Word)
}

fn starts_number(body: &str) -> bool {
    let mut letters = body.chars();
    match letters.next() {
        Some('.') => letters.next().is_some_and(|c| c.is_ascii_digit()),
        Some(c) => c.is_ascii_digit(),
        None => false,
    }
}

/// Bytes of digits at the start.
fn digits(body: &str) -> usize {
    body.bytes().take_while(u8::is_ascii_digit).count()
}

/// Bytes of the number at the start: digits in groups, with points, commas or apostrophes between.
fn number_length(body: &str) -> usize {
    let mut end = 0;
    loop {
        end += digits(rest(body, end));
        let tail = rest(body, end);
        let joins = tail.starts_with(['.', ',', '\'', '\u{2019}']);
        let mark = tail.chars().next().map_or(0, char::len_utf8);
        if !joins || digits(rest(tail, mark)) == 0 {
            return end;
        }
        end += mark;
    }
}

fn number(text: &str, at: usize, faulty: &mut Faulty<'_>) -> Token {
    let length = number_length(rest(text, at));
    let span = at..at + length;
    let shown = text.get(span.clone()).unwrap_or_default();
    // 2nd is a word
    let ending = rest(text, span.end).get(..2).unwrap_or_default();
    let ends = ["st", "nd", "rd", "th"].contains(&ending)
        && !rest(text, span.end + 2).starts_with(is_inner);
    if ends {
        return sign(text, at, length + 2, Piece::Word);
    }
    let piece = match value(shown) {
        Some((value, joined)) if value.is_finite() => Piece::Number(value, joined),
        Some(_) => {
            faulty.add(
                span.clone(),
                "a number that cannot be",
                format!("'{shown}' is too large to mean anything"),
                "write the number that was read off, for example 112 MB/s",
            );
            Piece::Number(0.0, None)
        }
        None => {
            faulty.add(
                span.clone(),
                "a number that cannot be",
                format!("'{shown}' is not a number"),
                "write it with one decimal point, for example 11.4",
            );
            Piece::Number(0.0, None)
        }
    };
    Token {
        piece,
        lower: shown.to_lowercase(),
        span,
    }
}

/// A number with its decimal point or comma; the second is what it is if one comma parts thousands.
fn value(shown: &str) -> Option<(f64, Option<f64>)> {
    let marks: Vec<char> = shown.chars().filter(|c| !c.is_ascii_digit()).collect();
    let plain = |point: Option<char>| {
        let text: String = shown
            .chars()
            .filter_map(|c| match c {
                c if c.is_ascii_digit() => Some(c),
                c if Some(c) == point => Some('.'),
                _ => None,
            })
            .collect();
        text.parse::<f64>().ok()
    };
    // groups behind the first mark that have three digits
    let threes = || {
        let mut groups = shown.split(|c: char| !c.is_ascii_digit()).skip(1);
        groups.all(|group| group.len() == 3)
    };
    let (Some(&first), Some(&last)) = (marks.first(), marks.last()) else {
        return Some((plain(None)?, None));
    };
    let alike = marks.iter().all(|c| *c == first);
    match marks.len() {
        1 if first == '.' => Some((plain(Some('.'))?, None)),
        1 if first == ',' => {
            let whole = shown.split(',').next().unwrap_or_default();
            let both = threes() && !whole.starts_with('0') && whole.len() <= 3;
            let joined = if both { plain(None) } else { None };
            Some((plain(Some(','))?, joined))
        }
        // thousands: one mark again and again, or apostrophes
        _ if alike && threes() => Some((plain(None)?, None)),
        // thousands, then the decimal
        _ if last != first && (last == '.' || last == ',') => {
            let head = marks.len() - 1;
            let all = marks.iter().take(head).all(|c| *c == first);
            all.then(|| plain(Some(last)))?.map(|value| (value, None))
        }
        _ => None,
    }
}
