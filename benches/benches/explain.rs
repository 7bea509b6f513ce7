//! How long an explanation takes.

use divan::Bencher;
use narrows_core::catalogue::Catalogue;
use narrows_core::explain::{Amount, Observations, RateReading, Reading, What, explain};
use narrows_core::quantity::megabytes_per_second;
use narrows_core::site::read;
use narrows_core::work::Direction;

fn main() {
    divan::main();
}

fn reading(what: What, direction: Direction, rate: f64) -> Reading {
    at("cut-1", what, direction, rate)
}

fn at(desk: &str, what: What, direction: Direction, rate: f64) -> Reading {
    Reading {
        text: "measured".to_owned(),
        desk: Some(desk.to_owned()),
        what,
        direction: Some(direction),
        amount: Amount::Rate(RateReading::plain(megabytes_per_second(rate))),
        size: None,
        streams: 1,
        again: false,
    }
}

/// Two copies, a test from memory to memory and one at the array, on desk cut-1 of the example.
#[divan::bench]
fn four_readings_on_the_example(bencher: Bencher<'_, '_>) {
    run(
        bencher,
        vec![
            reading(What::Copy, Direction::Read, 112.0),
            reading(What::Copy, Direction::Write, 60.0),
            reading(What::RawTcp, Direction::Write, 116.0),
            reading(What::LocalArray, Direction::Write, 380.0),
        ],
    );
}

/// Copies both ways on four desks, of which two are slow: causes at every place, and pairs of them.
#[divan::bench]
fn eight_readings_of_four_desks(bencher: Bencher<'_, '_>) {
    let rates = [
        ("cut-1", [600.0, 350.0]),
        ("cut-2", [36.0, 36.5]),
        ("colour", [11.2, 11.1]),
        ("sound", [11.4, 11.3]),
    ];
    let both = rates.into_iter().flat_map(|(desk, rates)| {
        let ways = Direction::BOTH.into_iter().zip(rates);
        ways.map(move |(way, rate)| at(desk, What::Copy, way, rate))
    });
    run(bencher, both.collect());
}

fn run(bencher: Bencher<'_, '_>, readings: Vec<Reading>) {
    let catalogue = Catalogue::embedded().expect("the catalogue");
    let text = narrows_data::SITES[0].1;
    let told = Observations {
        sites: vec![(read(text, &[], &catalogue).expect("the example"), 1.0)],
        path_told: true,
        array_told: true,
        readings,
        ..Observations::default()
    };
    bencher.bench_local(|| explain(&told, &catalogue).expect("an explanation"));
}
