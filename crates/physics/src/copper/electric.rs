//! Volts, amperes and ohms; they meet in Ohm's law and in a power.
//!
//! ```
//! use narrows_physics::copper::{Amperes, Ohms, Volts};
//! let drop: Volts = Amperes(0.6) * Ohms(12.5);
//! let lost = drop * Amperes(0.6);
//! # assert_eq!(lost.get::<narrows_units::quantity::units::power::watt>(), 4.5);
//! ```
//! ```compile_fail,E0369
//! use narrows_physics::copper::{Ohms, Volts};
//! let wrong = Volts(50.0) + Ohms(12.5);
//! ```

use narrows_units::quantity::{Power, units};
use std::ops::Mul;

/// An electric potential difference.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Volts(pub f64);

/// An electric current.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Amperes(pub f64);

/// An electric resistance.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Ohms(pub f64);

impl Mul<Ohms> for Amperes {
    type Output = Volts;
    fn mul(self, resistance: Ohms) -> Volts {
        Volts(self.0 * resistance.0)
    }
}

impl Mul<Amperes> for Volts {
    type Output = Power;
    fn mul(self, current: Amperes) -> Power {
        Power::new::<units::power::watt>(self.0 * current.0)
    }
}
