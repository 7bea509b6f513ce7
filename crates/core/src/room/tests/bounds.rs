//! Bounds and estimates of the same chance, to hold the exact one against; none of them is an
//! answer.

use super::{SIX_DIGITS, crowd, editors, one};
use crate::quantity::units;
use crate::room::Stream;
use approx::assert_relative_eq;

/// Streams as plain numbers: megabits a second and share of the time.
pub(super) fn plain(streams: &[Stream]) -> Vec<(f64, f64)> {
    let of = |s: &Stream| {
        let rate = s.rate.get::<units::data_rate::megabit_per_second>();
        (rate, s.active.get::<units::ratio::one>())
    };
    streams.iter().map(of).collect()
}

/// The logarithm of the moment generating function, and its first two derivatives.
fn cumulant(streams: &[(f64, f64)], s: f64) -> (f64, f64, f64) {
    let (mut value, mut first, mut second) = (0.0, 0.0, 0.0);
    for (rate, active) in streams {
        let grown = active * libm::exp(s * rate);
        let sum = 1.0 - active + grown;
        let tilted = grown / sum;
        value += libm::log(sum);
        first += rate * tilted;
        second += rate * rate * tilted * (1.0 - tilted);
    }
    (value, first, second)
}

/// Where `s C - Lambda(s)` is largest, and how large it is there; the bound is `exp(-I)`.
pub(super) fn chernoff(streams: &[(f64, f64)], capacity: f64) -> (f64, f64) {
    let all: f64 = streams.iter().map(|(rate, _)| rate).sum();
    if cumulant(streams, 0.0).1 >= capacity {
        return (0.0, 0.0);
    }
    if all <= capacity {
        return (f64::INFINITY, f64::INFINITY);
    }
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        let slope = cumulant(streams, middle).1;
        if slope < capacity {
            low = middle;
        } else {
            high = middle;
        }
    }
    (low, low * capacity - cumulant(streams, low).0)
}

/// Bahadur and Rao's factor before the exponential; `step` where demand lies on a lattice.
fn refined(streams: &[(f64, f64)], capacity: f64, step: Option<f64>) -> f64 {
    let (s, exponent) = chernoff(streams, capacity);
    let second = cumulant(streams, s).2;
    let smooth = libm::exp(-exponent) / (s * libm::sqrt(2.0 * std::f64::consts::PI * second));
    step.map_or(smooth, |step| {
        smooth * s * step / (1.0 - libm::exp(-s * step))
    })
}

fn gaussian(streams: &[(f64, f64)], capacity: f64) -> f64 {
    let mean: f64 = streams.iter().map(|(r, p)| r * p).sum();
    let variance: f64 = streams.iter().map(|(r, p)| r * r * p * (1.0 - p)).sum();
    libm::erfc((capacity - mean) / libm::sqrt(2.0 * variance)) / 2.0
}

fn hoeffding(streams: &[(f64, f64)], capacity: f64) -> f64 {
    let mean: f64 = streams.iter().map(|(r, p)| r * p).sum();
    let squares: f64 = streams.iter().map(|(r, _)| r * r).sum();
    libm::exp(-2.0 * (capacity - mean) * (capacity - mean) / squares)
}

#[test]
fn validate_bounds_of_ten_editors() {
    let ten = plain(&editors(10));
    for (capacity, normal, bound, smooth, wide, place, exponent) in [
        (
            6600.0, 0.0119342, 0.0799868, 0.0154938, 0.0862936, 0.00170918, 2.52589,
        ),
        (
            7000.0, 0.00534537, 0.0381149, 0.00675934, 0.0438191, 0.00200408, 3.26715,
        ),
    ] {
        let (s, i) = chernoff(&ten, capacity);
        for (found, printed) in [
            (gaussian(&ten, capacity), normal),
            (libm::exp(-i), bound),
            (refined(&ten, capacity, None), smooth),
            (hoeffding(&ten, capacity), wide),
            (s, place),
            (i, exponent),
        ] {
            assert_relative_eq!(found, printed, max_relative = SIX_DIGITS);
        }
    }
    for (found, printed) in [
        (libm::exp(-chernoff(&ten, 7040.0).1), 0.0351562),
        (refined(&ten, 7040.0, None), 0.00618832),
        (refined(&ten, 7040.0, Some(880.0)), 0.0133056),
    ] {
        assert_relative_eq!(found, printed, max_relative = SIX_DIGITS);
    }
    let twenty = plain(&editors(20));
    for (found, printed) in [
        (gaussian(&twenty, 12000.0), 0.00504636),
        (libm::exp(-chernoff(&twenty, 12000.0).1), 0.0393305),
        // fourteen of them are the first level above
        (refined(&twenty, 14.0 * 880.0, Some(880.0)), 0.00690336),
    ] {
        assert_relative_eq!(found, printed, max_relative = SIX_DIGITS);
    }
}

#[test]
fn a_bell_curve_promises_too_much() {
    // ten editors on 7000 Mb/s: it says one time in 190 where it is one in 81
    let exact = one(crowd(7000.0, &editors(10)).overload().chance);
    let smooth = gaussian(&plain(&editors(10)), 7000.0);
    assert!(smooth < exact / 2.0, "{smooth} {exact}");
}
