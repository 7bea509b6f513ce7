//! Prints the nanoseconds that desk cut-1 of the example takes, its runs negotiated, both directions,
//! as JSON: with
//! everything drawn anew, and with everything drawn before. The least and the median of many
//! runs; the normal scores are there before, as they are once a process.

use narrows_benches::{Bench, cold, example_text};
use std::io::Write;
use std::time::Instant;

const RUNS: usize = 300;

/// As in `against_numpy.py`: what a run carries is not part of the comparison.
const SETS: [&str; 2] = [
    "run.1.negotiated=\"10 Gb/s\"",
    "run.2.negotiated=\"10 Gb/s\"",
];

fn main() -> std::io::Result<()> {
    let bench = Bench::with(example_text(), &SETS);
    let mut warm = Vec::with_capacity(RUNS);
    let mut anew = Vec::with_capacity(RUNS);
    for _ in 0..RUNS {
        let mut draws = cold();
        for times in [&mut anew, &mut warm] {
            let start = Instant::now();
            let answer = std::hint::black_box(bench.ask(Some("cut-1"), &mut draws));
            times.push(start.elapsed().as_nanos());
            drop(answer);
        }
    }
    let [anew, warm] = [anew, warm].map(|mut times| {
        times.sort_unstable();
        (times[0], times[RUNS / 2])
    });
    writeln!(
        std::io::stdout(),
        "{{\"cold_ns\": {}, \"cold_median_ns\": {}, \"warm_ns\": {}, \"warm_median_ns\": {}}}",
        anew.0,
        anew.1,
        warm.0,
        warm.1
    )
}
