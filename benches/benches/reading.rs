//! How long it takes to get from text to a checked site.

use narrows_benches::{Bench, Doubtful, example_text, row_of_switches};
use narrows_core::catalogue::Catalogue;
use narrows_core::site::read;
use std::fmt::Write;

fn main() {
    divan::main();
}

/// The catalogue that comes with the program.
#[divan::bench]
fn catalogue() -> Catalogue {
    Catalogue::embedded().expect("the catalogue is sound")
}

/// The example site, with a catalogue at hand.
#[divan::bench]
fn example(bencher: divan::Bencher) {
    let catalogue = Bench::example().catalogue;
    bencher.bench_local(|| read(example_text(), &[], &catalogue).expect("the site is sound"));
}

/// Twenty desks behind a row of switches, with a catalogue at hand.
#[divan::bench]
fn twenty_desks_behind_a_row(bencher: divan::Bencher) {
    let catalogue = Bench::example().catalogue;
    let text = row_of_switches(20, 60, Doubtful::All);
    bencher.bench_local(|| read(&text, &[], &catalogue).expect("the site is sound"));
}

/// A file with so many faults, all of which are found: how it grows.
#[divan::bench(args = [100, 1_000, 10_000], sample_count = 5, sample_size = 1)]
fn so_many_faults(bencher: divan::Bencher, count: usize) {
    let catalogue = Bench::example().catalogue;
    let mut text = example_text().to_owned();
    for fault in 0..count {
        let _ = writeln!(text, "[desk.d{fault}]\nport.a={{rate=\"fast {fault}\"}}");
    }
    bencher.bench_local(|| read(&text, &[], &catalogue).expect_err("there are faults"));
}
