//! What can be drawn.

mod bars;
mod day;
mod front;
mod growth;
mod ledger;
mod margin;
mod margins;
mod place;
mod rooms;
mod shares;

pub use day::day;
pub use front::front;
pub(crate) use front::letter;
pub use growth::growth;
pub(crate) use growth::{months, terabytes};
pub use ledger::ledger;
pub(crate) use ledger::{numbers, who};
pub use margin::{Curve, SPAN, margin};
pub use margins::margins;
pub(crate) use margins::margins_in_parts;
pub(crate) use margins::{chance, ends, wanted};
pub use place::{place, tall_place};
pub use rooms::rooms;
pub(crate) use shares::shares_in_parts;
pub use shares::{places, shares};
