//! Lists that a person keeps, a thing a row: heads in the first one, in any order and case.

use super::{Cell, pointed, rows, written};
use crate::nearest::nearest;
use crate::site::{Fault, Faults, Place};
use std::ops::Range;

/// What a list is of, for its faults.
#[derive(Clone, Copy, Debug)]
pub struct Form {
    /// What it is if it is right: `list of jacks`.
    pub list: &'static str,
    /// What its rows are: `jacks`.
    pub rows: &'static str,
    /// What to write under the heads: `write one row a jack below`.
    pub row: &'static str,
    /// Heads for example.
    pub heads: &'static str,
    /// A longer list is a mistake.
    pub most: usize,
    /// Whether rows that begin with `#` are left out.
    pub has_comments: bool,
}

/// Names of columns, the usual one first.
pub type Names<C> = [(C, &'static [&'static str])];

/// A column, and the unit of its bare numbers where the head has one.
pub type Head<C, U> = Option<(C, Option<U>)>;

/// The first row and the others.
pub type Rows = (Vec<Cell>, Vec<Vec<Cell>>);

impl Form {
    /// The rows of a list.
    ///
    /// # Errors
    /// Where a quotation mark is never closed, or where nothing is written.
    pub fn open(&self, text: &str) -> Result<Rows, Faults> {
        let mut rows = rows(text).map_err(|at| {
            let help = "close it, or write two marks for one inside a cell";
            let found = "this mark is never closed";
            fault(at..at + 1, "a cell without end", found, help)
        })?;
        if self.has_comments {
            rows.retain(|row| {
                let first = row.first().map_or("", |cell| cell.text.trim_start());
                !first.starts_with('#')
            });
        }
        let mut rows = rows.into_iter();
        let Some(head) = rows.next() else {
            let help = format!("write a row of heads, for example: {}", self.heads);
            let found = "nothing is written here";
            return Err(fault(0..text.len(), &self.none(), found, help).into());
        };
        Ok((head, rows.collect()))
    }

    /// What is wrong with how many rows there are.
    pub fn length(&self, (head, body): &Rows) -> Option<Fault> {
        let start = |row: &[Cell]| row.first().map_or(0..0, |cell| cell.span.clone());
        if body.is_empty() {
            let title = format!("no {}", self.rows);
            let found = "only heads stand here";
            return Some(fault(start(head), &title, found, self.row));
        }
        let row = body.get(self.most)?;
        let title = format!("too many {}", self.rows);
        let found = format!("{} rows", body.len());
        let help = format!("leave at most {} rows", self.most);
        Some(fault(start(row), &title, found, help))
    }

    /// What each column is, heads that are not known, and what is wrong with them. `unit` says what a word
    /// behind the name of a column means, if it is a unit of that column.
    pub fn heads<C: Copy + PartialEq, U>(
        &self,
        cells: &[Cell],
        names: &Names<C>,
        unit: impl Fn(C, &str) -> Option<U>,
    ) -> (Vec<Head<C, U>>, Vec<String>, Vec<Fault>) {
        let mut columns: Vec<Head<C, U>> = Vec::new();
        let (mut unknown, mut faults) = (Vec::new(), Vec::new());
        for cell in cells {
            let found = written(cell).and_then(|span| {
                let found = head(&cell.text, names, &unit);
                let Some((column, _)) = found else {
                    match nearly(cell, span, names) {
                        Some(near) => faults.push(near),
                        None => unknown.push(cell.text.trim().to_owned()),
                    }
                    return None;
                };
                if columns.iter().flatten().any(|(c, _)| *c == column) {
                    let found = "a column that means the same stands before it";
                    let help = "remove one of the two";
                    faults.push(fault(span, "a column twice", found, help));
                    return None;
                }
                found
            });
            columns.push(found);
        }
        (columns, unknown, faults)
    }

    /// That columns are missing without which it is no such list.
    pub fn lacks(&self, cells: &[Cell], found: impl Into<String>) -> Fault {
        let help = format!(
            "name the columns in the first row, for example: {}",
            self.heads
        );
        fault(whole(cells), &self.none(), found, help)
    }

    fn none(&self) -> String {
        format!("no {}", self.list)
    }
}

/// Where a column stands.
pub fn position<C: PartialEq, U>(columns: &[Head<C, U>], wanted: &C) -> Option<usize> {
    let is = |head: &Head<C, U>| head.as_ref().is_some_and(|(column, _)| column == wanted);
    columns.iter().position(is)
}

/// The place of a row.
pub fn whole(cells: &[Cell]) -> Range<usize> {
    match (cells.first(), cells.last()) {
        (Some(first), Some(last)) => first.span.start..last.span.end,
        _ => 0..0,
    }
}

/// A number with a decimal point, and the unit of its column where it has none.
pub fn with_unit(text: &str, unit: Option<&str>) -> String {
    let text = pointed(text);
    match unit {
        Some(unit) if text.parse::<f64>().is_ok() => format!("{text} {unit}"),
        _ => text,
    }
}

fn fault(
    span: Range<usize>,
    title: &str,
    found: impl Into<String>,
    help: impl Into<String>,
) -> Fault {
    Fault::new(Place::file(span), title, found, help)
}

/// A head that is a slip of one that is known.
fn nearly<C>(cell: &Cell, span: Range<usize>, names: &Names<C>) -> Option<Fault> {
    let all = names.iter().flat_map(|(_, names)| names.iter().copied());
    let near = nearest(&plain(&cell.text), all)?;
    let found = format!(
        "'{}' is not known; did you mean '{near}'?",
        cell.text.trim()
    );
    let help = format!("write '{near}', or another word if it says something else");
    Some(fault(span, "a column that is nearly known", found, help))
}

/// The words of a head, without strokes and the brackets around a unit.
fn plain(text: &str) -> String {
    let kept = |c: char| c.is_alphanumeric() || c == '\u{b0}';
    let words: String = text
        .to_lowercase()
        .chars()
        .map(|c| if kept(c) { c } else { ' ' })
        .collect();
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A column and the unit behind its name: `length m`, `Length (m)`, `size in TB`, `held to [MB/s]`.
fn head<C: Copy, U>(
    text: &str,
    names: &Names<C>,
    unit: &impl Fn(C, &str) -> Option<U>,
) -> Head<C, U> {
    let of = |name: &str| {
        let found = names.iter().find(|(_, names)| names.contains(&name));
        found.map(|(column, _)| *column)
    };
    let all = plain(text);
    if let Some(column) = of(&all) {
        return Some((column, None));
    }
    // the case of a unit tells bits from bytes
    let bracketed = text.trim().trim_end_matches([')', ']']);
    let written = bracketed
        .rsplit_once([' ', '(', '['])
        .map(|(name, unit)| (plain(name), unit.to_owned()));
    let stroked = all
        .rsplit_once(' ')
        .map(|(name, unit)| (name.to_owned(), unit.to_owned()));
    [written, stroked]
        .into_iter()
        .flatten()
        .find_map(|(name, behind)| {
            let column = of(name.strip_suffix(" in").unwrap_or(&name))?;
            Some((column, Some(unit(column, &behind)?)))
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Clone, Copy, Debug, PartialEq)]
    enum Column {
        Name,
        Length,
    }

    const NAMES: &Names<Column> = &[
        (Column::Name, &["name", "jack label"]),
        (Column::Length, &["length"]),
    ];

    const FORM: Form = Form {
        list: "list of cords",
        rows: "cords",
        row: "write one row a cord below",
        heads: "name;length m",
        most: 2,
        has_comments: true,
    };

    fn metres(column: Column, unit: &str) -> Option<String> {
        let fits = column == Column::Length && unit.eq_ignore_ascii_case("m");
        fits.then(|| unit.to_owned())
    }

    fn titles(text: &str) -> Vec<String> {
        let rows = match FORM.open(text) {
            Ok(rows) => rows,
            Err(faults) => return faults.iter().map(|f| f.title.clone()).collect(),
        };
        let (_, _, faults) = FORM.heads(&rows.0, NAMES, metres);
        let length = FORM.length(&rows);
        faults.into_iter().chain(length).map(|f| f.title).collect()
    }

    #[test]
    fn heads_are_known_in_any_order_and_case_and_with_a_unit() {
        for head in [
            "length m",
            "Length (m)",
            "LENGTH [M]",
            "length_m",
            "length in m",
            "length-m",
        ] {
            let text = format!("colour;{head};Jack-Label\nred;3;a\n");
            let (cells, _) = FORM.open(&text).unwrap();
            let (columns, unknown, faults) = FORM.heads(&cells, NAMES, metres);
            assert!(faults.is_empty(), "{head}");
            assert_eq!(unknown, ["colour"], "{head}");
            let found: Vec<_> = columns.iter().map(|c| c.as_ref().map(|c| c.0)).collect();
            assert_eq!(
                found,
                [None, Some(Column::Length), Some(Column::Name)],
                "{head}"
            );
            let unit = columns[1].as_ref().and_then(|c| c.1.clone()).unwrap();
            assert_eq!(unit.to_lowercase(), "m", "{head}");
        }
        assert_eq!(with_unit("3,5", Some("m")), "3.5 m");
        assert_eq!(with_unit("3,5 ft", Some("m")), "3.5 ft");
    }

    #[test]
    fn every_fault_of_a_list_is_told() {
        for (text, expected) in [
            ("", "no list of cords"),
            ("# nothing\n", "no list of cords"),
            ("name\n\"a", "a cell without end"),
            ("name\n", "no cords"),
            ("name\na\nb\nc\n", "too many cords"),
            ("name;jack label\na;b\n", "a column twice"),
            ("name;lenght\na;1 m\n", "a column that is nearly known"),
        ] {
            assert_eq!(titles(text), [expected], "{text:?}");
        }
        assert!(titles("# kept\nname\n# a cord that is gone\na\nb\n").is_empty());
        let (head, _) = FORM.open("colour;way\n").unwrap();
        let fault = FORM.lacks(&head, "no column is a name");
        assert_eq!(
            (fault.title.as_str(), fault.span),
            ("no list of cords", 0..10)
        );
    }
}
