//! The rule of thumb for who gets a fast port, on published figures: what waits over the slowest of port,
//! cable, card and disk. The program takes the whole budget of a desk in its place.

use super::super::assign::{Cost, assign, sum};
use crate::quantity::{DataRate, Information, LinkRate, Time, megabytes, units::time::second};

/// `D / min(r)`.
fn waiting(load: Information, rates: &[DataRate]) -> Option<Time> {
    let slowest = rates
        .iter()
        .copied()
        .reduce(|a, b| if b < a { b } else { a })?;
    (slowest > DataRate::default()).then(|| load / slowest)
}

/// Loads of five desks in GB a day, and the ports that there are.
const LOADS: [f64; 5] = [1200.0, 800.0, 300.0, 60.0, 20.0];
const PORTS: [f64; 5] = [10.0, 10.0, 2.5, 1.0, 1.0];

fn gigabits(rate: f64) -> DataRate {
    LinkRate::from_megabits((rate * 1000.0) as u64).signalled()
}

/// Milliseconds that each load takes over each port, with a cable of its own.
fn costs(caps: [f64; 5]) -> Vec<Vec<Option<Cost>>> {
    let of = |load: f64, cap: f64, port: f64| {
        let time = waiting(megabytes(load * 1e3), &[gigabits(port), gigabits(cap)])?;
        Some((time.get::<second>() * 1e3).round() as Cost)
    };
    let row = |(load, cap): (&f64, &f64)| PORTS.iter().map(|p| of(*load, *cap, *p)).collect();
    LOADS.iter().zip(&caps).map(row).collect()
}

#[test]
fn validate_waiting_of_five_loads() {
    let free = costs([100.0; 5]);
    let sorted: Vec<Option<usize>> = (0..5).map(Some).collect();
    let turned: Vec<Option<usize>> = (0..5).rev().map(Some).collect();
    assert_eq!(sum(&free, &sorted), 3_200_000);
    assert_eq!(sum(&free, &assign(&free)), 3_200_000);
    assert_eq!(sum(&free, &turned), 17_024_000);
    // with a cable that carries 2.5 Gb/s at the first desk, sorting is no longer best
    let capped = costs([2.5, 10.0, 10.0, 10.0, 1.0]);
    let found = assign(&capped);
    assert_eq!(sum(&capped, &sorted), 6_080_000);
    assert_eq!(sum(&capped, &found), 5_360_000);
    let ports: Vec<f64> = found.iter().flatten().map(|&c| PORTS[c]).collect();
    let expected = [2.5, 10.0, 10.0, 1.0, 1.0];
    let far = |(a, b): (&f64, &f64)| (a - b).abs();
    assert!(
        ports.iter().zip(&expected).map(far).sum::<f64>() < 1e-9,
        "{ports:?}"
    );
}

#[test]
fn nothing_is_waited_for_over_nothing() {
    assert_eq!(waiting(megabytes(1.0), &[]), None);
    assert_eq!(waiting(megabytes(1.0), &[DataRate::default()]), None);
}
