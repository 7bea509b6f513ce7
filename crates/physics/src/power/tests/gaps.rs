//! Gaps of the mains, and what stops in them.

use super::*;

use narrows_units::quantity::{
    DataRate, Information, Measure, bytes, megabytes_per_second, ratio, seconds,
};
use rand_pcg::Pcg64Mcg;

fn long() -> GapLengths {
    GapLengths::LogNormal {
        median: minutes(70.0),
        sigma: 1.1,
    }
}

fn short() -> GapLengths {
    GapLengths::LogUniform {
        from: seconds(2.0),
        to: seconds(30.0),
    }
}

#[test]
fn validate_lengths_of_gaps() {
    for (time, share) in [
        (2.0, 6.14346e-4),
        (5.0, 0.00821675),
        (10.0, 0.0384462),
        (18.1667, 0.110047),
        (30.0, 0.22057),
        (60.0, 0.444276),
        (120.0, 0.687932),
        (480.0, 0.959964),
    ] {
        six(long().share_up_to(minutes(time)).base(), share);
    }
    for (time, share) in [
        (5.0, 0.338358),
        (7.74597, 0.5),
        (10.0, 0.594316),
        (20.0, 0.850274),
    ] {
        six(short().share_up_to(seconds(time)).base(), share);
    }
    let none = short().share_up_to(seconds(1.0));
    assert_eq!(none, ratio(0.0));
}

#[test]
fn validate_a_year_of_gaps() {
    let year = year_of_gaps(
        (1.2, &long()),
        (4.0, &short()),
        (minutes(18.0 + 1.0 / 6.0), minutes(25.0)),
        ratio(0.03),
    );
    six(year.not_ridden, 1.19191);
    six(year.unprepared, 0.156);
}

#[test]
fn verify_a_year_by_simulation() {
    let mut generator = Pcg64Mcg::new(11);
    let mut missed = 0_u32;
    for _ in 0..YEARS {
        for (rate, lengths, lasts) in [
            (1.2, long(), minutes(18.0 + 1.0 / 6.0)),
            (4.0, short(), minutes(25.0)),
        ] {
            let mut left = 1.0 + unit_random(&mut generator).ln() / rate;
            while left > 0.0 {
                let within = lengths.share_up_to(lasts).base();
                let dead = unit_random(&mut generator) < 0.03;
                let too_long = unit_random(&mut generator) > within;
                missed += u32::from(dead || too_long);
                left += unit_random(&mut generator).ln() / rate;
            }
        }
    }
    let mean = f64::from(missed) / f64::from(YEARS);
    assert!((mean - 1.19191).abs() < YEARS_AGREE, "{mean}");
}

#[test]
fn validate_energy_of_a_gap() {
    let unit = unit(900.0, 0.09, 0.025);
    let joules = |load: f64, s: f64| energy_of_gap(unit.direct(watts(load)), seconds(s)).base();
    six(joules(250.0, 30.0), 8850.0);
    six(joules(100.0, 10.0), 1315.0);
    six(
        energy_of_gap(watts(620.0 / 0.88), seconds(30.0)).base(),
        21136.4,
    );
}

#[test]
fn validate_gaps_in_a_row() {
    let recharge = minutes(480.0);
    let mut charge = ratio(1.0);
    for _ in 0..3 {
        charge = charge_after_gap(charge, minutes(0.5), minutes(12.0));
        six(charge.base(), 0.958333);
        charge = charge_after_pause(charge, minutes(60.0), recharge);
    }
    let mut charge = ratio(1.0);
    for printed in [0.6, 0.2375, -0.125] {
        charge = charge_after_gap(charge, minutes(10.0), minutes(25.0));
        assert!((charge.base() - printed).abs() < 1e-9, "{charge:?}");
        charge = charge_after_pause(charge, minutes(20.0), recharge);
    }
}

fn megabytes_of(count: f64) -> Information {
    bytes(count * 1e6)
}

#[test]
fn validate_stopping() {
    let stop = |detect, desks, gb: f64, rate: f64, services, drives| {
        Stop {
            detect: seconds(detect),
            desks: seconds(desks),
            dirty: megabytes_of(gb * 1e3),
            drain: megabytes_per_second(rate),
            services: seconds(services),
            drives: seconds(drives),
        }
        .time()
        .base()
    };
    six(stop(30.0, 60.0, 16.0, 400.0, 45.0, 30.0), 205.0);
    six(stop(10.0, 60.0, 1.72, 250.0, 60.0, 20.0), 156.88);
    six(stop(10.0, 60.0, 1.72, 4.0, 60.0, 20.0), 580.0);
    six(stop(5.0, 60.0, 0.0, 250.0, 0.0, 0.0), 65.0);
    let wait = |runtime, stop, m| in_minutes(wait_before_stop(minutes(runtime), seconds(stop), m));
    six(wait(25.0, 205.0, 2.0), 18.1667);
    six(wait(8.0, 147.0, 2.0), 3.1);
    six(wait(6.0, 205.0, 2.0), -0.833333);
    six(wait(12.0, 147.0, 1.5), 8.325);
}

#[test]
fn validate_lost_bytes() {
    let lost = |gib: f64, incoming: f64, drain: f64| {
        let memory = DirtyMemory {
            dirtyable: bytes(gib * 1073741824.0),
            background: ratio(0.1),
            most: ratio(0.2),
            age: seconds(35.0),
        };
        let rate = |r: f64| -> DataRate { megabytes_per_second(r) };
        let (least, most) = lost_in_memory(&memory, rate(incoming), rate(drain));
        (least.base() / 1e6, most.base() / 1e6)
    };
    six(lost(8.0, 110.0, 400.0).1, 858.993);
    six(lost(8.0, 110.0, 400.0).1 / 110.0, 7.80903);
    six(lost(8.0, 20.0, 400.0).1, 700.0);
    six(lost(64.0, 1100.0, 1500.0).1, 6871.95);
    six(lost(8.0, 1100.0, 400.0).0, 1288.49);
    six(lost(8.0, 1100.0, 400.0).1, 1717.99);
    six(lost(2.0, 110.0, 80.0).0, 322.123);
}
