#![allow(clippy::unwrap_used)]

mod against_budget;

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

#[test]
fn verify_loss_is_that_of_the_durability_model() {
    let answer = ask(&question(8, &[TEN], &[]));
    let row = answer
        .rows
        .iter()
        .find(|r| r.layout.to_string() == "raid6 7 x 10 TB + 1 spare 10 TB")
        .unwrap();
    let choice = DriveChoice::parse(TEN, &catalogue()).unwrap();
    let Drive::Spinning {
        outer, inner_ratio, ..
    } = choice.drive()
    else {
        panic!("a hard disk turns");
    };
    let outlook = Outlook::of(View::Typical, true, true, &catalogue()).unwrap();
    let rebuild = Rebuild {
        drive: Zones::new(
            outer.value.median(),
            inner_ratio.value.median(),
            choice.size().bytes().information(),
        )
        .unwrap(),
        ceiling: megabytes_per_second(204.8),
        copied: ratio(1.0),
        detection: outlook.detection,
        replacement: outlook.replacement,
    };
    let time = rebuild.time(outlook.rebuild_share).unwrap();
    assert_eq!(row.rebuild.unwrap().typical, time);
    let held: Information = row.usable.information() * percent(60.0);
    let expected = safety(&row.layout, time, held, &outlook, year()).unwrap();
    assert_eq!(row.loss.array.typical, expected.array_lost);
    assert_eq!(row.loss.file_damaged, expected.file_damaged);
    // the floor of 0.1 % is in it
    assert!(row.loss.array.typical > row.loss.by_common_causes);
    assert!((row.loss.by_common_causes.get::<one>() - 0.001).abs() < 1e-9);
}

#[test]
fn verify_a_rebuild_of_flash_goes_through_its_phases() {
    /// Sums and products of doubles in another order.
    const ROUNDING: f64 = 1e-9;
    // 2 TB: a fifth is cache at 2500 MB/s, then 900 MB/s to .6 of it, then 400 MB/s
    let answer = ask(&question(4, &["2 TB nvme-gen3, 150 EUR"], &[]));
    let rebuild = |layout: &str| {
        let rows = answer.rows.iter();
        let row = rows.clone().find(|r| r.layout.to_string() == layout);
        let names: Vec<String> = rows.map(|r| r.layout.to_string()).collect();
        row.unwrap_or_else(|| panic!("{names:?}"))
            .rebuild
            .unwrap()
            .typical
    };
    let capacity = DriveChoice::parse("2 TB nvme-gen3", &catalogue()).unwrap();
    let bytes = capacity.size().bytes().get() as f64;
    let outlook = Outlook::of(View::Typical, false, false, &catalogue()).unwrap();
    let waiting =
        (outlook.detection + outlook.replacement).get::<crate::quantity::units::time::second>();
    let share = outlook.rebuild_share.get::<one>();
    // stripes: no phase faster than the throttle
    let held = |rate: f64| (rate * share).min(204.8) * 1e6;
    let by_hand = bytes * (0.2 / held(2500.0) + 0.4 / held(900.0) + 0.4 / held(400.0));
    let found = rebuild("raid5 4 x 2 TB").get::<crate::quantity::units::time::second>();
    approx::assert_relative_eq!(found - waiting, by_hand, max_relative = ROUNDING);
    // a pool: the 60 % that are filled end where folding begins, at half the rate
    let free = |rate: f64| rate * share * 0.5 * 1e6;
    let by_hand = bytes * (0.2 / free(2500.0) + 0.4 / free(900.0));
    let found = rebuild("raidz1 4 x 2 TB").get::<crate::quantity::units::time::second>();
    approx::assert_relative_eq!(found - waiting, by_hand, max_relative = ROUNDING);
}

#[test]
fn property_risk_falls_with_redundancy_and_a_spare() {
    let answer = ask(&question(8, &[TEN], &[]));
    let lost = |text: &str| {
        let row = answer
            .rows
            .iter()
            .find(|r| r.layout.to_string() == text)
            .unwrap();
        (row.loss.by_drives.get::<one>(), row.loss.array)
    };
    let (raid0, raid5, raid6) = (
        lost("raid0 7 x 10 TB"),
        lost("raid5 7 x 10 TB"),
        lost("raid6 7 x 10 TB"),
    );
    let spare = lost("raid5 7 x 10 TB + 1 spare 10 TB");
    assert!(raid0.0 > raid5.0 && raid5.0 > raid6.0);
    assert!(spare.0 < raid5.0);
    for (_, views) in [raid0, raid5, raid6, spare] {
        assert!(views.optimistic <= views.typical && views.typical <= views.pessimistic);
    }
}

#[test]
fn shingled_drives_rebuild_for_long() {
    let answer = ask(&question(
        4,
        &["8 TB hdd-5400, 150 EUR", "8 TB hdd-smr, 140 EUR"],
        &[],
    ));
    let hours = |class: &str| {
        let row = answer
            .rows
            .iter()
            .find(|r| r.name() == format!("raid5 4 x 8 TB {class}"))
            .unwrap();
        row.rebuild
            .unwrap()
            .typical
            .get::<crate::quantity::units::time::hour>()
            - 72.1
    };
    assert!((hours("hdd-smr") / hours("hdd-5400") - 10.0).abs() < 1e-6);
}

/// Every layout there is, found by trying everything, without the search's own list.
fn everything(bays: usize, size: DriveSize) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for level in Level::ALL {
        for groups in 1..=bays {
            for width in 1..=bays {
                for spares in 0..=MOST_SPARES {
                    let Ok(layout) = Layout::uniform(level, groups, width, size, spares) else {
                        continue;
                    };
                    let idle = spares > 0 && layout.survives_any() == 0;
                    // stripes over stripes and over couples are RAID 0 and RAID 10
                    let twice = match level {
                        Level::Raid0 | Level::Raid10(_) => groups > 1,
                        Level::Raid1 => groups > 1 && width == 2,
                        _ => false,
                    };
                    if layout.all_drives() <= bays && !idle && !twice {
                        found.insert(layout.to_string());
                    }
                }
            }
        }
    }
    found
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn property_rows_are_those_of_brute_force(
        bays in 1..7_usize, survive in 0..3_usize, streams in 1..5_usize, space in 1..30_u32, rate in 50..900_u32,
    ) {
        let space = format!("{space} TB");
        let rate = format!("{rate} MB/s read at the array with 2 streams");
        let mut asked = question(bays, &[TEN, "4 TB ssd-sata, 250 EUR"], &[]);
        asked.streams = streams;
        let all = ask(&asked).rows;
        // nothing is needed: all are there
        for choice in &asked.choices {
            let names: BTreeSet<String> = all
                .iter()
                .filter(|r| r.class == choice.class())
                .map(|r| r.layout.to_string())
                .collect();
            prop_assert_eq!(names, everything(bays, choice.size()));
        }
        asked.survive = survive;
        asked.needs = vec![Need::parse(&space).unwrap(), Need::parse(&rate).unwrap()];
        let answer = ask(&asked);
        let asked_bytes = space.trim_end_matches(" TB").parse::<u64>().unwrap() * 1_000_000_000_000;
        let with_needs = layouts(&Question { needs: asked.needs.clone(), survive: 0, ..asked.clone() }, &catalogue(), &|_, _| true).unwrap();
        prop_assert_eq!(with_needs.looked_at, all.len());
        // those that meet the needs, by hand
        let mut fit = 0;
        for row in &answer.rows {
            prop_assert!(row.survives_any >= survive && row.usable.get() >= asked_bytes);
            prop_assert!(row.needs.iter().all(|n| n.met));
            fit += 1;
        }
        let possible = all.iter().filter(|r| r.survives_any >= survive && r.usable.get() >= asked_bytes).count();
        prop_assert!(fit <= possible);
        if fit == 0 {
            prop_assert!(!answer.nearest.is_empty() && !answer.met());
        }
        // beaten is beaten by somebody, kept is not, and equals are named
        for row in &answer.rows {
            let mine = row.merits();
            let beats = |other: &Row| {
                let theirs = other.merits();
                (0..mine.len()).all(|c| theirs[c] >= mine[c]) && theirs != mine
            };
            let beaten = answer.rows.iter().any(beats);
            let twin = answer.rows.iter().any(|o| !o.beaten && o.same.contains(&row.name()));
            prop_assert_eq!(row.beaten, beaten || twin, "{}", row.name());
            prop_assert_eq!(row.buys.is_empty(), row.beaten);
        }
        // the stated order
        for pair in answer.rows.windows(2) {
            let (a, b) = (&pair[0], &pair[1]);
            let (x, y) = (a.price.as_ref().unwrap().hundredths, b.price.as_ref().unwrap().hundredths);
            prop_assert!(x < y || (x == y && a.usable >= b.usable));
        }
    }
}

#[test]
fn verify_workers_do_not_change_the_answer() {
    let mut asked = question(7, &[TEN, "4 TB ssd-sata, 250 EUR"], &["20 TB"]);
    let single = ask(&asked);
    for workers in [0, 2, 5] {
        asked.workers = workers;
        assert_eq!(ask(&asked).rows, single.rows);
    }
}

#[test]
fn a_need_is_met_by_the_median_and_says_its_chance() {
    let answer = ask(&question(
        8,
        &[TEN],
        &["900 MB/s read at the array", "40 TB comfortable"],
    ));
    for row in answer.rows.iter().chain(&answer.nearest) {
        let [rate, room] = &row.needs[..] else {
            panic!("two needs");
        };
        assert_eq!(rate.met, rate.chance.get::<one>() >= 0.5);
        assert_eq!(rate.short.get::<one>() > 0.0, !rate.met);
        assert!(room.met == (row.comfortable.get() >= 40_000_000_000_000));
        let Got::Rate(median) = rate.got else {
            panic!("a rate is needed");
        };
        assert_eq!(rate.low, Some(Got::Rate(row.rates.read.p05)));
        assert!(median == row.rates.read.p50);
    }
    assert!(answer.met());
}

#[test]
fn where_nothing_fits_the_nearest_is_told_with_what_is_missing() {
    let mut asked = question(4, &[TEN], &["36 TB"]);
    asked.survive = 1;
    let answer = ask(&asked);
    assert!(!answer.met() && answer.rows.is_empty());
    let nearest = &answer.nearest[0];
    // three of four drives' worth, less tables and reserve, is nearest; a fourth drive's is not safe
    assert_eq!(nearest.survives_any, 1);
    let short = nearest.needs[0].short.get::<one>();
    let usable = nearest.usable.get() as f64;
    assert!((short - (1.0 - usable / 36e12)).abs() < 1e-12);
    assert!((nearest.worst_miss(1) - short).abs() < 1e-15);
    assert!(
        answer
            .nearest
            .windows(2)
            .all(|w| w[0].worst_miss(1) <= w[1].worst_miss(1))
    );
}

#[test]
fn a_narrow_miss_that_is_cheaper_is_told() {
    let all = ask(&question(8, &[TEN], &[]));
    let row = all
        .rows
        .iter()
        .find(|r| r.layout.to_string() == "raid6 6 x 10 TB")
        .unwrap();
    let asked_bytes = row.usable.get() / 99 * 100;
    let mut asked = question(8, &[TEN], &[]);
    asked.survive = 2;
    asked.needs = vec![Need::Usable(Bytes::new(asked_bytes))];
    let answer = ask(&asked);
    assert!(answer.near_misses.iter().any(|r| r.layout == row.layout));
    // far off is not near
    asked.needs = vec![Need::Usable(Bytes::new(asked_bytes / 100 * 104))];
    assert!(
        ask(&asked)
            .near_misses
            .iter()
            .all(|r| r.layout != row.layout)
    );
}

#[test]
fn money_is_whole() {
    let answer = ask(&question(6, &["10 TB hdd-7200, 239.90 EUR"], &[]));
    let row = answer
        .rows
        .iter()
        .find(|r| r.layout.to_string() == "raid6 5 x 10 TB + 1 spare 10 TB")
        .unwrap();
    let euro = |hundredths| {
        Some(Money {
            hundredths,
            currency: "EUR".to_owned(),
        })
    };
    assert_eq!(row.price, euro(6 * 23990));
    let exact = 6.0 * 23990.0 / (row.usable.get() as f64 / 1e12);
    let rounded = row.price_per_terabyte.as_ref().unwrap().hundredths;
    assert!((rounded as f64 - exact).abs() <= 0.5 + 1e-9);
}

#[test]
fn questions_that_cannot_be_asked_are_refused() {
    let refused = |asked: &Question| layouts(asked, &catalogue(), &|_, _| true).unwrap_err();
    assert_eq!(
        refused(&question(0, &[TEN], &[])),
        PlanFault::Bays { found: 0 }
    );
    assert_eq!(
        refused(&question(101, &[TEN], &[])),
        PlanFault::Bays { found: 101 }
    );
    assert_eq!(refused(&question(4, &[], &[])), PlanFault::NoChoice);
    for (other, said) in [
        ("8 TB hdd-5400, 139 CHF", "EUR and in CHF"),
        ("8 TB hdd-5400", "no price for 8 TB hdd-5400"),
    ] {
        let fault = refused(&question(4, &[TEN, other], &[]));
        assert!(fault.to_string().contains(said), "{fault}");
        let fault = refused(&question(4, &[other, TEN], &[]));
        assert!(matches!(fault, PlanFault::Prices { .. }), "{fault}");
    }
    let dear = format!("10 TB hdd-7200, {}.00 EUR", i64::MAX / 100 / 2);
    assert!(matches!(
        refused(&question(4, &[&dear], &[])),
        PlanFault::Prices { .. }
    ));
}

#[test]
fn every_class_of_drives_can_be_asked_for() {
    let catalogue = catalogue();
    for word in catalogue.words("drive") {
        let answer = ask(&question(4, &[&format!("4 TB {}", word.word)], &[]));
        assert!(answer.kept().count() > 0, "{}", word.word);
        for row in &answer.rows {
            assert!(row.rates.read.p50.base() > 0.0 && row.price.is_none());
        }
    }
}

#[test]
fn verify_each_pick_is_best_in_what_it_is_picked_for() {
    let answer = ask(&question(6, &[TEN], &[]));
    let found = handful(&answer.rows);
    let picks: Vec<Pick> = found.iter().flat_map(|p| p.picks.clone()).collect();
    assert!(found.len() <= Pick::ALL.len());
    for pick in Pick::ALL {
        assert_eq!(picks.iter().filter(|p| **p == pick).count(), 1, "{pick:?}");
    }
    let safe = || {
        answer
            .rows
            .iter()
            .filter(|r| !r.beaten && r.survives_any > 0)
    };
    for picked in &found {
        assert!(picked.row.survives_any > 0 && !picked.row.beaten);
        for pick in &picked.picks {
            let beaten = safe().any(|other| match pick {
                Pick::MostSpace => other.usable > picked.row.usable,
                Pick::FastestWriting => {
                    other.rates.write.p50.base() > picked.row.rates.write.p50.base()
                }
                Pick::Cheapest => {
                    other.value(Criterion::Price) < picked.row.value(Criterion::Price)
                }
                Pick::Safest => other.loss.by_drives < picked.row.loss.by_drives,
                // one that survives two is among the layouts of six bays
                Pick::Balanced => picked.row.survives_any < 2,
            });
            assert!(!beaten, "{pick:?}: {}", picked.row.name());
        }
    }
    // striping over all bays gives most, and is none of them: one failed drive loses it
    assert!(answer.rows.iter().any(|r| r.survives_any == 0 && !r.beaten));
}

#[test]
fn what_is_stopped_says_what_is_known() {
    let asked = Question {
        workers: 1,
        ..question(6, &[TEN], &[])
    };
    let all = ask(&asked);
    assert_eq!(all.stopped, None);
    let enough = |done: usize, _: usize| done < 5;
    let some = layouts(&asked, &catalogue(), &enough).unwrap();
    let stopped = some.stopped.unwrap();
    assert_eq!(stopped.done, 5);
    assert!(stopped.all > 5);
    assert!(some.looked_at > 0 && some.looked_at < all.looked_at);
    // what is known so far is known as it is in the end
    for row in &some.rows {
        let whole = all.rows.iter().find(|other| other.layout == row.layout);
        let whole = whole.unwrap();
        assert_eq!((row.usable, row.rates), (whole.usable, whole.rates));
    }
    let nothing = layouts(&asked, &catalogue(), &|_, _| false);
    assert_eq!(nothing.unwrap_err(), PlanFault::Stopped);
}
