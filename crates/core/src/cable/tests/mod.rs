//! Tests of runs in words and in lists, and of what is said about them.

mod jacks;
mod judging;
mod powering;
mod words;

use super::{CableRun, Cabling, HOLDS, Joint, in_words};
use crate::catalogue::Catalogue;
use crate::copper::{Category, Neighbours, RunPhysics};
use crate::quantity::{LinkRate, Ratio, metres, units};

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

/// What nobody says of a run, and from where on a rate holds, stand in code as constants; the rows give
/// their ranges and sources.
#[test]
fn verify_what_nobody_says_is_what_the_catalogue_says() {
    let catalogue = catalogue();
    let likely = |id: &str| catalogue.number(id).unwrap().likely;
    let usual = RunPhysics::new(Category::Cat6, metres(10.0));
    let same = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
    same(usual.temperature.0, likely("copper.temperature"));
    same(f64::from(usual.connections), likely("copper.connections"));
    let neighbours = likely("copper.neighbours") as u32;
    assert_eq!(usual.neighbours, Neighbours::SameRate(neighbours));
    same(HOLDS, likely("cable.holds"));
}

fn cases(run: &CableRun) -> usize {
    match &run.joint {
        Joint::Copper { cases, .. } => cases.len(),
        _ => 0,
    }
}
