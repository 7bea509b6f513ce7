//! How long a choice among layouts takes, and one chain of failures and repairs.

use divan::Bencher;
use narrows_core::array::durability::{RepairChain, Repairs, year, yearly};
use narrows_core::catalogue::Catalogue;
use narrows_core::plan::{Answer, DriveChoice, Need, Question, USUAL_PLAN_DRAWS, layouts};
use narrows_core::quantity::units::time::hour;
use narrows_core::quantity::{Time, percent, ratio};
use narrows_core::site::Known;
use narrows_core::spread::{Bounds, Spread};

fn main() {
    divan::main();
}

const CHOICES: [&str; 6] = [
    "8 TB hdd-5400, 150 EUR",
    "10 TB hdd-7200, 240 EUR",
    "16 TB hdd-7200, 320 EUR",
    "20 TB hdd-7200, 410 EUR",
    "4 TB ssd-sata, 290 EUR",
    "8 TB nvme-gen4, 620 EUR",
];

fn question(bays: usize, choices: usize, workers: usize, catalogue: &Catalogue) -> Question {
    let needs = ["50 TB", "900 MB/s read at the array with 4 streams"];
    let choices = CHOICES.iter().take(choices);
    Question {
        bays,
        choices: choices
            .map(|text| DriveChoice::parse(text, catalogue).expect("a drive that is sold"))
            .collect(),
        needs: needs
            .iter()
            .map(|text| Need::parse(text).expect("a need"))
            .collect(),
        survive: 2,
        streams: 4,
        fill: Known::stated(
            "fill",
            Spread::parse("40..70 %", Bounds::FRACTION).expect("a share"),
        ),
        nas: None,
        attached: None,
        record: None,
        chunk: None,
        draws: USUAL_PLAN_DRAWS,
        workers,
    }
}

fn asked(bencher: Bencher, bays: usize, choices: usize, workers: usize) {
    let catalogue = Catalogue::embedded().expect("the catalogue is sound");
    let question = question(bays, choices, workers, &catalogue);
    bencher.bench_local(|| -> Answer {
        layouts(&question, &catalogue, &|_, _| true).expect("there is an answer")
    });
}

/// 24 bays, six choices of drives, four streams, on one processor and on two.
#[divan::bench(args = [1, 2], sample_count = 10)]
fn a_rack_of_24_bays(bencher: Bencher, workers: usize) {
    asked(bencher, 24, 6, workers);
}

/// 8 bays and one choice.
#[divan::bench(args = [1, 2])]
fn a_box_of_8_bays(bencher: Bencher, workers: usize) {
    asked(bencher, 8, 1, workers);
}

/// The chance of a loss in a year, by states: one to three drives may fail.
#[divan::bench(args = [1, 2, 3])]
fn a_chain_within_a_year(bencher: Bencher, tolerated: usize) {
    let chain = chain(tolerated);
    bencher.bench_local(|| divan::black_box(&chain).loss_within(year()));
}

/// The mean time to a loss, by states.
#[divan::bench(args = [1, 2, 3])]
fn a_chain_to_its_end(bencher: Bencher, tolerated: usize) {
    let chain = chain(tolerated);
    bencher.bench_local(|| divan::black_box(&chain).mean_time_to_loss());
}

fn chain(tolerated: usize) -> RepairChain {
    RepairChain::new(
        8,
        tolerated,
        yearly(percent(1.5)),
        (Time::new::<hour>(24.0), Repairs::Parallel),
        ratio(0.004),
        ratio(1.0),
    )
    .expect("rates above zero")
}
