//! How long it takes to judge runs of cable.

use divan::Bencher;
use divan::counter::ItemsCount;
use narrows_core::cable::{Asked, CableRun, Cabling, in_words, jacks};
use narrows_core::catalogue::Catalogue;
use narrows_core::copper::{Category, Copper, RunPhysics};
use narrows_core::quantity::metres;
use std::fmt::Write;

fn main() {
    divan::main();
}

fn catalogue() -> Catalogue {
    Catalogue::embedded().expect("the catalogue is sound")
}

/// One run, five rates: margins with their intervals and chances, on one core.
#[divan::bench]
fn one_run_all_rates(bencher: Bencher) {
    let copper = Copper::new(&catalogue()).expect("the rows are there");
    let run = RunPhysics::new(Category::Cat5e, metres(45.0));
    bencher.bench_local(|| copper.carries(&run));
}

/// One run with everything that is told about it: today, with all neighbours upgraded, and the
/// best improvement of each rate that does not hold.
#[divan::bench]
fn one_run_with_improvements(bencher: Bencher) {
    let catalogue = catalogue();
    let cabling = Cabling::new(&catalogue).expect("the rows are there");
    let run = in_words("cat5e 60 m, tight, 6 neighbours at 1 Gb/s", &catalogue);
    let run = run.expect("the words are sound");
    bencher.bench_local(|| cabling.report(&run, Asked::default()));
}

/// A building: cables of all kinds from 5 to 94 m, laid in all ways.
fn building(neighbours: &str) -> Vec<CableRun> {
    let mut text = String::from("jack;cable;length m;bundle;neighbours\n");
    for i in 0..200 {
        let cable = ["cat5e", "cat6", "cat6a", "cat5e"][i % 4];
        let bundle = ["loose", "tight", "apart"][i % 3];
        // writing to a string cannot fail
        let _ = writeln!(text, "J-{i};{cable};{};{bundle};{neighbours}", 5 + i % 90);
    }
    let (_, list) = jacks(text.as_bytes(), &catalogue());
    list.expect("the list is sound").runs
}

/// 200 jacks with everything that is told about them, on all cores.
#[divan::bench(args = ["", "6 at 1 Gb/s"])]
fn two_hundred_jacks(bencher: Bencher, neighbours: &str) {
    let cabling = Cabling::new(&catalogue()).expect("the rows are there");
    let runs = building(neighbours);
    bencher
        .counter(ItemsCount::new(runs.len()))
        .bench_local(|| cabling.reports(&runs, Asked::default()));
}
