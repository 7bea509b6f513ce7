//! Pause frames: how long one of them stops a port.

use narrows_units::quantity::{LinkRate, Time, bytes};

/// Bytes that pass in one quantum of a pause: 512 bit times (IEEE 802.3 Annex 31B).
const QUANTUM: f64 = 64.0;

/// The longest that one pause frame stops a port: `512 q / R`.
///
/// `q` quanta, at most 65535; `R` rate of the link in bit/s, above zero. A pause can be renewed
/// before it ends, and it stops everything that goes over the port: a switch that holds a fast
/// port back for the sake of a slow one holds the fast one's other streams back too.
/// Source: IEEE 802.3 Annex 31B; Feuser and Wenzel, LCN 1999, for what mixed speeds make of it.
/// Checked by `validate_longest_pauses`.
pub fn longest_pause(rate: LinkRate, quanta: u16) -> Time {
    bytes(QUANTUM * f64::from(quanta)) / rate.signalled()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::units;

    /// Half a unit of the sixth printed digit.
    const SIX_DIGITS: f64 = 5e-6;

    #[test]
    fn validate_longest_pauses() {
        for (megabits, expected) in [(100, 335.539), (1000, 33.5539), (10_000, 3.35539)] {
            let found = longest_pause(LinkRate::from_megabits(megabits), u16::MAX);
            assert_relative_eq!(
                found.get::<units::time::millisecond>(),
                expected,
                max_relative = SIX_DIGITS
            );
        }
    }

    #[test]
    fn a_pause_of_no_quanta_lets_go_at_once() {
        let found = longest_pause(LinkRate::from_megabits(1000), 0);
        assert_eq!(found, Time::default());
    }
}
