//! Vectors of an independent prototype, at the six digits that it prints, and what must hold.

use super::*;
use narrows_core::quantity::{
    Information, Measure, Power, Ratio, Time, bytes, megabytes_per_second, milliseconds, ratio,
    seconds, terabytes, units,
};
use proptest::prelude::*;
use rand_core::Rng;
use rand_pcg::Pcg64Mcg;

#[track_caller]
fn six(found: f64, printed: f64) {
    assert!(
        (found - printed).abs() <= 5.1e-6 * printed.abs().max(1e-9),
        "{found} against {printed}"
    );
}

fn hours(count: f64) -> Time {
    Time::new::<units::time::hour>(count)
}

fn days(count: f64) -> Time {
    Time::new::<units::time::day>(count)
}

fn in_hours(time: Time) -> f64 {
    time.get::<units::time::hour>()
}

fn tb(size: Information) -> f64 {
    size.get::<units::information::terabyte>()
}

fn line(megabits: f64) -> Line {
    Line {
        contract: megabytes_per_second(megabits / 8.0),
        efficiency: ratio(0.92),
    }
}

#[test]
fn validate_hours_up() {
    let rates = [0.5, 10.0, 40.0, 100.0, 1000.0, 10000.0];
    for (size, printed) in [
        (
            0.04,
            [193.237, 9.66184, 2.41546, 0.966184, 0.0966184, 0.00966184],
        ),
        (0.5, [2415.46, 120.773, 30.1932, 12.0773, 1.20773, 0.120773]),
        (20.0, [96618.4, 4830.92, 1207.73, 483.092, 48.3092, 4.83092]),
    ] {
        for (rate, printed) in rates.iter().zip(printed) {
            six(in_hours(line(*rate).takes(terabytes(size))), printed);
        }
    }
    six(in_hours(line(0.064).takes(terabytes(0.001))), 37.7415);
}

#[test]
fn validate_a_window() {
    for (rate, window, printed) in [
        (40.0, 10.0, 0.1656),
        (40.0, 24.0, 0.39744),
        (100.0, 10.0, 0.414),
        (1000.0, 8.0, 3.312),
        (10.0, 12.0, 0.04968),
    ] {
        six(tb(line(rate).passes(hours(window))), printed);
    }
}

#[test]
fn validate_a_backlog() {
    for (shot, a_day, cap, largest, clear) in [
        (5, 1.10324, 0.1656, 4.6882, 34),
        (5, 1.10324, 0.4, 3.5162, 14),
        (5, 0.0929736, 0.1656, 0.0, 5),
        (1, 1.10324, 0.1656, 0.93764, 7),
    ] {
        let found = backlog(shot, terabytes(a_day), terabytes(cap));
        assert!((tb(found.largest) - largest).abs() < 1e-9);
        assert_eq!(found.clear, Some(clear));
    }
    assert_eq!(backlog(1, terabytes(1.0), terabytes(0.0)).clear, None);
}

#[test]
fn validate_a_first_copy() {
    let first = |held, a_day, cap| first_copy(terabytes(held), terabytes(a_day), terabytes(cap));
    six(first(20.0, 0.04, 0.1656).unwrap(), 159.236);
    assert_eq!(first(20.0, 0.2, 0.1656), None);
    six(first(20.0, 0.04, 3.312).unwrap(), 6.11247);
    six(first(5.0, 0.04, 0.04968).unwrap(), 516.529);
}

#[test]
fn validate_a_chain() {
    six(chain_whole(ratio(0.01), 6).base(), 0.932065);
    six(chain_whole(ratio(0.01), 29).base(), 0.7397);
    six(chain_whole(ratio(0.001), 29).base(), 0.970431);
    six(tb(held_by_chain(terabytes(20.0), 29, terabytes(0.2))), 25.8);
}

fn runs(every: f64, lasts: f64, fails: f64) -> Runs {
    Runs {
        every: hours(every),
        lasts: hours(lasts),
        fails: ratio(fails),
    }
}

#[test]
fn validate_ages() {
    for (run, mean, five, one) in [
        (runs(24.0, 2.0, 0.0), 14.0, 24.8, 25.76),
        (runs(24.0, 2.0, 0.05), 15.2632, 26.0, 46.2105),
        (runs(24.0, 2.0, 0.2), 20.0, 48.5, 72.5),
        (runs(168.0, 6.0, 0.1), 108.667, 267.333, 342.0),
    ] {
        six(in_hours(run.mean_age()), mean);
        six(in_hours(run.age_exceeded(ratio(0.05))), five);
        six(in_hours(run.age_exceeded(ratio(0.01))), one);
    }
    six(in_hours(runs(1.0, 0.1, 0.02).mean_age()), 0.620408);
    six(in_hours(runs(24.0, 30.0, 0.0).interval()), 48.0);
    six(in_hours(runs(24.0, 24.0, 0.0).interval()), 24.0);
}

fn unit_random(generator: &mut Pcg64Mcg) -> f64 {
    (generator.next_u64() >> 11) as f64 / 9007199254740992.0
}

/// Cycles of a day that are simulated.
const CYCLES: u32 = 200_000;

/// The mean age scatters by .05 h, its tail by .3 h, over so many cycles of which every fifth fails.
const MEAN_AGREES: f64 = 0.15;
const TAIL_AGREES: f64 = 0.9;

#[test]
fn verify_ages_by_simulation() {
    let run = runs(24.0, 2.0, 0.2);
    let mut generator = Pcg64Mcg::new(3);
    let mut ages = Vec::new();
    let mut since = 0.0;
    for _ in 0..CYCLES {
        // a moment at random between the ends of two runs, the last good start so long before
        ages.push(since + 2.0 + 24.0 * unit_random(&mut generator));
        since = if unit_random(&mut generator) < 0.2 {
            since + 24.0
        } else {
            0.0
        };
    }
    let mean = ages.iter().sum::<f64>() / ages.len() as f64;
    assert!(
        (mean - in_hours(run.mean_age())).abs() < MEAN_AGREES,
        "{mean}"
    );
    ages.sort_by(f64::total_cmp);
    for share in [0.05, 0.01] {
        let at = ages[((1.0 - share) * ages.len() as f64) as usize];
        let closed = in_hours(run.age_exceeded(ratio(share)));
        assert!((at - closed).abs() < TAIL_AGREES, "{at} against {closed}");
    }
}

#[test]
fn validate_silent_stops() {
    six(in_hours(silent_stop(ratio(0.2), days(14.0))), 1.28789);
    six(in_hours(silent_stop(ratio(0.6), days(90.0))), 159.671);
}

#[test]
fn validate_rotation() {
    for (drives, every, carried, copied, printed) in [
        (2, 7.0, 0.1, 0.5, [7.6, 4.1, 7.6]),
        (3, 7.0, 0.1, 0.5, [7.6, 4.1, 14.6]),
        (2, 30.0, 0.1, 0.5, [30.6, 15.6, 30.6]),
        (3, 1.0, 0.1, 0.3, [1.4, 0.9, 2.4]),
    ] {
        let found = rotated(drives, days(every), days(carried), days(copied));
        for (found, printed) in found.iter().zip(printed) {
            six(found.get::<units::time::day>(), printed);
        }
    }
}

fn restore(before: f64, size: f64, rate: f64) -> Restore {
    Restore {
        before: hours(before),
        size: terabytes(size),
        rate: megabytes_per_second(rate),
        files: 0.0,
        each: seconds(0.0),
        checked_at: None,
    }
}

#[test]
fn validate_restores() {
    let takes = |r: Restore| in_hours(r.takes());
    let many = Restore {
        files: 20000.0,
        each: milliseconds(2.0),
        ..restore(0.5, 2.0, 117.685)
    };
    six(takes(many), 5.23181);
    six(takes(restore(1.0, 20.0, 117.685)), 48.207);
    six(takes(restore(1.0, 20.0, 400.0)), 14.8889);
    let checked = Restore {
        checked_at: Some(megabytes_per_second(400.0)),
        ..restore(1.0, 20.0, 400.0)
    };
    six(takes(checked), 28.7778);
    six(takes(restore(4.0, 2.0, 200.0)), 6.77778);
    six(takes(restore(4.0, 20.0, 200.0)), 31.7778);
    six(takes(restore(4.0, 20.0, 400.0)), 17.8889);
    let up = |m: f64| {
        line(m)
            .rate()
            .get::<units::data_rate::megabyte_per_second>()
    };
    six(takes(restore(1.0, 2.0, up(100.0))), 49.3092);
    six(takes(restore(1.0, 20.0, up(100.0))), 484.092);
    six(takes(restore(1.0, 20.0, up(1000.0))), 49.3092);
    six(takes(restore(96.0, 20.0, 200.0)), 123.778);
    six(takes(restore(72.0, 20.0, 400.0)), 85.8889);
    let small = Restore {
        files: 500000.0,
        each: milliseconds(2.5),
        size: bytes(500000.0 * 50e3),
        ..restore(0.5, 0.0, 117.685)
    };
    six(takes(small), 0.906231);
}

/// Yearly rate, scope, the chance that the array's data are gone; then snapshots, a box in the room, a
/// drive away, the internet.
type EventRow = (f64, f64, f64, [f64; 4]);

const EVENTS: [EventRow; 9] = [
    (1e-3, 1.0, 1.0, [1.0, 0.01, 0.001, 0.001]),
    (1e-3, 1.0, 1.0, [1.0, 0.02, 0.005, 0.005]),
    (8e-3, 1.0, 0.8, [1.0, 0.7, 0.02, 0.005]),
    (1e-3, 1.0, 0.9, [1.0, 0.85, 0.02, 0.005]),
    (2e-3, 1.0, 0.6, [1.0, 0.5, 0.02, 0.005]),
    (5e-3, 1.0, 0.9, [0.4, 0.6, 0.03, 0.15]),
    (1e-2, 1.0, 0.95, [0.1, 0.3, 0.05, 0.05]),
    (0.2, 0.1, 0.95, [0.05, 0.3, 0.05, 0.05]),
    (1e-3, 1.0, 0.9, [0.8, 0.05, 0.02, 0.02]),
];

/// Hours at work by which snapshots, a box, a drive away and the internet are behind.
const AGES: [f64; 4] = [1.0, 3.0, 20.0, 8.0];

fn each_loss(events: &[EventRow], with: [bool; 4], own: f64) -> Vec<LossOfEvent> {
    let of = |(a_year, scope, array, gone): &EventRow| {
        let event = Event {
            a_year: *a_year,
            scope: ratio(*scope),
            takes_array: ratio(*array),
        };
        let copies: Vec<CopyFate> = (0..4)
            .filter(|i| with[*i])
            .map(|i| CopyFate {
                // snapshots are not fetched from anywhere, so nothing of theirs fails by itself
                gone: with_own_failure(ratio(gone[i]), ratio(if i == 0 { 0.0 } else { own })),
                age_at_work: hours(AGES[i]),
            })
            .collect();
        loss_of_event(&event, &copies, 3.0, hours(6000.0))
    };
    events.iter().map(of).collect()
}

fn loss(events: &[EventRow], with: [bool; 4], own: f64) -> (f64, f64) {
    let each = each_loss(events, with, own);
    (
        each.iter().map(|l| l.hours).sum(),
        each.iter().map(|l| l.gone_everywhere).sum(),
    )
}

const NOTHING: [bool; 4] = [false; 4];
const SNAPSHOTS_AND_BOX: [bool; 4] = [true, true, false, false];
const SNAPSHOTS_AND_AWAY: [bool; 4] = [true, false, true, false];
const THREE: [bool; 4] = [true, true, true, false];
const FOUR: [bool; 4] = [true; 4];

#[test]
fn validate_losses() {
    for (with, printed, gone) in [
        (NOTHING, 266.4, 0.2154),
        ([true, false, false, false], 89.6084, 0.02347),
        ([false, true, false, false], 103.265, 0.06847),
        (SNAPSHOTS_AND_BOX, 45.5207, 0.010126),
        ([false, false, true, false], 13.0828, 0.010304),
        (SNAPSHOTS_AND_AWAY, 2.99968, 7.669e-4),
        (THREE, 1.66939, 3.0688e-4),
        (FOUR, 0.384968, 1.32969e-5),
        ([false, false, false, true], 14.0126, 0.0107165),
    ] {
        let found = loss(&EVENTS, with, 0.0);
        six(found.0, printed);
        six(found.1, gone);
    }
}

#[test]
fn validate_losses_of_copies_that_fail_by_themselves() {
    let sets = [NOTHING, SNAPSHOTS_AND_BOX, SNAPSHOTS_AND_AWAY, THREE, FOUR];
    let check = |events: &[EventRow], own: f64, printed: [f64; 5]| {
        for (with, printed) in sets.iter().zip(printed) {
            six(loss(events, *with, own).0, printed);
        }
    };
    check(&EVENTS, 0.03, [266.4, 46.8433, 5.59794, 3.06332, 0.507953]);
    check(&EVENTS, 0.15, [266.4, 52.1338, 15.991, 9.40867, 1.94352]);
}

/// The low and the high rates of the events.
const LOW: [f64; 9] = [1e-5, 1e-4, 1e-3, 2e-4, 5e-4, 1e-3, 2e-3, 0.05, 2e-4];
const HIGH: [f64; 9] = [1e-2, 1e-2, 2e-2, 3e-3, 1e-2, 2e-2, 3e-2, 1.0, 5e-3];

#[test]
fn validate_losses_at_low_and_high_rates() {
    let at = |rates: [f64; 9]| {
        let mut events = EVENTS;
        for (event, rate) in events.iter_mut().zip(rates) {
            event.0 = rate;
        }
        events
    };
    let sets = [NOTHING, SNAPSHOTS_AND_BOX, SNAPSHOTS_AND_AWAY, THREE, FOUR];
    let low = [54.72, 7.52823, 0.925797, 0.507674, 0.0906913];
    let high = [1144.2, 149.292, 22.4541, 10.0686, 1.92131];
    for ((with, low), high) in sets.iter().zip(low).zip(high) {
        six(loss(&at(LOW), *with, 0.03).0, low);
        six(loss(&at(HIGH), *with, 0.03).0, high);
    }
}

#[test]
fn validate_losses_by_event() {
    let found = each_loss(&EVENTS, THREE, 0.0);
    for (at, printed) in [
        (2, 0.818304),
        (5, 0.271836),
        (7, 0.16188),
        (3, 0.137997),
        (6, 0.13338),
        (4, 0.11268),
        (8, 0.0131328),
        (1, 0.010614),
        (0, 0.0095694),
    ] {
        six(found[at].hours, printed);
    }
}

#[test]
fn validate_idle_people() {
    six(
        idle_hours(0.0254, hours(85.8889), ratio(0.238095), 3.0),
        1.55827,
    );
}

#[test]
fn validate_two_silent_copies() {
    six(in_years(0.0193, 5.0).base(), 0.0919901);
    six(in_years(0.0025, 5.0).base(), 0.0124222);
    six(in_years(1e-4, 5.0).base(), 4.99875e-4);
    let both = |floor: f64| both_silent(ratio(0.02), ratio(0.02), days(30.0), ratio(floor)).base();
    six(both(0.0), 6.57534e-5);
    six(both(5e-4), 5.65753e-4);
}

#[test]
fn validate_samples() {
    for (files, bad, sample, printed) in [
        (10000, 100, 100, 0.635805),
        (10000, 10, 300, 0.262679),
        (10000, 1, 1000, 0.1),
        (500, 5, 59, 0.467679),
    ] {
        six(seen_in_sample(files, bad, sample).base(), printed);
    }
    assert_eq!(seen_in_sample(10, 5, 6), ratio(1.0));
    for (sample, printed) in [
        (10, 0.258866),
        (59, 0.0495076),
        (100, 0.029513),
        (299, 0.00996915),
    ] {
        six(most_bad_when_none_seen(sample).base(), printed);
    }
}

#[test]
fn validate_unseen_damage() {
    let l: Ratio = ratio(0.0047);
    six(share_damaged(l, 12.0).base(), 0.00235);
    six(both_damaged(l, 12.0).base(), 5.5225e-6);
    six(share_damaged(l, 1.0).base(), 1.95833e-4);
    six(both_damaged(l, 1.0).base(), 3.83507e-8);
    six(share_damaged(ratio(0.0315), 12.0).base(), 0.01575);
    six(both_damaged(ratio(0.0315), 12.0).base(), 2.48063e-4);
}

#[test]
fn validate_shelves() {
    let (one, both) = dead_on_the_shelf(ratio(0.015), 5.0, 2);
    six(one.base(), 0.0727835);
    six(both.base(), 0.00529744);
    let (one, both) = dead_on_the_shelf(ratio(0.04), 5.0, 2);
    six(one.base(), 0.184627);
    six(both.base(), 0.0340872);
    six(dead_on_the_shelf(ratio(0.015), 1.0, 2).1.base(), 2.25e-4);
}

#[test]
fn validate_costs() {
    let own = |drives, price, enclosure, size, years, watts, energy| {
        own_cost(&OwnCopy {
            drives,
            price,
            enclosure,
            usable: terabytes(size),
            years,
            draws: Power::new::<units::power::watt>(watts),
            energy,
        })
    };
    let (things, energy) = own(6.0, 300.0, 800.0, 40.0, 5.0, 62.0, 0.3);
    six(things, 13.0);
    six(energy, 4.07619);
    let (things, energy) = own(2.0, 300.0, 250.0, 14.0, 5.0, 15.0, 0.3);
    six(things, 12.1429);
    six(energy, 2.81764);
    six(own(2.0, 250.0, 0.0, 16.0, 6.0, 0.0, 0.3).0, 5.20833);
    six(internet_cost(6.0, 10.0, ratio(0.1)), 73.0);
    six(internet_cost(4.0, 90.0, ratio(0.1)), 57.0);
    six(internet_cost(1.0, 20.0, ratio(0.5)), 22.0);
}

proptest! {
    #[test]
    fn property_a_copy_never_raises_a_loss(
        gone in proptest::collection::vec((0.0..1.0_f64, 0.0..400.0_f64), 0..5),
        more in (0.0..1.0_f64, 0.0..400.0_f64), array in 0.0..1.0_f64, people in 1.0..9.0_f64,
    ) {
        let event = Event { a_year: 0.1, scope: ratio(0.7), takes_array: ratio(array) };
        let fate = |(gone, age): &(f64, f64)| CopyFate {
            gone: ratio(*gone), age_at_work: hours(*age),
        };
        let mut copies: Vec<CopyFate> = gone.iter().map(fate).collect();
        let kept = hours(6000.0);
        let before = loss_of_event(&event, &copies, people, kept);
        copies.push(fate(&more));
        let after = loss_of_event(&event, &copies, people, kept);
        prop_assert!(after.hours <= before.hours + 1e-9);
        prop_assert!(after.gone_everywhere <= before.gone_everywhere + 1e-12);
        copies.reverse();
        let turned = loss_of_event(&event, &copies, people, kept);
        prop_assert!((turned.gone_everywhere - after.gone_everywhere).abs() < 1e-12);
        prop_assert!((turned.hours - after.hours).abs() < 1e-9);
    }

    #[test]
    fn property_restoring_takes_at_least_its_bytes(
        before in 0.0..100.0_f64, size in 0.01..50.0_f64, rate in 1.0..2000.0_f64,
    ) {
        let r = restore(before, size, rate);
        let least: Time = r.size / r.rate;
        prop_assert!(r.takes() >= least);
    }

    #[test]
    fn property_age_is_never_below_the_run(
        every in 1.0..200.0_f64, lasts in 0.1..400.0_f64, fails in 0.0..0.6_f64,
    ) {
        let r = runs(every, lasts, fails);
        prop_assert!(r.mean_age() >= r.lasts);
        prop_assert!(r.age_exceeded(ratio(0.05)) >= r.lasts);
        prop_assert!(r.age_exceeded(ratio(0.01)) >= r.age_exceeded(ratio(0.05)));
    }
}
