//! What is known of a number or of a choice, and how it is drawn.
//!
//! Low, likely and high always mean the 5th, 50th and 95th percentile. A positive quantity
//! follows a split log-normal law; where a bound is zero or set by physics the quantile function
//! is a straight line between the percentiles and the bound, so that no draw lies outside.

mod choice;
mod draws;
mod law;
mod parse;
mod ranked;

pub use choice::{Choice, Words};
pub use draws::{Draws, Parts, Strata, USUAL_DRAWS};
pub use law::{Bounds, Law};
pub use law::{SCORE_95, normal_score, normal_share};
pub use ranked::ranked;

use crate::quantity::{Measure, UnitFault, exact_base, exact_together};

/// What is known of one quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread<Q> {
    law: Law,
    quantity: std::marker::PhantomData<Q>,
}

impl<Q: Measure> Spread<Q> {
    /// A quantity that is known.
    pub fn exact(value: Q) -> Self {
        Self::from_law(Law::Exact(value.base()))
    }

    /// From the 5th, 50th and 95th percentile.
    ///
    /// # Errors
    /// Where the three are not in order, negative, or outside the bounds.
    pub fn percentiles(low: Q, likely: Q, high: Q, bounds: Bounds) -> Result<Self, UnitFault> {
        Law::percentiles(low.base(), Some(likely.base()), high.base(), bounds)
            .map(Self::from_law)
            .map_err(|problem| {
                UnitFault::new(0..0, problem, "write low..likely..high, smallest first")
            })
    }

    /// Reads `117 MB/s`, `20..35 m`, `20..31..35 m` or `210 MB/s +- 10 %`.
    ///
    /// # Errors
    /// With the part of the text that is wrong.
    pub fn parse(text: &str, bounds: Bounds) -> Result<Self, UnitFault> {
        parse::law(Q::KIND, text, bounds).map(Self::from_law)
    }

    /// The same, so many times as much: two layers take twice what one takes.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        Self::from_law(self.law.times(factor))
    }

    /// The quantity that follows a law, in base units.
    pub fn from_law(law: Law) -> Self {
        Self {
            law,
            quantity: std::marker::PhantomData,
        }
    }

    /// The law behind it.
    pub fn law(&self) -> &Law {
        &self.law
    }

    /// The value below which the given share of the probability lies.
    ///
    /// Defined for `0 < share < 1`.
    pub fn quantile(&self, share: f64) -> Q {
        Q::from_base(self.law.quantile(share))
    }

    /// The middle value.
    pub fn median(&self) -> Q {
        self.quantile(0.5)
    }

    /// Whether there is nothing left to find out.
    pub fn is_exact(&self) -> bool {
        matches!(self.law, Law::Exact(_))
    }
}

/// As it would be written in a site file.
impl<Q: Measure> std::fmt::Display for Spread<Q> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.law.knots() {
            (low, likely, high) if low < high => {
                let (numbers, unit) = exact_together(Q::KIND, &[low, likely, high]);
                write!(f, "{}", numbers.join(".."))?;
                if unit.is_empty() {
                    Ok(())
                } else {
                    write!(f, " {unit}")
                }
            }
            (value, ..) => f.write_str(&exact_base(Q::KIND, value)),
        }
    }
}

#[cfg(test)]
mod tests;
