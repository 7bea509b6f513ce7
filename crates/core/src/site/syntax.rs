//! Parsing the file's text: what TOML itself refuses, in words for somebody who never saw TOML.

use super::fault::{Fault, FaultSource, Place};
use super::tree::{Table, TreeBuilder};
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// Looking up the first definition of a name costs a parse; after so many nobody reads on.
const LOOKED_UP: usize = 16;

/// The tree of a text, as far as it can be read, and what TOML refuses in it.
pub(crate) fn parse(text: &str, source: &FaultSource) -> (Table, Vec<Fault>) {
    let (table, errors) = DeTable::parse_recoverable(text);
    let mut faults = Vec::new();
    let mut broken = Vec::new();
    let mut looked_up = 0;
    for error in &errors {
        let span = on_letters(text, error.span().unwrap_or(0..0));
        if error.message().starts_with("duplicate key") {
            let first = (looked_up < LOOKED_UP)
                .then(|| first_definition(text, &span))
                .flatten();
            looked_up += 1;
            faults.push(duplicate(text, span, first));
        } else {
            faults.push(refused(text, &span, error.message()));
            broken.push(span);
        }
    }
    // one slip of the pen makes the parser stumble several times in the line
    faults.sort_by_key(|f| f.span.start);
    faults.dedup_by(|next, kept| line(text, next.span.start) == line(text, kept.span.start));
    let builder = TreeBuilder {
        text,
        source: source.clone(),
        shift: 0,
        broken: &broken,
    };
    for fault in &mut faults {
        fault.source.clone_from(source);
        if let Some(also) = &mut fault.also {
            also.place.source.clone_from(source);
        }
    }
    (builder.table(table.get_ref()), faults)
}

/// The bytes of the line that a byte lies in, without its end.
pub(super) fn line(text: &str, at: usize) -> Range<usize> {
    let at = at.min(text.len());
    let bytes = text.as_bytes();
    let before = bytes.get(..at).unwrap_or_default();
    let after = bytes.get(at..).unwrap_or_default();
    let start = before
        .iter()
        .rposition(|&b| b == b'\n')
        .map_or(0, |i| i + 1);
    let end = after
        .iter()
        .position(|&b| b == b'\n')
        .map_or(text.len(), |i| at + i);
    let end = if end > start && bytes.get(end - 1) == Some(&b'\r') {
        end - 1
    } else {
        end
    };
    start..end.max(start)
}

/// The same span, widened to whole letters and kept inside the text.
pub(super) fn on_letters(text: &str, span: Range<usize>) -> Range<usize> {
    let mut start = span.start.min(text.len());
    let mut end = span.end.clamp(start, text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

fn duplicate(text: &str, span: Range<usize>, first: Option<Range<usize>>) -> Fault {
    let name = text.get(span.clone()).unwrap_or_default().to_owned();
    let fault = Fault::new(
        Place::file(span),
        format!("'{name}' is defined twice"),
        "defined again here",
        "remove one of the two, or give it another name",
    );
    match first {
        Some(first) => fault.also(Place::file(first), "defined before, here"),
        None => fault,
    }
}

/// Where a name was defined before: with the second one under a name of its own, both survive
/// the parse and lie in the same table.
fn first_definition(text: &str, second: &Range<usize>) -> Option<Range<usize>> {
    let name = text.get(second.clone())?;
    let stand_in = free_name(text)?;
    // what stands below would come between the two
    let end = line(text, second.end).end.max(second.end);
    let changed = format!(
        "{}{stand_in}{}",
        text.get(..second.start)?,
        text.get(second.end..end)?
    );
    let (table, _) = DeTable::parse_recoverable(&changed);
    let wanted = name.trim_matches(['"', '\'']);
    find_sibling(table.get_ref(), &stand_in, wanted).filter(|span| span.end <= second.start)
}

/// A name that the text does not contain; a text that has all of these tries to.
fn free_name(text: &str) -> Option<String> {
    (0..16)
        .map(|i| format!("stand-in-{i}"))
        .find(|name| !text.contains(name))
}

fn find_sibling(table: &DeTable<'_>, beside: &str, wanted: &str) -> Option<Range<usize>> {
    if table.get(beside).is_some() {
        return table
            .get_key_value(wanted)
            .map(|(key, _)| key.span())
            .filter(|span| !span.is_empty());
    }
    table.iter().find_map(|(_, value)| match value.get_ref() {
        DeValue::Table(inner) => find_sibling(inner, beside, wanted),
        DeValue::Array(items) => items.iter().find_map(|item| match item.get_ref() {
            DeValue::Table(inner) => find_sibling(inner, beside, wanted),
            _ => None,
        }),
        _ => None,
    })
}

/// The whole name that some letters belong to.
fn name_around(text: &str, span: &Range<usize>) -> Range<usize> {
    let row = line(text, span.start);
    let ends =
        |c: char| c.is_whitespace() || matches!(c, '.' | '=' | '[' | ']' | '{' | '}' | ',' | '"');
    let before = text.get(row.start..span.start).unwrap_or_default();
    let after = text
        .get(span.end..row.end.max(span.end))
        .unwrap_or_default();
    let start = before.rfind(ends).map_or(row.start, |at| {
        row.start
            + at
            + before
                .get(at..)
                .and_then(|t| t.chars().next())
                .map_or(1, char::len_utf8)
    });
    let end = span.end + after.find(ends).unwrap_or(after.len());
    start..end
}

fn refused(text: &str, span: &Range<usize>, message: &str) -> Fault {
    let row = line(text, span.start);
    let written = text.get(span.clone()).unwrap_or_default();
    let place = || Place::file(span.clone());
    if text
        .get(span.start..span.end.max(span.start))
        .is_some_and(|t| t.contains('\0'))
        || text.as_bytes().get(span.start) == Some(&0)
    {
        return Fault::new(
            place(),
            "the file contains a zero byte",
            "no text has this byte",
            "remove it, or check that this is a site file",
        );
    }
    let unquoted = message.starts_with("string values must be quoted")
        || (message.starts_with("invalid float") && !written.is_empty());
    if unquoted && written.is_empty() {
        return Fault::new(
            Place::file(row),
            "a value is missing",
            "nothing stands behind the '='",
            "write a value in quotes, for example length = \"30 m\", or remove the line",
        );
    }
    if unquoted && !written.contains(['"', '\'', '\n', '=']) {
        return Fault::new(
            place(),
            "a value is not in quotes",
            format!("'{written}' is text"),
            format!("write \"{written}\""),
        )
        .fixed(span.clone(), format!("\"{written}\""));
    }
    if message.starts_with("invalid unquoted key") && written.starts_with(':') {
        return Fault::new(
            place(),
            "a ':' stands where '=' belongs",
            "this sign joins nothing here",
            "write a field as key = \"value\"",
        )
        .fixed(span.start..span.start + 1, " =");
    }
    if message.starts_with("invalid unquoted key") && !written.is_empty() {
        let name = name_around(text, span);
        let written = text.get(name.clone()).unwrap_or_default();
        return Fault::new(
            Place::file(name.clone()),
            "a name is not in quotes",
            "a name with letters beyond a to z needs quotes",
            format!("write \"{written}\""),
        )
        .fixed(name, format!("\"{written}\""));
    }
    let (title, help) = if message.starts_with("invalid basic string")
        || message.starts_with("invalid literal string")
        || message.starts_with("invalid multi-line")
    {
        (
            "a quote is not closed",
            "close the text with the quote that it began with",
        )
    } else if message.starts_with("unclosed table") {
        (
            "a header is not closed",
            "write the header in square brackets: [nas.store]",
        )
    } else if message.starts_with("unclosed array")
        || message.contains("inline table")
        || message.contains("key-value pairs")
    {
        ("a bracket is not closed", "close it with '}' or ']'")
    } else if message.starts_with("missing comma") {
        ("a comma is missing", "write a comma between the fields")
    } else if message.starts_with("key with no value") {
        (
            "a line has no '='",
            "write a field as key = \"value\", or begin a comment with #",
        )
    } else if message.starts_with("unexpected key or value") {
        (
            "something stands behind a value",
            "end the line behind the value, or begin a comment with #",
        )
    } else if message.starts_with("unquoted keys cannot be empty") {
        ("a line has no name", "write a field as key = \"value\"")
    } else {
        (
            "this is not written as TOML",
            "write a field as key = \"value\", a header as [nas.store]",
        )
    };
    Fault::new(place(), title, message, help)
}
