//! Measured numbers against changes: is a number right, what is at fault, what to test next.

mod faulty;
mod found;
mod items;
mod list;
mod listener;
mod reading;
mod remarks;
mod sentence;
mod shown;
mod tokens;
mod units;
mod words;

pub use found::{CauseFound, Explanation, FamilyFound, NextTest, ReadingShown, RuledOut, Verdict};
pub use list::ReadingList;
pub use listener::{Listener, Statement};
pub use reading::{Amount, Exactness, Meaning, RateReading, RateUnit, Reading, Remark, What};
pub use remarks::{RemarkRow, Remarks};
pub use units::{UnitMeaning, Units};

#[cfg(test)]
mod tests;
