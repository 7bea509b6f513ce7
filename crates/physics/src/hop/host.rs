//! What one processor thread does to every byte: stack, signing, encryption.

use narrows_units::quantity::{
    DataRate, Frequency, Ratio, TimePerInformation, bytes, ratio, units,
};

/// The rate of work that needs a number of clock cycles for each byte: `f / c`.
///
/// `f` clock in Hz, `c` cycles a byte, greater than zero. One core, large blocks.
/// Source: definition; cycles from OpenSSL assembly-module comment tables.
/// Checked by `validate_cycles_per_byte`.
pub fn cipher_rate(clock: Frequency, cycles_per_byte: f64) -> DataRate {
    clock * bytes(1.0) / ratio(cycles_per_byte)
}

/// What a byte costs where one thread does several things to it, one after another:
/// `1/X1 + 1/X2 + ...`.
///
/// `X` rates of the single tasks, each greater than zero. Costs of one thread add; rates never do.
/// Source: definition of a serial resource. Checked by `validate_serial_thread`.
pub fn serial_cost(tasks: &[DataRate]) -> TimePerInformation {
    tasks
        .iter()
        .fold(TimePerInformation::default(), |sum, &rate| {
            sum + ratio(1.0) / rate
        })
}

/// Share of a TLS 1.3 record that is payload: `P / (P + 22)` with `P` = 16384 B.
///
/// Header 5 B, content type 1 B, authentication tag 16 B.
/// Source: RFC 8446 section 5.2. Checked by `validate_record_share`.
pub fn record_share() -> Ratio {
    ratio(16384.0 / (16384.0 + 22.0))
}

/// Gigahertz as a frequency.
pub fn gigahertz(value: f64) -> Frequency {
    Frequency::new::<units::frequency::gigahertz>(value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::{in_megabytes_per_second, megabytes_per_second};

    const SIX_DIGITS: f64 = 5e-6;

    #[test]
    fn validate_cycles_per_byte() {
        let rows = [
            (3.82, 1.5, 392.670),
            (5.75, 1.5, 260.870),
            (2.62, 3.0, 1145.04),
            (4.44, 3.0, 675.676),
            (1.03, 3.0, 2912.62),
            (0.64, 3.0, 4687.50),
            (2.21, 1.5, 678.733),
            (7.80, 3.0, 384.615),
            (20.6, 1.5, 72.8155),
            (4.16, 1.5, 360.577),
            (2.05, 3.0, 1463.41),
        ];
        for (cycles, clock, expected) in rows {
            let found = cipher_rate(gigahertz(clock), cycles);
            assert_relative_eq!(
                in_megabytes_per_second(found),
                expected,
                max_relative = SIX_DIGITS
            );
        }
    }

    #[test]
    fn validate_serial_thread() {
        for (cipher, expected) in [(392.670, 365.344), (2912.62, 1873.33), (1145.04, 940.018)] {
            let cost = serial_cost(&[megabytes_per_second(5250.0), megabytes_per_second(cipher)]);
            let rate: DataRate = ratio(1.0) / cost;
            assert_relative_eq!(
                in_megabytes_per_second(rate),
                expected,
                max_relative = SIX_DIGITS
            );
        }
    }

    #[test]
    fn validate_a_whole_chain_as_arithmetic() {
        // array 600, signing thread, slot 839.578, link 1176.85: the thread decides
        let thread: DataRate = ratio(1.0)
            / serial_cost(&[
                megabytes_per_second(5250.0),
                cipher_rate(gigahertz(1.5), 3.82),
            ]);
        let chain = [600.0, 839.578, 1176.85]
            .map(megabytes_per_second)
            .into_iter()
            .fold(
                thread,
                |least, rate| if rate < least { rate } else { least },
            );
        assert_relative_eq!(
            in_megabytes_per_second(chain),
            365.344,
            max_relative = SIX_DIGITS
        );
        assert_eq!(chain, thread);
    }

    #[test]
    fn validate_record_share() {
        assert_relative_eq!(
            record_share().get::<units::ratio::one>(),
            0.998659,
            max_relative = SIX_DIGITS
        );
    }
}
