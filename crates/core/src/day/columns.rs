//! Columns of a list of jobs, and the units that stand in their heads.

use crate::quantity::{Kind, parse_base};
use crate::sheet::pointed;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Column {
    What,
    Size,
    From,
    To,
    Earliest,
    Due,
    HeldTo,
    ReadBack,
}

/// Names of the columns, the usual one first.
pub(super) const NAMES: &[(Column, &[&str])] = &[
    (Column::What, &["what", "job", "name"]),
    (Column::Size, &["size", "amount", "codec x hours"]),
    (Column::From, &["from", "source"]),
    (Column::To, &["to", "target"]),
    (Column::Earliest, &["earliest", "start", "begins"]),
    (Column::Due, &["due", "deadline"]),
    (Column::HeldTo, &["held to", "at most"]),
    (Column::ReadBack, &["read back", "verified", "verify"]),
];

/// Columns without which there is no job.
pub(super) const NEEDED: [Column; 3] = [Column::Size, Column::From, Column::To];

impl Column {
    pub(super) fn name(self) -> &'static str {
        let names = NAMES.iter().find(|(column, _)| *column == self);
        names.and_then(|(_, names)| names.first()).unwrap_or(&"")
    }
}

/// A column, and the unit of its bare numbers.
pub(super) type Head = Option<(Column, Option<String>)>;

/// The words of a head, without strokes and brackets around a unit.
pub(super) fn plain(text: &str) -> String {
    let letters = text.to_lowercase();
    let words: String = letters
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .collect();
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A column and the unit behind its name, as it was written.
pub(super) fn head(text: &str) -> Head {
    let of = |name: &str| {
        let found = NAMES.iter().find(|(_, names)| names.contains(&name));
        found.map(|(column, _)| *column)
    };
    if let Some(column) = of(&plain(text)) {
        return Some((column, None));
    }
    let (name, unit) = text.trim().rsplit_once([' ', '(', '['])?;
    let unit = unit.trim_end_matches([')', ']']);
    let column = of(&plain(name))?;
    let kind = match column {
        Column::Size => Kind::Information,
        Column::HeldTo => Kind::DataRate,
        _ => return None,
    };
    let known = parse_base(kind, &format!("1 {unit}")).is_ok();
    known.then(|| (column, Some(unit.to_owned())))
}

/// A number with a decimal point, and the unit of its column where it has none.
pub(super) fn with_unit(text: &str, unit: Option<&str>) -> String {
    let text = pointed(text);
    match unit {
        Some(unit) if text.parse::<f64>().is_ok() => format!("{text} {unit}"),
        _ => text,
    }
}
