//! Columns of a list of jobs, and the units that stand in their heads.

use crate::quantity::{Kind, parse_base};
use crate::sheet::{self, Names};

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
pub(super) const NAMES: &Names<Column> = &[
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
pub(super) type Head = sheet::Head<Column, String>;

/// The unit that stands behind the name of a column, as it was written.
pub(super) fn unit(column: Column, written: &str) -> Option<String> {
    let kind = match column {
        Column::Size => Kind::Information,
        Column::HeldTo => Kind::DataRate,
        _ => return None,
    };
    let known = parse_base(kind, &format!("1 {written}")).is_ok();
    known.then(|| written.to_owned())
}
