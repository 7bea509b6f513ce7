//! How long an answer takes, with and without drawing.

use divan::Bencher;
use divan::counter::ItemsCount;
use narrows_benches::{Bench, Doubtful, cold, row_of_switches};
use narrows_core::budget::Answer;
use narrows_core::spread::USUAL_DRAWS;

fn main() {
    divan::main();
}

/// The normal scores of the slices: once a process.
#[divan::bench]
fn a_set_of_draws() -> usize {
    cold().count()
}

/// One desk, both directions, everything drawn anew; the normal scores are there already.
#[divan::bench]
fn one_desk_cold(bencher: Bencher) {
    let bench = Bench::example();
    bencher
        .with_inputs(cold)
        .bench_local_values(|mut draws| (bench.ask(Some("cut-1"), &mut draws), draws));
}

/// One desk, both directions, everything drawn before. Items are draws times hops, so that their
/// rate tells what a hop costs with all that is reported about it: columns, rates, limits and
/// what lifting them would give, percentiles, shares of the unknowns, branches.
#[divan::bench]
fn one_desk_warm(bencher: Bencher) {
    let bench = Bench::example();
    let mut draws = cold();
    let items = draws_and_hops(&bench.ask(Some("cut-1"), &mut draws));
    bencher
        .counter(items)
        .bench_local(|| bench.ask(Some("cut-1"), &mut draws));
}

/// Every desk of the example, both directions, everything drawn anew.
#[divan::bench]
fn example_cold(bencher: Bencher) {
    let bench = Bench::example();
    bencher
        .with_inputs(cold)
        .bench_local_values(|mut draws| (bench.ask(None, &mut draws), draws));
}

/// Twenty desks behind a row of switches with sixty hops to each, both directions, everything
/// drawn anew. With every run in doubt, most draws have a set of slowest links of their own.
#[divan::bench(args = [Doubtful::Desks, Doubtful::All], sample_count = 20)]
fn twenty_desks_of_sixty_hops_cold(bencher: Bencher, doubtful: Doubtful) {
    let bench = Bench::of(&row_of_switches(20, 60, doubtful));
    let items = draws_and_hops(&bench.ask(None, &mut cold()));
    bencher
        .counter(items)
        .with_inputs(cold)
        .bench_local_values(|mut draws| (bench.ask(None, &mut draws), draws));
}

/// One desk over a short and a long row, everything drawn before: the difference over the
/// difference in items is what one more link costs.
#[divan::bench(args = [12, 60])]
fn one_desk_over_a_row_warm(bencher: Bencher, hops: usize) {
    let bench = Bench::of(&row_of_switches(1, hops, Doubtful::Desks));
    let mut draws = cold();
    let items = draws_and_hops(&bench.ask(None, &mut draws));
    bencher
        .counter(items)
        .bench_local(|| bench.ask(None, &mut draws));
}

fn draws_and_hops(answer: &Answer) -> ItemsCount {
    let hops: usize = answer.flows.iter().map(|f| f.hops.len()).sum();
    ItemsCount::new(hops * USUAL_DRAWS)
}
