//! The grammar of readings and remarks, their list, and what their numbers may mean.

use crate::catalogue::Catalogue;
use crate::explain::{Listener, Reading, Remark, Statement};
use crate::site::read;
use std::sync::OnceLock;

mod list;
mod pieces;
mod properties;
mod readings;
mod remarks;
mod units;

/// The desks of the example.
const NAMES: [&str; 5] = ["cut-1", "cut-2", "colour", "sound", "ingest"];

fn at_granary_lane() -> &'static Listener {
    static THERE: OnceLock<Listener> = OnceLock::new();
    THERE.get_or_init(|| {
        let (_, text) = narrows_data::SITES[0];
        let catalogue = Catalogue::embedded().unwrap();
        Listener::at(&read(text, &[], &catalogue).unwrap()).unwrap()
    })
}

fn anywhere() -> &'static Listener {
    static THERE: OnceLock<Listener> = OnceLock::new();
    THERE.get_or_init(|| Listener::anywhere().unwrap())
}

fn one(listener: &Listener, text: &str) -> Statement {
    let mut found = listener
        .hear(text)
        .unwrap_or_else(|faults| panic!("{text}: {faults}"));
    assert_eq!(found.len(), 1, "{text}");
    found.remove(0)
}

fn reading(text: &str) -> Reading {
    match one(at_granary_lane(), text) {
        Statement::Reading(reading) => reading,
        Statement::Remark(remark) => panic!("{text} is the remark {}", remark.id),
    }
}

fn remark(text: &str) -> Remark {
    match one(at_granary_lane(), text) {
        Statement::Remark(remark) => remark,
        Statement::Reading(_) => panic!("{text} is a reading"),
    }
}
