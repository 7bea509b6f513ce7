//! How long an explanation takes.

use divan::Bencher;
use narrows_core::catalogue::Catalogue;
use narrows_core::explain::{Amount, Listener, Observations, RateReading, Reading, What, explain};
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
        random: None,
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

/// A sentence that no pattern takes whole, with a number and two things that were noticed.
#[divan::bench]
fn a_sentence(bencher: Bencher<'_, '_>) {
    heard(
        bencher,
        "it drops after ten seconds and copies from the other desk are fine, 40 MB/s",
    );
}

/// A sentence as long as people write them.
#[divan::bench]
fn a_long_sentence(bencher: Bencher<'_, '_>) {
    heard(
        bencher,
        "since last week the copies of the rushes onto the server begin as they should and then, after some \
         twenty gigabytes, they get slower and slower until only about forty megabytes a second are left",
    );
}

/// The weights are read before: once a run of the program.
fn heard(bencher: Bencher<'_, '_>, said: &str) {
    let listener = Listener::anywhere().expect("the words");
    let understood = listener.understand(said).expect("something");
    assert!(!understood.statements.is_empty(), "{understood:?}");
    bencher.bench_local(|| listener.understand(said));
}

/// So many copies of one desk, that scatter by a tenth: how it grows.
#[divan::bench(args = [10, 100, 1000], sample_count = 5, sample_size = 1)]
fn so_many_readings(bencher: Bencher<'_, '_>, count: u32) {
    let rate = |i: u32| 100.0 + f64::from(i * 7 % 20);
    let all = (0..count).map(|i| reading(What::Copy, Direction::Read, rate(i)));
    run(bencher, all.collect());
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
