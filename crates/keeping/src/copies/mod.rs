//! Copies elsewhere: whether they keep up, how old the newest one is, how long until work goes on,
//! and what is lost in a year.
//!
//! An array is not a backup, and a copy counts once it has been read back.

mod age;
mod keeping_up;
mod loss;
mod restore;
mod unseen;
mod yearly_cost;

pub use age::{Runs, rotated, silent_stop};
pub use keeping_up::{Backlog, Line, backlog, chain_whole, first_copy, held_by_chain};
pub use loss::{
    CopyFate, Event, LossOfEvent, idle_hours, in_years, loss_of_event, with_own_failure,
};
pub use restore::Restore;
pub use unseen::{
    both_damaged, both_silent, dead_on_the_shelf, most_bad_when_none_seen, seen_in_sample,
    share_damaged,
};
pub use yearly_cost::{OwnCopy, internet_cost, own_cost};

#[cfg(test)]
mod tests;
