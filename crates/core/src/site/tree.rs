//! A description as a tree of named values, each with its place: what the TOML file says and
//! what the edits change in it look the same from here on.

use super::fault::{FaultSource, Place};
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// A value and where it is written.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub(crate) place: Place,
    pub(crate) value: Value,
}

/// What is written there.
#[derive(Clone, Debug)]
pub(crate) enum Value {
    /// Text; where its letters stand one for one in the source, the offset of the first.
    Text { text: String, first: Option<usize> },
    /// A whole number, in decimal where it is in range.
    Whole(String),
    /// A number with a point, as written.
    Decimal(String),
    /// `true` or `false`.
    Truth(bool),
    /// A date or a time.
    Date,
    /// A list; the number of each item is its place in the file, from 1.
    List(Vec<(usize, Node)>),
    /// Named values.
    Table(Table),
    /// Could not be read; the fault is reported already.
    Lost,
}

/// Named values in the order in which they are written.
#[derive(Clone, Debug, Default)]
pub(crate) struct Table {
    pub(crate) entries: Vec<Entry>,
}

/// One named value.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub(crate) key: String,
    pub(crate) place: Place,
    pub(crate) node: Node,
}

impl Table {
    pub(crate) fn get(&self, key: &str) -> Option<&Entry> {
        self.entries.iter().find(|e| e.key == key)
    }
}

impl Value {
    /// In words, for messages.
    pub(crate) fn noun(&self) -> &'static str {
        match self {
            Self::Text { .. } => "text",
            Self::Whole(_) | Self::Decimal(_) => "a bare number",
            Self::Truth(_) => "true or false",
            Self::Date => "a date",
            Self::List(_) => "a list",
            Self::Table(_) => "a part with fields of its own",
            Self::Lost => "something unreadable",
        }
    }
}

/// Turns parsed TOML into a tree.
pub(crate) struct TreeBuilder<'a> {
    /// The text that the spans point into.
    pub(crate) text: &'a str,
    /// Which text it is.
    pub(crate) source: FaultSource,
    /// How far the parsed piece lies behind the start of the text.
    pub(crate) shift: usize,
    /// Where the syntax is broken; values there are taken as bare text or given up.
    pub(crate) broken: &'a [Range<usize>],
}

impl TreeBuilder<'_> {
    fn place(&self, span: &Range<usize>) -> Place {
        Place {
            source: self.source.clone(),
            span: span.start + self.shift..span.end + self.shift,
        }
    }

    pub(crate) fn table(&self, table: &DeTable<'_>) -> Table {
        let mut entries: Vec<Entry> = table
            .iter()
            .map(|(key, value)| Entry {
                key: key.get_ref().to_string(),
                place: self.place(&key.span()),
                node: self.node(value.get_ref(), &value.span()),
            })
            .collect();
        entries.sort_by_key(|e| e.place.span.start);
        Table { entries }
    }

    pub(crate) fn node(&self, value: &DeValue<'_>, span: &Range<usize>) -> Node {
        let place = self.place(span);
        let written = self.text.get(place.span.clone()).unwrap_or_default();
        let scalar = !matches!(value, DeValue::Table(_) | DeValue::Array(_));
        let value = if scalar && self.is_broken(span) {
            bare(written, place.span.start)
        } else {
            match value {
                DeValue::String(text) => Value::Text {
                    text: text.to_string(),
                    first: first_letter(written, text, place.span.start),
                },
                DeValue::Integer(number) => Value::Whole(
                    i128::from_str_radix(number.as_str(), number.radix())
                        .map_or_else(|_| written.to_owned(), |n| n.to_string()),
                ),
                DeValue::Float(number) => Value::Decimal(number.as_str().to_owned()),
                DeValue::Boolean(truth) => Value::Truth(*truth),
                DeValue::Datetime(_) => Value::Date,
                DeValue::Array(items) => Value::List(
                    items
                        .iter()
                        .enumerate()
                        .map(|(i, item)| (i + 1, self.node(item.get_ref(), &item.span())))
                        .collect(),
                ),
                DeValue::Table(table) => Value::Table(self.table(table)),
            }
        };
        Node { place, value }
    }

    fn is_broken(&self, span: &Range<usize>) -> bool {
        // a value that was never there has an empty span
        span.is_empty()
            || self
                .broken
                .iter()
                .any(|b| b.start <= span.end && span.start <= b.end)
    }
}

/// Text that somebody forgot to put into quotes is as good as quoted; anything else is lost.
fn bare(written: &str, start: usize) -> Value {
    if written.is_empty() || written.starts_with(['"', '\'', '{', '[']) {
        Value::Lost
    } else {
        Value::Text {
            text: written.to_owned(),
            first: Some(start),
        }
    }
}

/// Where the letters of a text begin, if they stand in the source one for one.
fn first_letter(written: &str, text: &str, start: usize) -> Option<usize> {
    [3, 1].into_iter().find_map(|quotes| {
        let inner = written.get(quotes..written.len().checked_sub(quotes)?)?;
        (inner == text).then_some(start + quotes)
    })
}

#[cfg(test)]
mod tests {
    use super::first_letter;

    #[test]
    fn letters_are_found_behind_plain_quotes_only() {
        assert_eq!(first_letter("\"3 m\"", "3 m", 10), Some(11));
        assert_eq!(first_letter("'3 m'", "3 m", 10), Some(11));
        assert_eq!(first_letter("\"\"\"3 m\"\"\"", "3 m", 10), Some(13));
        assert_eq!(first_letter("\"3\\u0020m\"", "3 m", 10), None);
        assert_eq!(first_letter("", "", 10), None);
        assert_eq!(first_letter("\"", "", 10), None);
    }
}
