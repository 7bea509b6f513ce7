//! A list of readings and remarks from a spreadsheet.

use super::dated::{Moment, by_date};
use super::faulty::{Faulty, meant};
use super::joined::Sentence;
use super::listener::{Listener, Statement};
use super::phrases::{Says, phrase};
use crate::explain::{Exactness, What};
use crate::sheet::{Cell, Form, Names, decoded, whole, written};
use crate::site::{FaultSource, Faults};
use std::ops::Range;

/// What a list says.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingList {
    /// In the order of the rows.
    pub statements: Vec<Statement>,
    /// Heads of columns that say nothing of a reading.
    pub unused: Vec<String>,
}

const FORM: Form = Form {
    list: "list of readings",
    rows: "readings",
    row: "write one reading or remark a row below",
    heads: "desk;what;direction;value;unit",
    // nobody measures more by hand
    most: 1000,
    has_comments: false,
};

macro_rules! columns {
    ($($column:ident: $($name:literal),+;)+) => {
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        enum Column { $($column),+ }

        /// Names of the columns, the usual one first.
        const NAMES: &Names<Column> = &[$((Column::$column, &[$($name),+])),+];
    };
}
columns! {
    Desk: "desk", "computer", "machine";
    What: "what", "measured", "kind";
    Direction: "direction", "way";
    Value: "value", "number", "reading", "rate", "speed";
    Low: "low", "from", "lowest";
    High: "high", "to", "highest";
    Unit: "unit";
    Exactness: "exactness", "how exact";
    Size: "size", "file size";
    Streams: "streams";
    Again: "again", "second time";
    Remark: "remark", "noticed";
    Date: "date", "when";
}

const EXACTNESS: &[(&str, Exactness)] = &[
    ("point", Exactness::Point),
    ("exact", Exactness::Point),
    ("about", Exactness::About),
    ("range", Exactness::Range),
    ("peak", Exactness::Peak),
    ("at most", Exactness::AtMost),
    ("at least", Exactness::AtLeast),
    ("stalled", Exactness::Stalled),
];

/// Cells of one row by column.
struct Row<'c> {
    cells: Vec<(Column, &'c Cell, Range<usize>)>,
    whole: Range<usize>,
}

impl Row<'_> {
    fn of(&self, column: Column) -> Option<(&str, Range<usize>)> {
        let (_, cell, span) = self.cells.iter().find(|(known, ..)| *known == column)?;
        Some((cell.text.trim(), span.clone()))
    }
}

impl Listener {
    /// Reads a list of readings, and the text that faults point into.
    ///
    /// The first row names the columns, in any order: desk, what, direction, value, low, high, unit,
    /// exactness, size, streams, again, remark, date. Any may be missing; a row needs a value, or low and
    /// high, or a remark. A value may hold its unit. Numbers may have a decimal comma. Of the same thing measured on two
    /// dates the later one is the reading, and the earlier one what it was before.
    ///
    /// # Errors
    /// With every cell that cannot be read.
    pub fn list(&self, bytes: &[u8]) -> (String, Result<ReadingList, Faults>) {
        let text = decoded(bytes);
        let mut faulty = Faulty::new(&text, FaultSource::File);
        let list = self.rows(&mut faulty);
        let found = if faulty.any() {
            Err(faulty.done())
        } else {
            Ok(list)
        };
        (text, found)
    }

    fn rows(&self, faulty: &mut Faulty<'_>) -> ReadingList {
        let mut list = ReadingList {
            statements: Vec::new(),
            unused: Vec::new(),
        };
        let rows = match FORM.open(faulty.text) {
            Ok(rows) => rows,
            Err(faults) => {
                faulty.extend(faults.iter().cloned());
                return list;
            }
        };
        let (head, body) = &rows;
        let columns = heads(head, &mut list.unused, faulty);
        if !faulty.any() {
            faulty.extend(FORM.length(&rows));
        }
        if faulty.any() {
            return list;
        }
        let mut said = Vec::new();
        for cells in body {
            let row = Row {
                cells: cells
                    .iter()
                    .zip(&columns)
                    .filter_map(|(cell, column)| Some(((*column)?, cell, written(cell)?)))
                    .collect(),
                whole: whole(cells),
            };
            self.row(&row, &mut said, faulty);
        }
        list.statements = by_date(said);
        list
    }

    /// What one row says.
    fn row(
        &self,
        row: &Row<'_>,
        statements: &mut Vec<(Option<Moment>, Statement)>,
        faulty: &mut Faulty<'_>,
    ) {
        let before = faulty.count();
        let moment = moment(row, faulty);
        let desk = self.desk(row, faulty);
        let mut found = Vec::new();
        let value = [Column::Value, Column::Low, Column::High]
            .iter()
            .any(|column| row.of(*column).is_some());
        let stalled = row
            .of(Column::Exactness)
            .is_some_and(|(text, _)| text.eq_ignore_ascii_case("stalled"));
        let numbers = numbers(row, faulty);
        if (value && numbers) || stalled {
            found.extend(self.reading(row, faulty));
        }
        if let Some((text, span)) = row.of(Column::Remark) {
            let mut sentence = Sentence::default();
            sentence.add(text, span);
            found.extend(self.said(&sentence, &row.whole, faulty));
        } else if !value && !stalled {
            faulty.add(
                row.whole.clone(),
                "a row that says nothing",
                "neither a value nor a remark stands here",
                "write a value, or low and high, or a remark; or leave the row out",
            );
        }
        if faulty.count() > before {
            return;
        }
        for mut one in found {
            match &mut one {
                Statement::Reading(reading) => {
                    reading.desk = desk.clone().or(reading.desk.take());
                    reading.text = reading.shown();
                }
                Statement::Remark(remark) => remark.desk = desk.clone().or(remark.desk.take()),
            }
            statements.push((moment.clone(), one));
        }
    }

    fn said(
        &self,
        sentence: &Sentence,
        whole: &Range<usize>,
        faulty: &mut Faulty<'_>,
    ) -> Vec<Statement> {
        let mut inner = Faulty::new(&sentence.text, FaultSource::File);
        let found = self.listen(&mut inner);
        let file = faulty.text;
        faulty.take(inner, |span| sentence.place(span, whole, file));
        found
    }

    fn is_machine(&self, text: &str) -> bool {
        self.machines
            .iter()
            .any(|name| name.eq_ignore_ascii_case(text))
    }

    fn desk(&self, row: &Row<'_>, faulty: &mut Faulty<'_>) -> Option<String> {
        let (text, span) = row.of(Column::Desk)?;
        let Some(names) = &self.names else {
            return Some(text.to_owned());
        };
        let found = names.iter().find(|name| name.eq_ignore_ascii_case(text));
        if found.is_none() && !self.is_machine(text) {
            let did = meant(text, names.iter().map(String::as_str));
            faulty.add(
                span,
                "a desk that is not there",
                format!("the site has no '{text}'{did}"),
                format!("write one of {}, or leave the cell empty", names.join(", ")),
            );
        }
        found.cloned()
    }

    fn reading(&self, row: &Row<'_>, faulty: &mut Faulty<'_>) -> Vec<Statement> {
        let mut sentence = Sentence::default();
        // what a machine other than a desk may tell is known to the sentence
        if let Some((text, span)) = row.of(Column::Desk)
            && self.is_machine(text)
        {
            sentence.add(text, span);
        }
        if let Some((text, span)) = row.of(Column::What) {
            let lower = text.to_lowercase();
            let plain = lower.strip_prefix("random ");
            match kind(plain.unwrap_or(&lower)) {
                Some(what) => {
                    sentence.add(what.word(), span.clone());
                    if plain.is_some() {
                        sentence.add("random", span);
                    }
                }
                None => not_of(
                    span,
                    "what was measured",
                    text,
                    &What::ALL.map(What::word),
                    faulty,
                ),
            }
        }
        if let Some((text, span)) = row.of(Column::Direction) {
            let lower = text.to_lowercase();
            match phrase(&lower.split_whitespace()) {
                Some((Says::Way(way), _)) => sentence.add(way.word(), span),
                Some((Says::BothWays, _)) => sentence.add("both ways", span),
                _ if lower == "both" => sentence.add("both ways", span),
                _ => not_of(
                    span,
                    "a direction",
                    text,
                    &["read", "write", "both"],
                    faulty,
                ),
            }
        }
        let told = row.of(Column::Exactness).and_then(|(text, span)| {
            let lower = text.to_lowercase().replace('-', " ");
            let found = EXACTNESS.iter().find(|(word, _)| *word == lower);
            if found.is_none() {
                let words: Vec<&str> = EXACTNESS.iter().map(|(word, _)| *word).collect();
                not_of(span.clone(), "how exact it is", text, &words, faulty);
            }
            found.map(|(word, exactness)| (*word, *exactness, span))
        });
        if let Some((word, exactness, span)) = told
            && !matches!(exactness, Exactness::Point | Exactness::Range)
        {
            sentence.add(word, span);
        }
        if !value(row, &mut sentence, faulty) {
            return Vec::new();
        }
        if let Some((text, span)) = row.of(Column::Size) {
            sentence.add("of", span.clone());
            sentence.add(text, span);
        }
        if let Some((text, span)) = row.of(Column::Streams) {
            sentence.add(text, span.clone());
            if text.bytes().all(|b| b.is_ascii_digit()) {
                sentence.add("streams", span);
            }
        }
        if let Some((text, span)) = row.of(Column::Again) {
            match text.to_lowercase().as_str() {
                "yes" | "true" | "again" | "1" => sentence.add("again", span),
                "no" | "false" | "0" => {}
                _ => not_of(span, "whether it was again", text, &["yes", "no"], faulty),
            }
        }
        self.said(&sentence, &row.whole, faulty)
    }
}

/// When a row was measured.
fn moment(row: &Row<'_>, faulty: &mut Faulty<'_>) -> Option<Moment> {
    let (text, span) = row.of(Column::Date)?;
    let found = Moment::read(text);
    if found.is_none() {
        faulty.add(
            span,
            "a date that is none",
            format!("'{text}' is no day as ISO 8601 writes it"),
            "write year, month and day, for example 2026-11-25, with a time behind it or without",
        );
    }
    found
}

/// Whether every cell for a number has a digit; those that have none are faults.
fn numbers(row: &Row<'_>, faulty: &mut Faulty<'_>) -> bool {
    let before = faulty.count();
    for column in [Column::Value, Column::Low, Column::High] {
        if let Some((text, span)) = row.of(column)
            && !text.bytes().any(|b| b.is_ascii_digit())
        {
            faulty.add(
                span,
                "a cell without its number",
                format!("'{text}' is no number"),
                "write the number that was read off, for example 112 or 11,4",
            );
        }
    }
    faulty.count() == before
}

/// The number and its unit, or the two ends of a range; whether there is something to read.
fn value(row: &Row<'_>, sentence: &mut Sentence, faulty: &mut Faulty<'_>) -> bool {
    let ends = (row.of(Column::Low), row.of(Column::High));
    match (row.of(Column::Value), ends) {
        // a middle beside its range says nothing more
        (_, (Some((low, span)), Some((high, end)))) => {
            sentence.add(low, span);
            sentence.add("..", end.clone());
            sentence.add(high, end);
        }
        (Some((text, span)), _) => sentence.add(text, span),
        (None, (Some((_, span)), None) | (None, Some((_, span)))) => {
            faulty.add(
                span,
                "a range with one end",
                "the other end is empty",
                "write low and high, or the number as value",
            );
            return false;
        }
        (None, (None, None)) => return true,
    }
    if let Some((text, span)) = row.of(Column::Unit) {
        sentence.add(text, span);
    }
    true
}

/// The kind of reading that a cell names.
fn kind(text: &str) -> Option<What> {
    let lower = text.to_lowercase();
    let words = lower.split_whitespace().count();
    match phrase(&lower.split_whitespace()) {
        Some((Says::What(what), length)) if length == words => Some(what),
        _ => None,
    }
}

fn not_of(span: Range<usize>, what: &str, text: &str, words: &[&str], faulty: &mut Faulty<'_>) {
    let did = meant(text, words.iter().copied());
    faulty.add(
        span,
        "a word that is not known here",
        format!("'{text}' does not say {what}{did}"),
        format!("write one of {}, or leave the cell empty", words.join(", ")),
    );
}

/// What each column is.
fn heads(cells: &[Cell], unused: &mut Vec<String>, faulty: &mut Faulty<'_>) -> Vec<Option<Column>> {
    let (columns, unknown, faults) = FORM.heads(cells, NAMES, |_, _| None::<()>);
    unused.extend(unknown);
    faulty.extend(faults);
    let columns: Vec<Option<Column>> = columns
        .into_iter()
        .map(|head| head.map(|(column, _)| column))
        .collect();
    let says = |column: &Option<Column>| {
        matches!(
            column,
            Some(Column::Value | Column::Low | Column::Remark | Column::Exactness)
        )
    };
    if !columns.iter().any(says) && !faulty.any() {
        faulty.extend([FORM.lacks(cells, "no column is a value or a remark")]);
    }
    columns
}
