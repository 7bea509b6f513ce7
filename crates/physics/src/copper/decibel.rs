//! Decibels, powers and spectra on the logarithmic scale, kept apart by type.
//!
//! Two ratios add, and a ratio shifts a power or a spectrum:
//!
//! ```
//! use narrows_physics::copper::{Decibels, DecibelMilliwatts};
//! let received: DecibelMilliwatts = DecibelMilliwatts(4.2) - (Decibels(11.8) + Decibels(1.0));
//! # assert!((received.0 + 8.6).abs() < 1e-12);
//! ```
//!
//! Two powers on a logarithmic scale do not add (their milliwatts do: [`power_sum`]):
//!
//! ```compile_fail,E0369
//! use narrows_physics::copper::DecibelMilliwatts;
//! let wrong = DecibelMilliwatts(4.2) + DecibelMilliwatts(4.2);
//! ```
//! ```
//! use narrows_physics::copper::{DecibelMilliwatts, power_sum};
//! let right = power_sum([DecibelMilliwatts(4.2), DecibelMilliwatts(4.2)]);
//! # assert!((right.unwrap().0 - 7.2103).abs() < 1e-4);
//! ```
//!
//! A spectrum is not a power until a bandwidth is given:
//!
//! ```compile_fail,E0308
//! use narrows_physics::copper::{DecibelMilliwatts, DecibelMilliwattsPerHertz};
//! let power: DecibelMilliwatts = DecibelMilliwattsPerHertz(-81.0);
//! ```
//! ```
//! use narrows_physics::copper::{DecibelMilliwatts, DecibelMilliwattsPerHertz, megahertz};
//! let power: DecibelMilliwatts = DecibelMilliwattsPerHertz(-81.0).over(megahertz(400.0));
//! # assert!((power.0 - 5.0206).abs() < 1e-4);
//! ```

use narrows_units::quantity::{Frequency, Ratio, ratio, units};
use std::ops::{Add, Neg, Sub};

/// A ratio of powers, 10 times its common logarithm; losses are positive.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Decibels(pub f64);

/// A power against one milliwatt.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct DecibelMilliwatts(pub f64);

/// A power a hertz against one milliwatt a hertz.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct DecibelMilliwattsPerHertz(pub f64);

/// Ten to the tenth part: the ratio behind a number of decibels.
pub(super) fn linear(decibels: f64) -> f64 {
    libm::exp(decibels * (std::f64::consts::LN_10 / 10.0))
}

/// The decibels of a ratio.
pub(super) fn decibels(linear: f64) -> f64 {
    10.0 * libm::log10(linear)
}

impl Decibels {
    /// The ratio of powers.
    pub fn power_ratio(self) -> Ratio {
        ratio(linear(self.0))
    }

    /// From a ratio of powers; none where it is not positive.
    pub fn of(power_ratio: Ratio) -> Option<Self> {
        let value = power_ratio.get::<units::ratio::one>();
        (value > 0.0).then(|| Self(decibels(value)))
    }
}

impl DecibelMilliwattsPerHertz {
    /// The power of a flat spectrum over a bandwidth.
    ///
    /// `P = S + 10 log10 B`, `B` in hertz. Valid for `B > 0`; the docs of this module check it.
    pub fn over(self, bandwidth: Frequency) -> DecibelMilliwatts {
        DecibelMilliwatts(self.0 + decibels(bandwidth.get::<units::frequency::hertz>()))
    }
}

/// The sum of powers, milliwatt for milliwatt; none for no powers.
pub fn power_sum(powers: impl IntoIterator<Item = DecibelMilliwatts>) -> Option<DecibelMilliwatts> {
    let sum: f64 = powers.into_iter().map(|p| linear(p.0)).sum();
    (sum > 0.0).then(|| DecibelMilliwatts(decibels(sum)))
}

impl Add for Decibels {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Decibels {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Decibels {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

macro_rules! shifted_by_decibels {
    ($($level:ident),+) => {$(
        impl Add<Decibels> for $level {
            type Output = Self;
            fn add(self, shift: Decibels) -> Self {
                Self(self.0 + shift.0)
            }
        }
        impl Sub<Decibels> for $level {
            type Output = Self;
            fn sub(self, shift: Decibels) -> Self {
                Self(self.0 - shift.0)
            }
        }
        impl Sub for $level {
            type Output = Decibels;
            fn sub(self, other: Self) -> Decibels {
                Decibels(self.0 - other.0)
            }
        }
    )+};
}
shifted_by_decibels!(DecibelMilliwatts, DecibelMilliwattsPerHertz);

impl std::fmt::Display for Decibels {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:+.1} dB", self.0)
    }
}

impl std::fmt::Display for DecibelMilliwatts {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:.1} dBm", self.0)
    }
}

impl std::fmt::Display for DecibelMilliwattsPerHertz {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:.1} dBm/Hz", self.0)
    }
}
