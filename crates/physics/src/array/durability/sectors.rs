use super::{share_failed, yearly};
use narrows_units::quantity::units::information::byte;
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{Information, Ratio, Time, ratio};

/// The chance of at least one unreadable sector in reading so much, from a rate a bit as data
/// sheets state it: `1 - (1 - b)^(8 B)`.
///
/// Valid as an upper bound: data sheets state ceilings, and errors come in clusters. Gray and van
/// Ingen (2005) moved 2 PB and met 5 where 1e-14 a bit would give 160. The rebuild of an array meets
/// a file, not the whole. Checked by `validate_unreadable_sectors`.
pub fn unreadable_in_reading(per_bit: Ratio, read: Information) -> Ratio {
    let bits = 8.0 * read.get::<byte>();
    ratio(-libm::expm1(
        bits * libm::log1p(-per_bit.get::<one>().clamp(0.0, 1.0)),
    ))
}

/// The chance that a drive holds a sector that nobody knows to be unreadable, at any moment.
///
/// Drives develop such sectors at a constant rate (given as the share of drives in a year) and a
/// scrub finds them: half an interval old on average, `q = rate * interval / 2`, at most 1.
/// Source: field form after Bairavasundaram et al. 2007 (1.53 million drives). Checked by
/// `validate_unreadable_sectors`.
pub fn latent_on_a_drive(drives_a_year: Ratio, scrub_interval: Time) -> Ratio {
    let q = (yearly(drives_a_year) * scrub_interval).get::<one>() / 2.0;
    ratio(q.clamp(0.0, 1.0))
}

/// The chance that one of several drives holds one: `1 - (1 - q)^n`.
pub fn any_unreadable(on_a_drive: Ratio, drives: usize) -> Ratio {
    let q = on_a_drive.get::<one>().clamp(0.0, 1.0);
    ratio(-libm::expm1(drives as f64 * libm::log1p(-q)))
}

/// The chance that a drive develops an unreadable sector within a time.
pub(super) fn developed(drives_a_year: Ratio, drives: usize, time: Time) -> f64 {
    share_failed(yearly(drives_a_year) * drives as f64, time).get::<one>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::units::time::day;
    use narrows_units::quantity::{percent, terabytes};

    /// Half a unit of the sixth printed digit.
    const PRINTED: f64 = 5e-6;

    #[test]
    fn validate_unreadable_sectors() {
        // 1 - exp(-8 b B) for 4, 12, 36 and 84 TB
        for (per_bit, row) in [
            (1e-14, [0.273851, 0.617107, 0.943865, 0.998793]),
            (1e-15, [0.0314934, 0.0915360, 0.250238, 0.489314]),
            (1e-16, [0.00319489, 0.00955407, 0.0283892, 0.0649918]),
        ] {
            for (read, expected) in [4.0, 12.0, 36.0, 84.0].into_iter().zip(row) {
                let found = unreadable_in_reading(ratio(per_bit), terabytes(read));
                assert_relative_eq!(found.get::<one>(), expected, max_relative = PRINTED);
            }
        }
        // 3.15 % of drives a year, seven drives left: scrub every 7, 14, 30 and 365 days
        for (days, expected) in [
            (7.0, 0.00214642),
            (14.0, 0.00428890),
            (30.0, 0.00917118),
            (365.0, 0.106787),
        ] {
            let q = latent_on_a_drive(percent(3.15), Time::new::<day>(days));
            let found = any_unreadable(q, 7).get::<one>();
            assert_relative_eq!(found, expected, max_relative = PRINTED);
        }
        // the data sheet's 1e-14 overstates a scrub every two weeks 233 times
        let sheet = unreadable_in_reading(ratio(1e-14), terabytes(84.0)).get::<one>();
        let field = any_unreadable(latent_on_a_drive(percent(3.15), Time::new::<day>(14.0)), 7);
        assert_relative_eq!(
            sheet / field.get::<one>(),
            233.0,
            max_relative = 0.5 / 233.0
        );
    }

    #[test]
    fn a_drive_never_scrubbed_is_certain_in_the_end() {
        let q = latent_on_a_drive(percent(90.0), Time::new::<day>(36500.0));
        assert_relative_eq!(q.get::<one>(), 1.0);
        assert_relative_eq!(any_unreadable(q, 1).get::<one>(), 1.0);
        assert_relative_eq!(
            unreadable_in_reading(ratio(-1.0), terabytes(1.0)).get::<one>(),
            0.0
        );
    }
}
