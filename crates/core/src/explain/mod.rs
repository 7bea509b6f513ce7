//! Measured numbers against changes: is a number right, what is at fault, what to test next.

mod found;
mod reading;

pub use found::{CauseFound, Explanation, FamilyFound, NextTest, ReadingShown, RuledOut, Verdict};
pub use reading::{Amount, Exactness, Meaning, RateReading, RateUnit, Reading, Remark, What};
