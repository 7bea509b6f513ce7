//! Heads of the columns of a list of jacks.

use super::words::Words;
use crate::nearest::nearest;
use crate::sheet::Cell;
use std::ops::Range;

macro_rules! columns {
    ($($column:ident: $($name:literal),+;)+) => {
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub(super) enum Column { $($column),+ }

        /// Names of the columns, the usual one first.
        const NAMES: &[(Column, &[&str])] = &[$((Column::$column, &[$($name),+])),+];
    };
}
columns! {
    Cable: "cable", "category", "cable type";
    Jack: "jack", "label", "jack label", "socket", "name", "outlet";
    Length: "length";
    Known: "known", "how it is known", "how known", "basis";
    Bundle: "bundle", "lay", "how it lies";
    Neighbours: "neighbours", "neighbors";
    NeighbourRate: "neighbour rate", "neighbor rate", "rate of neighbours";
    Connections: "connections";
    Cords: "cords", "cord";
    Temperature: "temperature";
    Screen: "screen";
    Certified: "certified";
    Pairs: "pairs";
    Conductor: "conductor";
    Gauge: "gauge", "awg";
    Module: "module", "module reach";
    Ports: "ports", "port rate";
    Power: "power", "power class";
    Negotiated: "negotiated", "negotiated rate";
    Panel: "panel port", "panel", "patch panel";
    Room: "room";
    Desk: "desk";
    Switch: "switch";
    Traced: "traced", "how traced", "how sure";
}

impl Column {
    /// Whether it says where a jack leads, and nothing of its cable.
    fn of_the_record(self) -> bool {
        matches!(
            self,
            Self::Panel | Self::Room | Self::Desk | Self::Switch | Self::Traced
        )
    }
}

/// A unit that stands in the head of a column, so that its cells may be bare numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum HeadUnit {
    None,
    Metres(f64),
    Celsius,
}

/// The place of what a cell says, if it says something.
pub(super) fn written(cell: &Cell) -> Option<Range<usize>> {
    let text = cell.text.trim();
    if text.is_empty() || text.eq_ignore_ascii_case("unknown") || text == "?" || text == "-" {
        return None;
    }
    let lead = cell.text.len() - cell.text.trim_start().len();
    let start = (cell.span.start + lead).min(cell.span.end);
    Some(start..(start + text.len()).min(cell.span.end))
}

pub(super) type Head = Option<(Column, HeadUnit)>;

/// What each column is, and heads that say nothing of a cable.
pub(super) fn heads(cells: &[Cell], words: &mut Words<'_>) -> (Vec<Head>, Vec<String>) {
    let mut columns: Vec<Head> = Vec::new();
    let mut unused = Vec::new();
    let mut bad = false;
    for cell in cells {
        let Some(span) = written(cell) else {
            columns.push(None);
            continue;
        };
        let plain: String = cell
            .text
            .to_lowercase()
            .chars()
            .map(|c| {
                if c.is_alphanumeric() || c == '\u{b0}' {
                    c
                } else {
                    ' '
                }
            })
            .collect();
        let plain = plain.split_whitespace().collect::<Vec<_>>().join(" ");
        match head(&plain) {
            Some((column, _)) if columns.iter().flatten().any(|(c, _)| *c == column) => {
                bad = true;
                let found = "a column that means the same stands before it";
                words.fault(span, "a column twice", found, "remove one of the two");
                columns.push(None);
            }
            Some(found) => {
                if found.0.of_the_record() {
                    unused.push(cell.text.trim().to_owned());
                }
                columns.push(Some(found));
            }
            None => {
                let all = NAMES.iter().flat_map(|(_, names)| names.iter().copied());
                if let Some(near) = nearest(&plain, all) {
                    bad = true;
                    let found = format!(
                        "'{}' is not known; did you mean '{near}'?",
                        cell.text.trim()
                    );
                    let help = format!("write '{near}', or another word if it says something else");
                    words.fault(span, "a column that is nearly known", found, help);
                } else {
                    unused.push(cell.text.trim().to_owned());
                }
                columns.push(None);
            }
        }
    }
    let cable = |head: &Head| matches!(head, Some((Column::Cable | Column::Length, _)));
    if !columns.iter().any(cable) && !bad {
        let span = cells.first().map_or(0..0, |cell| cell.span.clone());
        let names: Vec<&str> = NAMES
            .iter()
            .filter_map(|(_, names)| names.first().copied())
            .collect();
        let help = format!("name the columns in the first row: {}", names.join(", "));
        words.fault(
            span,
            "no list of jacks",
            "no column is a cable or a length",
            help,
        );
    }
    (columns, unused)
}

fn head(plain: &str) -> Head {
    let of = |name: &str| {
        NAMES
            .iter()
            .find(|(_, names)| names.contains(&name))
            .map(|(column, _)| *column)
    };
    if let Some(column) = of(plain) {
        return Some((column, HeadUnit::None));
    }
    let (name, unit) = plain.rsplit_once(' ')?;
    let name = name.strip_suffix(" in").unwrap_or(name);
    let unit = match unit {
        "m" | "metre" | "metres" | "meter" | "meters" => HeadUnit::Metres(1.0),
        "ft" | "feet" => HeadUnit::Metres(0.3048),
        "c" | "\u{b0}c" | "celsius" => HeadUnit::Celsius,
        _ => return None,
    };
    let column = of(name)?;
    let length = matches!(column, Column::Length | Column::Cords | Column::Module);
    let fits = match unit {
        HeadUnit::Metres(_) => length,
        HeadUnit::Celsius => column == Column::Temperature,
        HeadUnit::None => true,
    };
    fits.then_some((column, unit))
}
