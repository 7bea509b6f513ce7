//! Temperatures as points and differences.
//!
//! ```compile_fail,E0369
//! use narrows_physics::copper::Celsius;
//! let wrong = Celsius(20.0) + Celsius(15.0);
//! ```
//! ```
//! use narrows_physics::copper::{Celsius, Kelvins};
//! let warm: Celsius = Celsius(20.0) + Kelvins(15.0);
//! # assert_eq!(warm - Celsius(20.0), Kelvins(15.0));
//! ```

use std::ops::{Add, Sub};

/// A temperature in degrees Celsius.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Celsius(pub f64);

/// A difference of temperatures.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Kelvins(pub f64);

impl Add<Kelvins> for Celsius {
    type Output = Self;
    fn add(self, rise: Kelvins) -> Self {
        Self(self.0 + rise.0)
    }
}

impl Sub for Celsius {
    type Output = Kelvins;
    fn sub(self, other: Self) -> Kelvins {
        Kelvins(self.0 - other.0)
    }
}

impl std::fmt::Display for Celsius {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:.0} C", self.0)
    }
}

impl std::fmt::Display for Kelvins {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:.1} K", self.0)
    }
}
