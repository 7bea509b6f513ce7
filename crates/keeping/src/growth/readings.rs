//! Readings of the fill from a spreadsheet: a date and a size a row.

use narrows_core::quantity::{Information, Measure, Time, parse};
use narrows_core::sheet::{Cell, Form, Names, decoded, position, whole, with_unit, written};
use narrows_core::site::{Fault, Faults, Place};
use std::ops::Range;

const FORM: Form = Form {
    list: "readings",
    rows: "readings",
    row: "write one row a reading below",
    heads: "date;size",
    // a longer list is no history of a fill
    most: 5000,
    has_comments: false,
};

#[derive(Clone, Copy, PartialEq)]
enum Column {
    Date,
    Size,
}

const NAMES: &Names<Column> = &[(Column::Date, &["date"]), (Column::Size, &["size"])];

/// Fewer readings say nothing of how growth scatters.
const FEWEST: usize = 3;

/// Reads a list of readings, oldest first, and the text that faults point into.
///
/// The first row names the columns `date` and `size`, in any order; others are left alone. A date is
/// `2026-03-01`. A size has its unit, or the unit stands behind the head (`size TB`).
///
/// # Errors
/// With every cell that cannot be read, and where fewer than three readings stand in rising order.
pub fn readings(bytes: &[u8]) -> (String, Result<Vec<(Time, Information)>, Faults>) {
    let text = decoded(bytes);
    let found = Reading {
        text: &text,
        faults: Vec::new(),
    }
    .list();
    (text, found)
}

struct Reading<'a> {
    text: &'a str,
    faults: Vec<Fault>,
}

impl Reading<'_> {
    fn fault(&mut self, span: Range<usize>, title: &str, found: impl Into<String>, help: &str) {
        let fault = Fault::new(Place::file(span), title, found, help);
        self.faults.push(fault);
    }

    fn list(mut self) -> Result<Vec<(Time, Information)>, Faults> {
        let rows = FORM.open(self.text)?;
        let (head, body) = &rows;
        let behind = |_: Column, unit: &str| Some(unit.to_owned());
        let (columns, _, faults) = FORM.heads(head, NAMES, behind);
        self.faults.extend(faults);
        let at = |column: Column| position(&columns, &column);
        let (Some(date_at), Some(size_at)) = (at(Column::Date), at(Column::Size)) else {
            if self.faults.is_empty() {
                let found = "no column is called 'date', or none 'size'";
                self.faults.push(FORM.lacks(head, found));
            }
            return Err(Faults::ordered(self.faults));
        };
        if let Some(fault) = FORM.length(&rows) {
            self.faults.push(fault);
            return Err(Faults::ordered(self.faults));
        }
        let unit = columns
            .get(size_at)
            .and_then(Option::as_ref)
            .and_then(|(_, unit)| unit.clone());
        let mut found: Vec<(Time, Information)> = Vec::new();
        for row in body {
            let date = self.date(row.get(date_at), row);
            let size = self.size(row.get(size_at), unit.as_deref(), row);
            let (Some((date, span)), Some(size)) = (date, size) else {
                continue;
            };
            if found.last().is_some_and(|(before, _)| date <= *before) {
                let help = "put the oldest reading first, each day once";
                self.fault(
                    span,
                    "a date out of order",
                    "it is not after the one above",
                    help,
                );
                continue;
            }
            found.push((date, size));
        }
        if found.len() < FEWEST && self.faults.is_empty() {
            let end = self.text.len();
            let what = match found.len() {
                1 => "1 reading".to_owned(),
                many => format!("{many} readings"),
            };
            let help = "write three or more: fewer do not say how growth scatters";
            self.fault(0..end, "too few readings", what, help);
        }
        if self.faults.is_empty() {
            Ok(found)
        } else {
            Err(Faults::ordered(self.faults))
        }
    }

    fn date(&mut self, cell: Option<&Cell>, row: &[Cell]) -> Option<(Time, Range<usize>)> {
        let Some(span) = cell.and_then(written) else {
            self.empty(row, "date");
            return None;
        };
        let text = self.text.get(span.clone()).unwrap_or_default();
        let Some(day) = day(text) else {
            let found = format!("'{text}' is no date");
            self.fault(
                span,
                "no date",
                found,
                "write year, month and day: 2026-03-01",
            );
            return None;
        };
        Some((Time::from_base(day * 86_400.0), span))
    }

    fn size(
        &mut self,
        cell: Option<&Cell>,
        unit: Option<&str>,
        row: &[Cell],
    ) -> Option<Information> {
        let Some(span) = cell.and_then(written) else {
            self.empty(row, "size");
            return None;
        };
        let text = self.text.get(span.clone()).unwrap_or_default();
        match parse::<Information>(&with_unit(text, unit)) {
            Ok(size) => Some(size),
            Err(fault) => {
                self.fault(span, "no size", fault.found, &fault.help);
                None
            }
        }
    }

    fn empty(&mut self, row: &[Cell], column: &str) {
        let found = format!("nothing stands under '{column}'");
        self.fault(
            whole(row),
            "half a reading",
            found,
            "write a date and a size, or remove the row",
        );
    }
}

/// Days in the months of a year that leaps.
const MONTHS: [u32; 12] = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// Days since the first of March of the year 0, of a date of the Gregorian calendar.
fn day(text: &str) -> Option<f64> {
    let mut parts = text.trim().split('-').map(str::parse::<u32>);
    let (year, month, day) = (
        parts.next()?.ok()?,
        parts.next()?.ok()?,
        parts.next()?.ok()?,
    );
    let longest = MONTHS.get(month.checked_sub(1)? as usize).copied()?;
    let leaps = year.is_multiple_of(4) && !year.is_multiple_of(100) || year.is_multiple_of(400);
    let longest = if month == 2 && !leaps { 28 } else { longest };
    if parts.next().is_some() || !(1900..=2200).contains(&year) || !(1..=longest).contains(&day) {
        return None;
    }
    // years that begin in March put the leap day at their end
    let (y, m) = if month > 2 {
        (year, month - 3)
    } else {
        (year - 1, month + 9)
    };
    let within = (153 * m + 2) / 5 + day - 1;
    Some(f64::from(365 * y + y / 4 - y / 100 + y / 400 + within))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_counted_in_days() {
        let days = |a: &str, b: &str| day(b).unwrap() - day(a).unwrap();
        assert!((days("2026-02-28", "2026-03-01") - 1.0).abs() < 1e-9);
        assert!((days("2024-02-28", "2024-03-01") - 2.0).abs() < 1e-9);
        assert!((days("2025-12-31", "2026-12-31") - 365.0).abs() < 1e-9);
        for wrong in [
            "2026-02-29",
            "2026-13-01",
            "26-01-01",
            "2026-1",
            "2026-01-00",
            "soon",
        ] {
            assert_eq!(day(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn a_list_is_read_and_its_faults_are_placed() {
        let good = "date;size TB\n2026-01-01;31,0\n2026-02-01;32,4\n2026-03-01;33.1 TB\n";
        let (_, found) = readings(good.as_bytes());
        assert_eq!(found.unwrap().len(), 3);
        let (text, found) =
            readings(b"date,size\n2026-01-01,31 TB\nsoon,32 TB\n2025-01-01,33 km\n");
        let faults = found.unwrap_err();
        let places: Vec<&str> = faults.iter().map(|f| &text[f.span.clone()]).collect();
        assert_eq!(places, ["soon", "33 km"]);
        for (wrong, title) in [
            ("", "no readings"),
            ("when,much\n", "no readings"),
            ("date,size\n2026-01-01,1 TB\n", "too few readings"),
            ("date,size\n2026-01-01,\n", "half a reading"),
            (
                "date,size\n2026-01-01,1 TB\n2026-01-01,1 TB\n2026-02-01,2 TB\n2026-03-01,2 TB\n",
                "a date out of order",
            ),
            ("date,size\n\"2026", "a cell without end"),
        ] {
            let faults = readings(wrong.as_bytes()).1.unwrap_err();
            assert!(faults.to_string().contains(title), "{wrong:?}: {faults}");
        }
    }
}
