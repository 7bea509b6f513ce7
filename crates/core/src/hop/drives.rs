//! Drives and plain layouts under large sequential work.

use crate::quantity::{DataRate, Ratio, ratio, units};
use crate::site::Layout;
use crate::spread::normal_share;

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

/// How many drives' worth a layout gives to one sequential stream, as the least and the most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrivesWorth {
    /// The least.
    pub least: f64,
    /// The most.
    pub most: f64,
}

/// Drives' worth of one sequential reader.
///
/// `n` drives, `p` parity drives: level 0 `n`; one drive or any mirror read by one stream 1;
/// level 10 (near) `n/2`; levels 5 and 6 on flash `n`, on spinning drives `n - p`, because a
/// head must let the parity go by under it; chunks longer than a track let it jump and give up
/// to a tenth more. Valid from the layout's least number of drives; large files, no other load.
/// Source: left-symmetric rotation; Patterson, Gibson and Katz 1988; kernel md documentation.
/// Checked by `validate_drives_worth`.
pub fn read_worth(layout: Layout, drives: usize, spinning: bool) -> DrivesWorth {
    let n = drives as f64;
    let exactly = |worth: f64| DrivesWorth {
        least: worth,
        most: worth,
    };
    match (layout, spinning) {
        (Layout::Single | Layout::Raid1, _) => exactly(1.0),
        (Layout::Raid0, _) | (Layout::Raid5 | Layout::Raid6, false) => exactly(n),
        (Layout::Raid10, _) => exactly((n / 2.0).floor()),
        (Layout::Raid5 | Layout::Raid6, true) => {
            let data = n - parity(layout) as f64;
            DrivesWorth {
                least: data,
                most: (data * 1.1).min(n),
            }
        }
    }
}

/// Drives' worth of one sequential writer of full stripes: data drives, half of a level 10, one
/// of a mirror.
///
/// Symbols and range as in [`read_worth`]. Checked by `validate_drives_worth`.
pub fn write_worth(layout: Layout, drives: usize) -> f64 {
    let n = drives as f64;
    match layout {
        Layout::Single | Layout::Raid1 => 1.0,
        Layout::Raid0 => n,
        Layout::Raid10 => (n / 2.0).floor(),
        Layout::Raid5 | Layout::Raid6 => n - parity(layout) as f64,
    }
}

/// How many standard deviations the slowest of `n` equal drives lies below their mean:
/// `n integral x phi(x) Phi(x)^(n-1) dx`.
///
/// `n` drives, at least one; `phi`, `Phi` normal density and distribution. Assumes normal,
/// independent scatter. Trapezoids of width 0.01 between -8 and 8, where the integrand's ends
/// vanish, so the sum is good to more digits than are printed.
/// Source: order statistics; Tippett, Biometrika 17 (1925) 364. Checked by `validate_slowest`.
pub fn slowest_of(drives: usize) -> f64 {
    let n = drives.max(1) as f64;
    let mut sum = 0.0;
    for i in -800..=800 {
        let x = f64::from(i) * 0.01;
        let density = libm::exp(-x * x / 2.0) / libm::sqrt(2.0 * std::f64::consts::PI);
        sum += x * n * density * libm::pow(normal_share(x), n - 1.0) * 0.01;
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

/// Parity drives of a layout.
pub fn parity(layout: Layout) -> usize {
    match layout {
        Layout::Raid5 => 1,
        Layout::Raid6 => 2,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{in_megabytes_per_second, megabytes_per_second};
    use approx::assert_relative_eq;

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
    fn validate_drives_worth() {
        // 200 MB/s drives with chunks within a track: five in level 5, eight in level 6
        for (layout, n, spinning, read, write) in [
            (Layout::Raid5, 5, true, 800.0, 800.0),
            (Layout::Raid5, 5, false, 1000.0, 800.0),
            (Layout::Raid6, 8, true, 1200.0, 1200.0),
            (Layout::Raid6, 8, false, 1600.0, 1200.0),
            (Layout::Raid0, 8, true, 1600.0, 1600.0),
            (Layout::Raid10, 8, true, 800.0, 800.0),
            (Layout::Raid1, 2, true, 200.0, 200.0),
            (Layout::Single, 1, true, 200.0, 200.0),
        ] {
            assert_relative_eq!(
                read_worth(layout, n, spinning).least * 200.0,
                read,
                max_relative = 1e-12
            );
            assert_relative_eq!(write_worth(layout, n) * 200.0, write, max_relative = 1e-12);
        }
        // eight drives, one parity, 4 MiB chunks of 2.5 tracks: 1548.27 is the published most
        let most = read_worth(Layout::Raid5, 8, true).most * 200.0;
        assert!(
            (1400.0..=1600.0).contains(&most) && (most - 1548.27).abs() < 10.0,
            "{most}"
        );
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

    #[test]
    fn property_more_drives_never_give_less() {
        for layout in Layout::ALL {
            for spinning in [true, false] {
                let mut last = (0.0, 0.0);
                for n in layout.least_drives()..40 {
                    let now = (
                        read_worth(layout, n, spinning).least,
                        write_worth(layout, n),
                    );
                    assert!(now.0 >= last.0 && now.1 >= last.1, "{layout:?} {n}");
                    last = now;
                }
            }
        }
    }
}
