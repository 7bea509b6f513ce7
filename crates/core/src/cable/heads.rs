//! Heads of the columns of a list of jacks.

use super::words::Words;
use crate::sheet::{self, Cell, Form, Names};

macro_rules! columns {
    ($($column:ident: $($name:literal),+;)+) => {
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub(super) enum Column { $($column),+ }

        /// Names of the columns, the usual one first.
        const NAMES: &Names<Column> = &[$((Column::$column, &[$($name),+])),+];
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

pub(super) type Head = sheet::Head<Column, HeadUnit>;

pub(super) const FORM: Form = Form {
    list: "list of jacks",
    rows: "jacks",
    row: "write one row a jack below",
    heads: "jack;cable;length m;bundle",
    // a longer list is no building that this is made for
    most: 10_000,
    has_comments: false,
};

/// What each column is, and heads that say nothing of a cable.
pub(super) fn heads(cells: &[Cell], words: &mut Words<'_>) -> (Vec<Head>, Vec<String>) {
    let (columns, mut unused, faults) = FORM.heads(cells, NAMES, unit);
    let bad = !faults.is_empty();
    words.faults.extend(faults);
    let of_record = |(_, head): &(&Cell, &Head)| {
        let column = head.as_ref().map(|(column, _)| *column);
        column.is_some_and(Column::of_the_record)
    };
    let records = cells.iter().zip(&columns).filter(of_record);
    unused.extend(records.map(|(cell, _)| cell.text.trim().to_owned()));
    let cable = |head: &Head| matches!(head, Some((Column::Cable | Column::Length, _)));
    if !columns.iter().any(cable) && !bad {
        words
            .faults
            .push(FORM.lacks(cells, "no column is a cable or a length"));
    }
    (columns, unused)
}

fn unit(column: Column, written: &str) -> Option<HeadUnit> {
    let unit = match written.to_lowercase().as_str() {
        "m" | "metre" | "metres" | "meter" | "meters" => HeadUnit::Metres(1.0),
        "ft" | "feet" => HeadUnit::Metres(0.3048),
        "c" | "\u{b0}c" | "celsius" => HeadUnit::Celsius,
        _ => return None,
    };
    let length = matches!(column, Column::Length | Column::Cords | Column::Module);
    let fits = match unit {
        HeadUnit::Metres(_) => length,
        HeadUnit::Celsius => column == Column::Temperature,
        HeadUnit::None => true,
    };
    fits.then_some(unit)
}
