//! The grammar of readings and remarks, their list, and what their numbers may mean.

use super::{Listener, Reading, Remark, Statement};

mod list;
mod readings;
mod remarks;
mod units;

/// The desks of the example, and its NAS.
const NAMES: [&str; 6] = ["cut-1", "cut-2", "colour", "sound", "ingest", "store"];

fn at_granary_lane() -> Listener {
    Listener::new(Some(NAMES.map(str::to_owned).to_vec())).unwrap()
}

fn anywhere() -> Listener {
    Listener::new(None).unwrap()
}

fn one(listener: &Listener, text: &str) -> Statement {
    let mut found = listener
        .hear(text)
        .unwrap_or_else(|faults| panic!("{text}: {faults}"));
    assert_eq!(found.len(), 1, "{text}");
    found.remove(0)
}

fn reading(text: &str) -> Reading {
    match one(&at_granary_lane(), text) {
        Statement::Reading(reading) => reading,
        Statement::Remark(remark) => panic!("{text} is the remark {}", remark.id),
    }
}

fn remark(text: &str) -> Remark {
    match one(&at_granary_lane(), text) {
        Statement::Remark(remark) => remark,
        Statement::Reading(_) => panic!("{text} is a reading"),
    }
}
