//! Vectors of an independent prototype, at the six digits that it prints, and what must hold.

use super::*;
use narrows_core::quantity::{
    Information, Measure, Time, megabytes_per_second, ratio, seconds, terabytes, units,
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

fn tb(size: Information) -> f64 {
    size.get::<units::information::terabyte>()
}

fn need(room: f64, mean: f64, deviation: f64) -> Need {
    Need {
        room: terabytes(room),
        mean: terabytes(mean),
        deviation: terabytes(deviation),
    }
}

fn hours(count: f64) -> Time {
    Time::new::<units::time::hour>(count)
}

fn day(of: (f64, f64, f64, f64, f64, f64)) -> Information {
    ShootingDay {
        cameras: of.0,
        recorded: hours(of.1),
        rate: megabytes_per_second(of.2 / 8.0),
        tracks: of.3,
        proxies: ratio(of.4),
        overhead: ratio(of.5),
    }
    .size()
}

#[test]
fn validate_a_shooting_day() {
    for (of, gigabytes) in [
        ((2.0, 3.0, 400.0, 8.0, 0.0, 0.01), 1103.24),
        ((1.0, 2.0, 100.0, 2.0, 0.0, 0.01), 92.9736),
        ((3.0, 1.5, 707.0, 16.0, 0.0509, 0.01), 1531.31),
        ((2.0, 3.0, 400.0, 8.0, 0.09, 0.01), 1200.44),
        ((4.0, 6.0, 2038.43, 16.0, 0.0, 0.015), 22395.0),
    ] {
        six(day(of).base() / 1e9, gigabytes);
    }
    six(day((2.0, 3.0, 400.0, 0.0, 0.0, 0.0)).base() / 1e9, 1080.0);
}

#[test]
fn validate_a_month() {
    let large = day((2.0, 3.0, 400.0, 8.0, 0.0, 0.01));
    let small = day((1.0, 2.0, 100.0, 2.0, 0.0, 0.01));
    six(tb(month(large, 8.0, ratio(0.4))), 12.3563);
    six(tb(month(small, 4.0, ratio(0.3))), 0.483463);
    six(tb(month(large, 12.0, ratio(0.5))), 19.8583);
}

#[test]
fn validate_readings() {
    let read = |values: &[f64]| {
        let at = |(i, u): (usize, &f64)| (seconds(i as f64 * volume::MONTH), terabytes(*u));
        history(&values.iter().enumerate().map(at).collect::<Vec<_>>())
    };
    let found = read(&[31.0, 32.4, 33.1, 35.2, 36.0, 37.8]).unwrap();
    six(tb(found.mean), 1.36);
    six(tb(found.deviation), 0.610737);
    six(tb(found.error), 0.27313);
    assert!(read(&[31.0, 32.0]).is_none());
    let twice = [(seconds(0.0), terabytes(1.0)); 3];
    assert!(history(&twice).is_none());
}

#[test]
fn validate_full_by_month() {
    let chances = [0.05, 0.1, 0.5, 0.9, 0.95];
    let steady = need(17.6, 1.2, 0.6);
    let check = |by: &dyn Fn(f64) -> narrows_core::quantity::Ratio, printed: &[f64]| {
        let chances: &[f64] = if printed.len() == 3 {
            &[0.05, 0.5, 0.95]
        } else {
            &chances
        };
        for (chance, printed) in chances.iter().zip(printed) {
            six(when(by, *chance).unwrap(), *printed);
        }
    };
    check(
        &|m| by_normal(&steady, m),
        &[11.8371, 12.4094, 14.6667, 17.3345, 18.1726],
    );
    check(
        &|m| by_gamma(&steady, m),
        &[11.7167, 12.3666, 14.7499, 17.2703, 18.009],
    );
    check(
        &|m| by_inverse_gaussian(&steady, m),
        &[11.7433, 12.3095, 14.5429, 17.1828, 18.0123],
    );
    six(by_normal(&steady, 12.0).base(), 0.0618289);
    six(by_gamma(&steady, 12.0).base(), 0.068681);
    six(by_inverse_gaussian(&steady, 12.0).base(), 0.0697169);
    let lumpy = need(10.0, 1.0, 1.5);
    check(&|m| by_normal(&lumpy, m), &[4.66883, 10.0, 21.4186]);
    check(&|m| by_gamma(&lumpy, m), &[4.08883, 10.74, 19.4662]);
    check(
        &|m| by_inverse_gaussian(&lumpy, m),
        &[4.3188, 9.00236, 19.082],
    );
    six(by_normal(&lumpy, 6.0).base(), 0.138151);
    six(by_gamma(&lumpy, 6.0).base(), 0.1339);
    six(by_inverse_gaussian(&lumpy, 6.0).base(), 0.186472);
}

#[test]
fn validate_mean_from_history() {
    let steady = need(17.6, 1.2, 0.6);
    for (months, chance, early) in [
        (3.0, 0.245559, 9.49483),
        (6.0, 0.187031, 10.3121),
        (12.0, 0.138151, 10.9126),
        (36.0, 0.0912112, 11.4685),
    ] {
        let by = |m: f64| by_normal_of_history(&steady, months, m);
        six(by(12.0).base(), chance);
        six(when(by, 0.05).unwrap(), early);
        six(when(by, 0.5).unwrap(), 14.6667);
    }
}

const SEASONS: [f64; 12] = [0.4, 0.5, 0.8, 1.0, 1.3, 1.6, 1.6, 1.1, 1.3, 1.2, 0.8, 0.4];

#[test]
fn validate_seasons() {
    let seasons = Seasons::new(SEASONS).unwrap();
    for (room, first, printed) in [
        (17.6, 0, [11.2918, 16.0384, 18.2556]),
        (17.6, 4, [11.7167, 13.9062, 16.3146]),
        (17.6, 9, [11.7821, 15.8748, 19.6992]),
        (4.0, 0, [3.33578, 4.551, 5.64008]),
        (4.0, 4, [1.45986, 2.32268, 3.47648]),
        (4.0, 9, [2.08945, 5.14537, 6.92413]),
    ] {
        for (chance, printed) in [0.05, 0.5, 0.95].iter().zip(printed) {
            let found = gamma_quantile(&need(room, 1.2, 0.6), &seasons, first, *chance);
            six(found.unwrap(), printed);
        }
    }
    assert!(Seasons::new([1.1; 12]).is_none(), "they add up to twelve");
}

#[test]
fn validate_an_archive() {
    let archive = Archive {
        capacity: terabytes(72.0),
        from: ratio(0.8),
        to: ratio(0.55),
    };
    six(tb(archive.frees()), 18.0);
    six(archive.every(terabytes(1.2)), 15.0);
    for (rate, printed) in [(117.685, 42.4863), (250.0, 20.0), (1100.0, 4.54545)] {
        let takes = archive.takes(megabytes_per_second(rate));
        six(takes.get::<units::time::hour>(), printed);
    }
    six(tb(held_in_the_long_run(terabytes(3.0), 9.0)), 27.0);
    six(tb(held_in_the_long_run(terabytes(1.2), 18.0)), 21.6);
}

#[test]
fn a_large_exponent_does_not_overflow() {
    let long = need(1000.0, 1.0, 0.01);
    let found = by_inverse_gaussian(&long, 1000.0).base();
    assert!((found - 0.5).abs() < 1e-9, "{found}");
    assert_eq!(by_gamma(&need(0.0, 1.0, 1.0), 1.0), ratio(1.0));
    assert_eq!(by_gamma(&need(2.0, 1.0, 0.0), 1.0), ratio(0.0));
}

fn unit_random(generator: &mut Pcg64Mcg) -> f64 {
    (generator.next_u64() >> 11) as f64 / 9007199254740992.0
}

/// Marsaglia and Tsang 2000, with their step for shapes below one.
fn gamma(shape: f64, generator: &mut Pcg64Mcg) -> f64 {
    if shape < 1.0 {
        let u = 1.0 - unit_random(generator);
        return gamma(shape + 1.0, generator) * u.powf(1.0 / shape);
    }
    let d = shape - 1.0 / 3.0;
    let c = 1.0 / (9.0 * d).sqrt();
    loop {
        let (x, u) = (normal(generator), 1.0 - unit_random(generator));
        let v = (1.0 + c * x).powi(3);
        if v > 0.0 && u.ln() < 0.5 * x * x + d - d * v + d * v.ln() {
            return d * v;
        }
    }
}

fn normal(generator: &mut Pcg64Mcg) -> f64 {
    let (u, v) = (1.0 - unit_random(generator), unit_random(generator));
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

const WALKS: u32 = 40_000;

/// Two deviations of a share near .15 of so many walks are .0036; a walk in steps of a fiftieth of a
/// month misses about .008 of crossings between its steps.
const WALKS_AGREE: f64 = 0.004;
const STEPS_MISS: f64 = 0.012;

#[test]
fn verify_full_by_simulation() {
    let mut generator = Pcg64Mcg::new(5);
    for (of, months, closed) in [
        ((17.6, 1.2, 0.6), 12, 0.068681),
        ((10.0, 1.0, 1.5), 6, 0.1339),
    ] {
        let (room, mu, s): (f64, f64, f64) = of;
        let full = (0..WALKS).filter(|_| {
            let (shape, scale) = ((mu / s).powi(2), s * s / mu);
            (0..months)
                .map(|_| scale * gamma(shape, &mut generator))
                .sum::<f64>()
                >= room
        });
        let share = full.count() as f64 / f64::from(WALKS);
        assert!(
            (share - closed).abs() < WALKS_AGREE,
            "{share} against {closed}"
        );
    }
    let step: f64 = 0.02;
    let crossed = (0..WALKS / 4).filter(|_| {
        let mut held = 0.0;
        (0..300).any(|_| {
            held += step + 1.5 * step.sqrt() * normal(&mut generator);
            held >= 10.0
        })
    });
    let share = crossed.count() as f64 / f64::from(WALKS / 4);
    let closed = by_inverse_gaussian(&need(10.0, 1.0, 1.5), 6.0).base();
    let misses = closed - share;
    assert!(
        (-0.004..STEPS_MISS + 0.004).contains(&misses),
        "{share} against {closed}"
    );
}

proptest! {
    #[test]
    fn property_growth_moves_dates_the_right_way(
        room in 0.5..80.0_f64, mean in 0.1..6.0_f64, cv in 0.2..1.5_f64, month in 0.5..36.0_f64,
        more in 1.0..2.0_f64,
    ) {
        let by = |room: f64, mean: f64, month: f64| {
            by_gamma(&need(room, mean, mean * cv), month).base()
        };
        let now = by(room, mean, month);
        prop_assert!(by(room, mean, month * more) >= now - 1e-12);
        prop_assert!(by(room, mean * more, month) >= now - 1e-12);
        prop_assert!(by(room * more, mean, month) <= now + 1e-12);
    }

    #[test]
    fn property_seasons_of_a_year_add_up(first in 0_usize..12, months in 0.0..60.0_f64) {
        let seasons = Seasons::new(SEASONS).unwrap();
        let sum = seasons.sum(first, months);
        prop_assert!((seasons.sum(first, months + 12.0) - sum - 12.0).abs() < 1e-9);
        prop_assert!((Seasons::NONE.sum(first, months) - months).abs() < 1e-9);
    }
}
