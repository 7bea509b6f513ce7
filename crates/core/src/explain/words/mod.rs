//! What a person says, in words or in a list, as readings and remarks.
//!
//! A text is split into `tokens`; numbers with their units become `items`; `sentence` takes the
//! phrases of a reading out of them (numbers by `rates` and `quantities`) and `remarks` the patterns of a remark. `listener` decides which
//! of the two a text is.

mod dated;
mod faulty;
mod items;
mod joined;
mod list;
mod listener;
mod open;
mod phrases;
mod pieces;
mod quantities;
mod rates;
mod remarks;
mod sentence;
mod shown;
mod then;
mod tokens;
mod units;

pub use list::ReadingList;
pub use listener::{Listener, Statement};
pub use open::{Meant, Understood, Value};
pub(super) use remarks::{NOTHING, better};
pub use remarks::{RemarkRow, Remarks};
pub use units::{UnitMeaning, Units};

#[cfg(test)]
mod tests;
