//! Cells of a table as spreadsheets write it, with their places.
//!
//! RFC 4180 with what is found beside it: a byte order mark, semicolons or tabs in place of commas,
//! a first line `sep=;`, and UTF-16 or Latin-1 in place of UTF-8. Checked by
//! `property_cells_are_those_of_another_reader`. What lists of such cells have in common is in `list`.

mod list;

pub use list::{Form, Head, Names, Rows, position, whole, with_unit};

use std::ops::Range;

/// One cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// Its text without quotation marks.
    pub text: String,
    /// Where the text stands; in a quoted cell, between the marks.
    pub span: Range<usize>,
}

/// The text of a file: UTF-8, UTF-16 with its mark, else Latin-1.
pub fn decoded(bytes: &[u8]) -> String {
    let units = |swap: bool| {
        let (pairs, _) = bytes.as_chunks::<2>();
        let units: Vec<u16> = pairs
            .iter()
            .skip(1)
            .map(|pair| {
                if swap {
                    u16::from_be_bytes(*pair)
                } else {
                    u16::from_le_bytes(*pair)
                }
            })
            .collect();
        String::from_utf16_lossy(&units)
    };
    match bytes {
        [0xff, 0xfe, ..] => units(false),
        [0xfe, 0xff, ..] => units(true),
        [0xef, 0xbb, 0xbf, rest @ ..] => String::from_utf8_lossy(rest).into_owned(),
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => text.to_owned(),
            // older programs write one byte a letter
            Err(_) => bytes.iter().map(|b| char::from(*b)).collect(),
        },
    }
}

/// What separates the cells: a tab or a semicolon if the first line has one, else a comma.
fn separator(line: &str) -> char {
    let mut quoted = false;
    let outside: String = line
        .chars()
        .filter(|c| {
            quoted ^= *c == '"';
            !quoted
        })
        .collect();
    ['\t', ';']
        .into_iter()
        .find(|c| outside.contains(*c))
        .unwrap_or(',')
}

/// Rows of cells; rows without any text are left out. `Err` is the place of a quotation mark that
/// is never closed.
pub fn rows(text: &str) -> Result<Vec<Vec<Cell>>, usize> {
    let (separator, mut at) = match text.lines().next() {
        Some(line) if line.len() == 5 && line.to_lowercase().starts_with("sep=") => (
            line.chars().last().unwrap_or(','),
            text.find('\n').map_or(text.len(), |end| end + 1),
        ),
        first => (separator(first.unwrap_or_default()), 0),
    };
    let mut all = Vec::new();
    let mut row = Vec::new();
    while at < text.len() {
        let (cell, end) = cell(text, at, separator)?;
        row.push(cell);
        let rest = text.get(end..).unwrap_or_default();
        let mut letters = rest.chars();
        match letters.next() {
            Some(c) if c == separator => {
                at = end + c.len_utf8();
                if at == text.len() {
                    row.push(Cell {
                        text: String::new(),
                        span: at..at,
                    });
                }
            }
            Some('\r') if letters.next() == Some('\n') => {
                at = end + 2;
                all.push(std::mem::take(&mut row));
            }
            Some(_) => {
                at = end + 1;
                all.push(std::mem::take(&mut row));
            }
            None => at = end,
        }
    }
    if !row.is_empty() {
        all.push(row);
    }
    all.retain(|row| row.iter().any(|cell| !cell.text.trim().is_empty()));
    Ok(all)
}

/// One cell from a place on, and where it ends.
fn cell(text: &str, from: usize, separator: char) -> Result<(Cell, usize), usize> {
    let rest = text.get(from..).unwrap_or_default();
    let ends = |c: char| c == separator || c == '\n' || c == '\r';
    let Some(inner) = rest.strip_prefix('"') else {
        let end = from + rest.find(ends).unwrap_or(rest.len());
        let cell = Cell {
            text: text.get(from..end).unwrap_or_default().to_owned(),
            span: from..end,
        };
        return Ok((cell, end));
    };
    let mut found = String::new();
    let mut letters = inner.char_indices().peekable();
    while let Some((i, c)) = letters.next() {
        if c != '"' {
            found.push(c);
        } else if letters.next_if(|(_, next)| *next == '"').is_some() {
            found.push('"');
        } else {
            let close = from + 1 + i;
            let after = text.get(close + 1..).unwrap_or_default();
            let end = close + 1 + after.find(ends).unwrap_or(after.len());
            found.push_str(text.get(close + 1..end).unwrap_or_default());
            let cell = Cell {
                text: found,
                span: from + 1..close,
            };
            return Ok((cell, end));
        }
    }
    Err(from)
}

/// The place of what a cell says, if it says something.
pub fn written(cell: &Cell) -> Option<Range<usize>> {
    let text = cell.text.trim();
    if text.is_empty() || text.eq_ignore_ascii_case("unknown") || text == "?" || text == "-" {
        return None;
    }
    let lead = cell.text.len() - cell.text.trim_start().len();
    let start = (cell.span.start + lead).min(cell.span.end);
    Some(start..(start + text.len()).min(cell.span.end))
}

/// A number as spreadsheets write it, with a decimal point.
pub fn pointed(text: &str) -> String {
    let bytes = text.as_bytes();
    let digit = |i: usize| bytes.get(i).is_some_and(u8::is_ascii_digit);
    text.char_indices()
        .map(|(i, c)| {
            let inside = c == ',' && i > 0 && digit(i - 1) && digit(i + 1);
            if inside { '.' } else { c }
        })
        .collect()
}
