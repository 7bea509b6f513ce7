//! How safe an array is: how long it rebuilds, how likely it is lost, how likely a file is
//! damaged, and how many bytes that costs.
//!
//! Three measures stay apart, because they are a thousandfold apart: the loss of the whole array,
//! an unreadable sector found while no redundancy is left (one file), and expected bytes lost.
//! All rest on a floor: one cause that reaches all drives at once. An array is not a backup.

mod chain;
mod measure;
mod outlook;
mod rebuild;
mod sectors;
#[cfg(test)]
mod simulation;

pub use chain::{RepairChain, Repairs};
pub use measure::{NOT_A_BACKUP, Safety, safety};
pub use outlook::{Outlook, View};
pub use rebuild::{Rebuild, RebuildInterval, declustered_share};
pub use sectors::{any_unreadable, latent_on_a_drive, unreadable_in_reading};

use narrows_units::quantity::units::frequency::per_hour;
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{Frequency, Ratio, Time, ratio, units};

/// Hours that a year has here: 365 days, as failure rates are stated.
pub const HOURS_A_YEAR: f64 = 8760.0;

/// One year.
pub fn year() -> Time {
    Time::new::<units::time::hour>(HOURS_A_YEAR)
}

/// The constant rate at which a given share of drives fails within a year:
/// `-ln(1 - share) / 8760 h`. A share outside 0 to 1 is cut off just below 1.
///
/// Source: exponential life; `8760 / MTTF` is the rate, not the share. Checked by
/// `validate_failure_rates`.
pub fn yearly(share: Ratio) -> Frequency {
    let share = share.get::<one>().clamp(0.0, 1.0 - 1e-12);
    Frequency::new::<per_hour>(-libm::log1p(-share) / HOURS_A_YEAR)
}

/// The share that fails within a time at a constant rate: `1 - exp(-rate time)`.
pub fn share_failed(rate: Frequency, time: Time) -> Ratio {
    ratio(-libm::expm1(-(rate * time).get::<one>()))
}

/// `1 - (1 - a)(1 - b)...`, without losing small shares.
pub fn either(shares: impl Iterator<Item = f64>) -> f64 {
    -libm::expm1(shares.map(|p| libm::log1p(-p)).sum())
}

/// Why a durability cannot be computed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DurabilityFault {
    /// A rate, time or share that makes no sense.
    Outside {
        /// What.
        what: &'static str,
        /// What is allowed.
        allowed: &'static str,
    },
}

impl std::fmt::Display for DurabilityFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Outside { what, allowed } => write!(f, "{what} is out of range; {allowed}"),
        }
    }
}

impl std::error::Error for DurabilityFault {}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::percent;

    #[test]
    fn a_fault_says_what_is_allowed() {
        let fault = DurabilityFault::Outside {
            what: "a rate of failures",
            allowed: "0 to 100 % a year",
        };
        assert_eq!(
            fault.to_string(),
            "a rate of failures is out of range; 0 to 100 % a year"
        );
    }

    #[test]
    fn validate_failure_rates() {
        const PRINTED: f64 = 5e-6;
        let rate = yearly(percent(1.5));
        assert_relative_eq!(rate.get::<per_hour>(), 1.72530e-6, max_relative = PRINTED);
        assert_relative_eq!(
            1.0 / rate.get::<per_hour>(),
            579609.0,
            max_relative = PRINTED
        );
        // a mean time of 1e6 h is 0.872174 % a year, not 0.876
        let share = share_failed(Frequency::new::<per_hour>(1e-6), year());
        assert_relative_eq!(share.get::<one>(), 0.00872174, max_relative = PRINTED);
        assert!(yearly(ratio(1.5)).get::<per_hour>().is_finite());
        assert_eq!(yearly(ratio(-1.0)), Frequency::default());
    }
}
