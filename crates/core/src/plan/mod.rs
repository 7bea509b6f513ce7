//! Search over what could be bought, built or patched: layouts of drives in a number of bays, and who gets
//! the fast ports.
//!
//! A [`Question`] names bays, drives with their prices and what is needed; [`layouts`] looks at every
//! layout of equal groups and says which of them nothing beats. Rates are drawn with the same luck
//! for all layouts; safety is seen from three sides. What the numbers are worth: yearly losses
//! compare layouts and are no promise, and an array is not a backup.

pub mod air;
mod buys;
mod choice;
mod front;
mod handful;
mod layouts;
mod luck;
mod need;
pub mod ports;
pub mod purchases;
mod random;
mod rates;
mod row;
mod safe;
mod shape;
#[cfg(test)]
mod tests;
mod watch;

pub use crate::budget::RequestRange;
pub(crate) use air::between;
pub use choice::DriveChoice;
pub use front::Criterion;
pub use handful::{Pick, Picked, handful};
pub use layouts::{Answer, CAUTIONS, PlanFault, Question, USUAL_PLAN_DRAWS, layouts};
pub use need::{MOST_STREAMS, Need};
pub use row::{Got, Met, Rates, Row};
pub use safe::{Loss, Views, assumed_of_failures};
pub use shape::{MOST_SPARES, Shape, shapes};
pub(crate) use watch::Patience;
pub use watch::{Stopped, Watch};
