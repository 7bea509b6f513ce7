#![allow(clippy::unwrap_used)]

mod against_budget;
mod safety;
mod search;

use super::luck::{DriveLuck, Luck, Turning, draw};
use super::rates::{Model, State};
use super::*;
use crate::array::durability::{Outlook, Rebuild, View, safety, year};
use crate::array::rate::{Heads, Medium, Zones};
use crate::array::{Bytes, DriveSize, Layout, Level};
use crate::catalogue::Catalogue;
use crate::quantity::units::ratio::one;
use crate::quantity::{
    Information, Measure, Money, Ratio, in_megabytes_per_second, megabytes_per_second,
    milliseconds, percent, ratio, seconds, terabytes,
};
use crate::site::{Drive, Known};
use crate::spread::{Bounds, Spread};
use crate::work::Direction;
use proptest::prelude::*;
use std::collections::BTreeSet;

fn catalogue() -> Catalogue {
    Catalogue::embedded().unwrap()
}

fn question(bays: usize, choices: &[&str], needs: &[&str]) -> Question {
    let fill = Spread::parse("60 %", Bounds::FRACTION).unwrap();
    Question {
        bays,
        choices: choices
            .iter()
            .map(|c| DriveChoice::parse(c, &catalogue()).unwrap())
            .collect(),
        needs: needs.iter().map(|n| Need::parse(n).unwrap()).collect(),
        survive: 0,
        streams: 4,
        fill: Known::stated("fill", fill),
        nas: None,
        attached: None,
        record: None,
        chunk: None,
        draws: 64,
        workers: 1,
    }
}

fn ask(question: &Question) -> Answer {
    layouts(question, &catalogue(), &|_, _| true).unwrap()
}

const TEN: &str = "10 TB hdd-7200, 240 EUR";

/// Luck of one draw with everything known and nothing in the way.
pub(super) fn certain(fill: Ratio) -> Luck {
    let fast = megabytes_per_second(1e6);
    Luck {
        count: 1,
        record: (crate::array::capacity::DEFAULT_RECORD, luck::SECTOR),
        chunk: crate::array::capacity::DEFAULT_CHUNK,
        fill: vec![fill],
        place: vec![ratio(1.0)],
        worth: vec![0.0],
        scatter: vec![ratio(0.0)],
        reached: vec![ratio(1.0)],
        in_place: [vec![1.0], vec![1.0], vec![1.0]],
        parity_share: vec![ratio(1.0)],
        pool_share: vec![ratio(1.0)],
        request: vec![Bytes::kibibytes(4096).information()],
        prefetch: vec![Bytes::kibibytes(16384).information()],
        aggregation: vec![Bytes::kibibytes(1024).information()],
        gathered: vec![Bytes::kibibytes(8192).information()],
        write_turn: vec![seconds(0.5)],
        stripes: vec![fast],
        sums: vec![fast],
        threads: vec![4.0],
        attached: None,
        left_by_rebuilding: vec![ratio(0.7)],
        left_by_scrubbing: vec![ratio(0.8)],
        reordering: vec![1.0],
        scattered_writes: vec![ratio(1.0)],
        slowest: vec![0.0; 25],
    }
}

/// 12 TB at 245 MB/s outside, 60 % full, new data and old at the edge of the filled part.
/// A rate that somebody stated, in one draw.
pub(super) fn stated(rate: crate::quantity::DataRate) -> luck::Rates {
    luck::Rates {
        each: vec![rate],
        stated: true,
    }
}

pub(super) fn certain_drive(fill: Ratio) -> DriveLuck {
    let zones = Zones::new(megabytes_per_second(245.0), ratio(0.48), terabytes(12.0)).unwrap();
    let heads = Heads {
        average_seek: milliseconds(8.5),
        next_track: milliseconds(0.6),
        turn: seconds(60.0 / 7200.0),
        overhead: milliseconds(0.1),
    };
    let edge = zones.rate(fill);
    let position = heads.to_random_place(zones.stroke(fill));
    DriveLuck {
        medium: Medium::Spinning,
        read_empty: stated(zones.outer()),
        read: stated(edge),
        read_outer_half: stated(zones.rate(fill / 2.0)),
        write_empty: stated(zones.outer()),
        write: stated(edge),
        interface: vec![crate::quantity::megabytes_per_second(600.0)],
        turning: Some(Turning {
            zones: vec![zones],
            heads: vec![heads],
            settle: vec![milliseconds(0.0)],
            position: [vec![position], vec![position]],
            cost: [vec![ratio(1.0) / edge], vec![ratio(1.0) / edge]],
        }),
        latency: None,
    }
}

pub(super) fn model_of<'a>(layout: &'a Layout, luck: &'a Luck, drive: &'a DriveLuck) -> Model<'a> {
    let shape = Shape {
        level: layout.level(),
        groups: layout.groups().len(),
        width: layout.groups()[0].width(),
    };
    Model {
        shape,
        layout,
        luck,
        drive,
    }
}

#[test]
fn validate_streams_of_eight_drives() {
    // hand-worked n s / (t + s c) for requests of 4 MiB in chunks of 512 KiB on eight drives of
    // 245 MB/s, 60 % full, and one stream at d times 179.744 MB/s; three printed digits
    const PRINTED: f64 = 0.5;
    let fill = ratio(0.6);
    let (luck, drive) = (certain(fill), certain_drive(fill));
    for (text, alone, together) in [
        ("raid0 8 x 12 TB", 1438.0, 312.0),
        ("raid5 8 x 12 TB", 1258.0, 346.0),
        ("raid6 8 x 12 TB", 1078.0, 388.0),
        ("raid10 8 x 12 TB", 719.0, 513.0),
    ] {
        let layout = Layout::parse(text).unwrap();
        let model = model_of(&layout, &luck, &drive);
        let read = model.alone(Direction::Read, State::Filled).unwrap()[0] / 1e6;
        assert!((read - alone).abs() <= PRINTED, "{text}: {read}");
        let drives = model.of_drives(Direction::Read, State::Filled).unwrap();
        let read = model.together(Direction::Read, 8, &drives)[0] / 1e6;
        assert!((read - together).abs() <= PRINTED, "{text}: {read}");
    }
}

#[test]
fn pools_and_mirrors_share_their_drives_by_their_own_rules() {
    let fill = ratio(0.6);
    let (luck, drive) = (certain(fill), certain_drive(fill));
    let together = |text: &str, direction, streams| {
        let layout = Layout::parse(text).unwrap();
        let model = model_of(&layout, &luck, &drive);
        let drives = model.of_drives(direction, State::Filled).unwrap();
        (
            model.alone(direction, State::Filled).unwrap()[0],
            model.together(direction, streams, &drives)[0],
        )
    };
    // a copy of its own for each stream, while there are copies
    let (alone, two) = together("raid1 2 x 12 TB", Direction::Read, 2);
    assert!((two / alone - 2.0).abs() < 1e-9);
    let (_, three) = together("raid1 2 x 12 TB", Direction::Read, 3);
    assert!(three < two);
    // a pool writes its streams side by side
    for text in [
        "raidz2 8 x 12 TB",
        "4 x mirror 2 x 12 TB",
        "two-copy 4 x 12 TB",
    ] {
        let (alone, four) = together(text, Direction::Write, 4);
        assert!((four / alone - 1.0).abs() < 1e-12, "{text}");
    }
    let (alone, four) = together("raid6 8 x 12 TB", Direction::Write, 4);
    assert!(four < alone);
    // narrow groups of a pool get pieces as large as one wide group, bounded by what one asks of a drive
    let (_, wide) = together("raidz1 8 x 12 TB", Direction::Read, 8);
    let (_, narrow) = together("4 x mirror 2 x 12 TB", Direction::Read, 8);
    assert!(narrow >= wide);
}

#[test]
fn the_machine_and_the_bus_hold_a_fast_array_back() {
    let mut asked = question(4, &["4 TB nvme-gen4, 300 EUR"], &[]);
    let reads = |asked: &Question| {
        let answer = ask(asked);
        let row = answer
            .rows
            .iter()
            .find(|r| r.layout.to_string() == "two-copy 4 x 4 TB")
            .unwrap();
        in_megabytes_per_second(row.rates.read.p50)
    };
    // checksums of one stream on one thread: 4000 MB/s in the middle
    let free = reads(&asked);
    assert!((3000.0..4500.0).contains(&free), "{free}");
    asked.attached = Some(Known::stated(
        "bus",
        Spread::exact(megabytes_per_second(900.0)),
    ));
    let held = reads(&asked);
    assert!((held - 900.0).abs() < 1e-6, "{held}");
}

#[test]
fn verify_percentiles_are_stable() {
    // medians and ends at the usual number of draws against sixteen times as many
    // of 4096 cases that spread by a factor of 2.6 to either side the middle scatters by
    // 1.25 ln(2.6) / 1.645 / sqrt(4096) = 1.1 %
    const MEDIAN: f64 = 0.015;
    const ENDS: f64 = 0.03;
    let mut asked = question(8, &[TEN, "4 TB ssd-sata, 250 EUR"], &[]);
    asked.draws = USUAL_PLAN_DRAWS;
    let usual = ask(&asked);
    asked.draws = 16 * USUAL_PLAN_DRAWS;
    let many = ask(&asked);
    let mut worst = [0.0_f64; 3];
    let mut compared = 0;
    for row in &usual.rows {
        let other = many.rows.iter().find(|r| r.name() == row.name()).unwrap();
        for (a, b) in [
            (row.rates.read, other.rates.read),
            (row.rates.write, other.rates.write),
            (row.rates.read_together, other.rates.read_together),
            (row.rates.write_together, other.rates.write_together),
        ] {
            let pairs = [(a.p05, b.p05), (a.p50, b.p50), (a.p95, b.p95)];
            for (worst, (a, b)) in worst.iter_mut().zip(pairs) {
                *worst = worst.max(((a / b).get::<one>() - 1.0).abs());
            }
            compared += 1;
        }
    }
    let [low, middle, high] = worst;
    assert!(middle < MEDIAN && low < ENDS && high < ENDS, "{worst:?}");
    assert!(compared > 400);
}

#[test]
fn property_degraded_never_beats_healthy() {
    let asked = question(
        9,
        &[TEN, "4 TB nvme-gen3, 300 EUR", "8 TB hdd-smr, 150 EUR"],
        &[],
    );
    let (luck, drives) = draw(&asked, &catalogue()).unwrap();
    let mut looked = 0;
    for (choice, drive) in asked.choices.iter().zip(&drives) {
        for shape in shapes(9) {
            let layout = shape.of(choice.size(), 0).unwrap();
            let model = Model {
                shape,
                layout: &layout,
                luck: &luck,
                drive,
            };
            let whole = model.alone(Direction::Read, State::Filled).unwrap();
            let degraded = model.alone(Direction::Read, State::Missing(1));
            assert_eq!(degraded.is_some(), layout.survives_any() > 0);
            for (d, rate) in degraded.unwrap_or_default().into_iter().enumerate() {
                assert!(rate <= whole[d] * (1.0 + 1e-12), "{layout}");
                assert!(rate > 0.0);
                looked += 1;
            }
        }
    }
    assert!(looked > 5000);
}

#[test]
fn property_streams_stay_between_their_bounds() {
    let asked = question(8, &[TEN, "4 TB ssd-sata-qlc, 300 EUR"], &[]);
    let (luck, drives) = draw(&asked, &catalogue()).unwrap();
    for (choice, drive) in asked.choices.iter().zip(&drives) {
        for shape in shapes(8) {
            let layout = shape.of(choice.size(), 0).unwrap();
            let model = Model {
                shape,
                layout: &layout,
                luck: &luck,
                drive,
            };
            for direction in Direction::BOTH {
                let alone = model.alone(direction, State::Filled).unwrap();
                let drives = model.of_drives(direction, State::Filled).unwrap();
                let empty = model.alone(direction, State::Empty).unwrap();
                for streams in [1, 2, 4, 30] {
                    let together = model.together(direction, streams, &drives);
                    for d in 0..luck.count {
                        let most = match direction {
                            Direction::Read => alone[d] * streams as f64,
                            // the machine sums several streams at once, the drives do not
                            Direction::Write => drives[d].min(alone[d] * streams as f64),
                        };
                        assert!(
                            together[d] > 0.0 && together[d] <= most * (1.0 + 1e-12),
                            "{layout}"
                        );
                    }
                    if streams == 1 {
                        assert_eq!(together, alone);
                    }
                }
                for d in 0..luck.count {
                    assert!(
                        alone[d] <= empty[d] * (1.0 + 1e-12),
                        "{layout} {direction:?}"
                    );
                }
            }
        }
    }
}
