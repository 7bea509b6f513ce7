//! Drives under large sequential work.

use narrows_units::quantity::{DataRate, Ratio, ratio, units};
use narrows_units::spread::normal_share;

/// The rate of a spinning drive where its data lie: `r0 sqrt(1 - (1 - rho^2) x)`.
///
/// `r0` rate at the outer edge, `rho` inner rate over outer rate (0 to 1), `x` share of the
/// capacity that lies further out (0 to 1, empty to full). Assumes constant density over the
/// surface and filling from the outer edge.
/// Source: capacity between radii goes as the difference of their squares, rate as the radius;
/// Van Meter, USENIX 1997, for the measured shape. Checked by `validate_zones`.
pub fn zone_rate(outer: DataRate, inner_ratio: Ratio, fill: Ratio) -> DataRate {
    let (rho, x) = (
        inner_ratio.get::<units::ratio::one>(),
        fill.get::<units::ratio::one>(),
    );
    outer * ratio(libm::sqrt(1.0 - (1.0 - rho * rho) * x))
}

/// How many standard deviations the slowest of `n` equal drives lies below their mean:
/// `n integral x phi(x) Phi(x)^(n-1) dx`.
///
/// `n` drives, at least one; `phi`, `Phi` normal density and distribution. Assumes normal,
/// independent scatter. Trapezoids of width 0.1 between -8 and 8: the integrand is smooth and its
/// ends vanish, so the sum is good to more digits than are printed.
/// Source: order statistics; Tippett, Biometrika 17 (1925) 364. Checked by `validate_slowest`.
pub fn slowest_of(drives: usize) -> f64 {
    let n = drives.max(1) as f64;
    let mut sum = 0.0;
    for i in -80..=80 {
        let x = f64::from(i) * 0.1;
        let density = libm::exp(-x * x / 2.0) / libm::sqrt(2.0 * std::f64::consts::PI);
        sum += x * n * density * libm::pow(normal_share(x), n - 1.0) * 0.1;
    }
    sum
}

/// Share of the mean rate at which drives in step work: `1 - k s`, where the slowest decides.
///
/// `k` from [`slowest_of`], `s` standard deviation over mean. Valid while `k s < 1`; never below
/// one half. Source: as [`slowest_of`]. Checked by `validate_slowest`.
pub fn in_step(slowest: f64, scatter: Ratio) -> Ratio {
    ratio((1.0 - slowest * scatter.get::<units::ratio::one>()).max(0.5))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::{in_megabytes_per_second, megabytes_per_second};

    const SIX_DIGITS: f64 = 5e-6;

    #[test]
    fn validate_zones() {
        for (fill, expected) in [
            (0.1, 240.187),
            (0.25, 224.666),
            (0.5, 196.087),
            (0.75, 162.558),
            (0.9, 138.600),
            (1.0, 120.000),
        ] {
            let found = zone_rate(megabytes_per_second(250.0), ratio(0.48), ratio(fill));
            assert_relative_eq!(
                in_megabytes_per_second(found),
                expected,
                max_relative = SIX_DIGITS
            );
        }
        let empty = zone_rate(megabytes_per_second(250.0), ratio(0.48), ratio(0.0));
        assert_eq!(empty, megabytes_per_second(250.0));
    }

    #[test]
    fn validate_slowest() {
        for (n, expected) in [
            (2, 0.564190),
            (4, 1.02938),
            (6, 1.26721),
            (8, 1.42360),
            (12, 1.62923),
        ] {
            assert_relative_eq!(slowest_of(n), expected, max_relative = SIX_DIGITS);
        }
        assert!(slowest_of(1).abs() < 1e-12);
        // eight drives with 5 % scatter: 0.929 of eight means
        let found = in_step(slowest_of(8), ratio(0.05)).get::<units::ratio::one>();
        assert!((found - 0.929).abs() <= 0.0005, "{found}");
        assert_eq!(
            in_step(2.0, ratio(0.9)),
            ratio(0.5),
            "a wild scatter is cut"
        );
    }
}
