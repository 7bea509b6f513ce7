//! The copy tool.

use narrows_units::quantity::{DataRate, Information, Time, TimePerInformation, ratio, units};

/// What a byte costs a tool that reads, then writes, and never both: `1/Xr + 1/Xw`.
///
/// `Xr`, `Xw` rates of source and target. With overlap the cost is the larger of the two.
/// Source: definition of a serial resource. Checked by `validate_serial_copy`.
pub fn serial_copy_cost(read: DataRate, write: DataRate) -> TimePerInformation {
    ratio(1.0) / read + ratio(1.0) / write
}

/// Time of an overlapped copy in pieces: `b/Xr + (ceil(F/b) - 1) max(b/Xr, b/Xw) + b/Xw`.
///
/// `F` file and `b` piece in bytes, `F >= b > 0`; `Xr`, `Xw` rates of source and target.
/// Source: two-stage pipeline. Checked by `validate_pipeline`.
pub fn pipeline_time(
    file: Information,
    piece: Information,
    read: DataRate,
    write: DataRate,
) -> Time {
    let pieces = libm::ceil((file / piece).get::<units::ratio::one>());
    let (reading, writing) = (piece / read, piece / write);
    let slower = if reading > writing { reading } else { writing };
    reading + slower * ratio(pieces - 1.0) + writing
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::{
        in_megabytes_per_second, megabytes, megabytes_per_second, units,
    };

    const SIX_DIGITS: f64 = 5e-6;

    fn mb(rate: f64) -> DataRate {
        megabytes_per_second(rate)
    }

    #[test]
    fn validate_serial_copy() {
        for (read, write, expected) in [
            (500.0, 110.0, 90.1639),
            (550.0, 550.0, 275.0),
            (1176.85, 400.0, 298.532),
            (117.685, 117.685, 58.8425),
        ] {
            let rate: DataRate = ratio(1.0) / serial_copy_cost(mb(read), mb(write));
            assert_relative_eq!(
                in_megabytes_per_second(rate),
                expected,
                max_relative = SIX_DIGITS
            );
        }
    }

    #[test]
    fn validate_pipeline() {
        let time = |file: f64, read: f64, write: f64| {
            pipeline_time(megabytes(file), megabytes(1.0), mb(read), mb(write))
                .get::<units::time::second>()
        };
        assert_relative_eq!(
            time(1000.0, 500.0, 110.0),
            9.09291,
            max_relative = SIX_DIGITS
        );
        assert_relative_eq!(
            1000.0 / time(1000.0, 500.0, 110.0),
            109.976,
            max_relative = SIX_DIGITS
        );
        assert_relative_eq!(
            4.0 / time(4.0, 500.0, 110.0),
            104.265,
            max_relative = SIX_DIGITS
        );
        assert_relative_eq!(
            10.0 / time(10.0, 500.0, 500.0),
            454.545,
            max_relative = SIX_DIGITS
        );
    }
}
