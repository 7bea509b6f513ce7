//! How much is shot, and how long it takes to get it off the cards, backed up and sent.

use crate::quantity::{DataRate, Information, Ratio, Time};

/// Time to empty a card: `S / X`, and `S / V` on top where the copy is read back and compared.
///
/// `S` bytes on the card, `X` rate of the copy (the least of card, reader, path and array), `V`
/// rate at which the copy is read back (the least of path and array). Assumes that reading back
/// begins when the copy is whole, as tools that list checksums of whole files do. Valid for rates
/// above zero. Source: bytes over rates; waits of one thread add. Checked by `validate_cards`.
pub fn offload_time(size: Information, copy: DataRate, read_back: Option<DataRate>) -> Time {
    let written: Time = size / copy;
    match read_back {
        Some(rate) => written + size / rate,
        None => written,
    }
}

/// What a production shoots: `k t n r`.
///
/// `k` shooting ratio (minutes shot for a minute used, a camera), `t` length of the film, `n`
/// cameras that shoot at the same time, `r` rate of the recording. Leaves out renders, caches and
/// versions. Source: definition of the shooting ratio. Checked by `validate_shot_volume`.
pub fn shot_volume(shooting: Ratio, film: Time, cameras: Ratio, rate: DataRate) -> Information {
    rate * film * shooting * cameras
}

/// The rate that a backup needs: `B / t`.
///
/// `B` bytes that changed, `t` window in which they have to be through. Checked by
/// `validate_backup`.
pub fn backup_rate(changed: Information, window: Time) -> DataRate {
    changed / window
}

/// Time to send something over an access line: `S / (e R)`.
///
/// `S` bytes, `R` rate of the line towards the world, `e` share of it that is payload (0 to 1).
/// Checked by `validate_upload`.
pub fn upload_time(size: Information, line: DataRate, payload: Ratio) -> Time {
    size / (line * payload)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{
        in_megabytes_per_second, megabytes_per_second, percent, ratio, terabytes, units,
    };
    use approx::assert_relative_eq;

    /// Vectors print six digits: half a unit of the last one, relative to the smallest leading
    /// digit.
    const SIX_DIGITS: f64 = 5e-6;

    fn gigabytes(count: f64) -> Information {
        Information::new::<units::information::gigabyte>(count)
    }

    fn hours(count: f64) -> Time {
        Time::new::<units::time::hour>(count)
    }

    fn megabits(rate: f64) -> DataRate {
        DataRate::new::<units::data_rate::megabit_per_second>(rate)
    }

    #[test]
    fn validate_cards() {
        for (rate, minutes) in [
            (104.0, 82.0513),
            (312.0, 27.3504),
            (624.0, 13.6752),
            (985.0, 8.66328),
            (3940.0, 2.16582),
            (1000.0, 8.53333),
            (2000.0, 4.26667),
            (4000.0, 2.13333),
            (113.0, 75.5162),
            (1100.0, 7.75758),
        ] {
            let found = offload_time(gigabytes(512.0), megabytes_per_second(rate), None);
            let found = found.get::<units::time::minute>();
            assert_relative_eq!(found, minutes, max_relative = SIX_DIGITS);
        }
        // a card of 800 MB/s over a path of 600 MB/s, read back over the same path
        let path = megabytes_per_second(600.0);
        let found = offload_time(gigabytes(512.0), path, Some(path));
        let found = found.get::<units::time::minute>();
        assert_relative_eq!(found, 28.4444, max_relative = SIX_DIGITS);
    }

    #[test]
    fn validate_shot_volume() {
        let found = shot_volume(ratio(10.0), hours(0.5), ratio(3.0), megabits(400.0));
        assert_relative_eq!(found.get::<units::information::gigabyte>(), 2700.0);
    }

    #[test]
    fn validate_backup() {
        let found = backup_rate(terabytes(4.0), hours(8.0));
        let found_bits = found.get::<units::data_rate::megabit_per_second>();
        assert_relative_eq!(
            in_megabytes_per_second(found),
            138.889,
            max_relative = SIX_DIGITS
        );
        assert_relative_eq!(found_bits, 1111.11, max_relative = SIX_DIGITS);
    }

    #[test]
    fn validate_upload() {
        let found = upload_time(gigabytes(500.0), megabits(100.0), percent(90.0));
        let found = found.get::<units::time::hour>();
        assert_relative_eq!(found, 12.3457, max_relative = SIX_DIGITS);
    }

    #[test]
    fn validate_tapes() {
        // a tape is a card that is written: native size over native rate
        for (size, rate, filled) in [
            (6.0, 300.0, 5.55556),
            (12.0, 360.0, 9.25926),
            (18.0, 400.0, 12.5),
        ] {
            let found = offload_time(terabytes(size), megabytes_per_second(rate), None);
            let found = found.get::<units::time::hour>();
            assert_relative_eq!(found, filled, max_relative = SIX_DIGITS);
        }
    }
}
