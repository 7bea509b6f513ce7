//! How long it takes to get from text to a checked site.

use narrows_benches::{Bench, Doubtful, example_text, row_of_switches};
use narrows_core::catalogue::Catalogue;
use narrows_core::site::read;

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
