//! Vectors of the standards and of published papers, at the digits they print.

mod anomaly;
mod cells;
mod drawn;
mod path;
mod rates;
mod signals;
mod slabs;
mod times;

use narrows_units::quantity::{Measure, three_digits};

/// The vectors have six digits, so that the last one may differ by one.
const SIX_DIGITS: f64 = 6e-6;

#[track_caller]
fn close(found: f64, expected: f64) {
    let off = (found - expected).abs();
    assert!(
        off <= SIX_DIGITS * expected.abs().max(1.0),
        "{found} is not {expected}"
    );
}

/// Rates on the air are printed to a tenth of a megabit or better, Mb/s.
const PRINTED: f64 = 0.051;

/// Some rates are printed with five.
const FIVE_DIGITS: f64 = 1e-5;

/// A number of megabytes a second.
#[track_caller]
fn rate(found: narrows_units::quantity::DataRate, expected: f64) {
    let found = found.base() / 1e6;
    assert!(
        (found - expected).abs() <= FIVE_DIGITS * expected,
        "{} is not {expected}",
        three_digits(found)
    );
}
