//! Tests of runs in words and in lists, and of what is said about them.

mod jacks;
mod judging;
mod powering;
mod words;

use super::{CableRun, Cabling, Joint, in_words};
use crate::catalogue::Catalogue;
use crate::copper::RunPhysics;
use crate::quantity::{LinkRate, Ratio, units};

fn catalogue() -> Catalogue {
    Catalogue::embedded().unwrap()
}

fn cabling() -> Cabling {
    Cabling::new(&catalogue()).unwrap()
}

fn said(text: &str) -> CableRun {
    match in_words(text, &catalogue()) {
        Ok(run) => run,
        Err(faults) => panic!("{text}: {faults}"),
    }
}

fn physics(run: &CableRun) -> RunPhysics {
    run.typical().unwrap().clone()
}

fn rate(megabits: u64) -> LinkRate {
    LinkRate::from_megabits(megabits)
}

fn one(share: Ratio) -> f64 {
    share.get::<units::ratio::one>()
}

fn cases(run: &CableRun) -> usize {
    match &run.joint {
        Joint::Copper { cases, .. } => cases.len(),
        _ => 0,
    }
}
