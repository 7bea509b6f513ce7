//! Room for more: how many desks of a kind still fit before somebody drops frames.
//!
//! A desk plays for a share of its time, so more desks fit than all of them at once would need. How
//! many more depends on how many streams there is room for: with room for six or fewer the gain is
//! almost nothing, and the answer is the peak rule ([`peak_rule`]). Above that the demand of all
//! desks is worked out exactly on a grid of 1 Mb/s ([`Crowd`]), and desks are let in one after
//! another until spells of too little become too frequent ([`room`]).
//!
//! What is said of a crowd is always three numbers ([`Overload`]): the share of the time in which
//! demand is above what there is, how often that begins, and how often a read-ahead runs dry. One
//! of them alone misleads: one hour in a hundred may be one bad hour or a hitch every ten minutes,
//! and a path that is overloaded all the time has no spells at all.
//!
//! Assumes that desks play and stop on their own; a screening for a team or a shared deadline
//! breaks that, and then the peak rule is the honest one. Copies that take whatever they get are
//! not in the count: on a path that they fill, every play competes with them.

mod admit;
mod crowd;
mod law;
mod stream;

pub use admit::{FEW_STREAMS, Limits, Room, peak_rule, room};
pub use crowd::{Crowd, Overload};
pub use stream::{Stream, StreamFault};

#[cfg(test)]
mod tests;
