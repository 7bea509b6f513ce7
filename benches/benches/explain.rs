//! How long an explanation takes.

use divan::Bencher;
use narrows_core::catalogue::Catalogue;
use narrows_core::explain::{Amount, RateReading, Reading, Told, What, explain};
use narrows_core::quantity::megabytes_per_second;
use narrows_core::site::read;
use narrows_core::work::Direction;

fn main() {
    divan::main();
}

fn reading(what: What, direction: Direction, rate: f64) -> Reading {
    Reading {
        text: "measured".to_owned(),
        desk: Some("cut-1".to_owned()),
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
    let catalogue = Catalogue::embedded().expect("the catalogue");
    let text = narrows_data::SITES[0].1;
    let told = Told {
        sites: vec![(read(text, &[], &catalogue).expect("the example"), 1.0)],
        path_told: true,
        array_told: true,
        readings: vec![
            reading(What::Copy, Direction::Read, 112.0),
            reading(What::Copy, Direction::Write, 60.0),
            reading(What::RawTcp, Direction::Write, 116.0),
            reading(What::LocalArray, Direction::Write, 380.0),
        ],
        ..Told::default()
    };
    bencher.bench_local(|| explain(&told, &catalogue).expect("an explanation"));
}
