//! Texts in the documented form with made-up values, and oddities.

mod documented;
mod oddities;

use narrows_units::quantity::{DataRate, LinkRate, in_megabytes_per_second};

fn gigabits(n: u64) -> LinkRate {
    LinkRate::from_megabits(n * 1000)
}

/// Six significant digits.
#[track_caller]
fn close(found: f64, printed: f64) {
    assert!(
        (found - printed).abs() <= 6e-6 * printed.abs(),
        "{found} for {printed}"
    );
}

fn mb_s(rate: DataRate) -> f64 {
    in_megabytes_per_second(rate)
}
