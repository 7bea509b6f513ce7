//! The day: jobs with a size, a start and an hour at which they are due, over what they share.
//!
//! A list of jobs comes from a spreadsheet ([`jobs`]). While the same jobs run, each moves at the
//! rate that the one rule for sharing gives it ([`crate::allocate::fill`]); whenever one starts or
//! ends the rates are worked out anew ([`play`]). What comes out is when each ends, how much of it
//! was done when it was due, and what it waited for.
//!
//! This is a fluid: bytes flow at steady rates between two events, without the scatter of real
//! connections over seconds. Over minutes and hours that scatter evens out.

mod answer;
mod clock;
mod columns;
mod course;
mod jobs;
mod paths;
mod size;
mod ways;

pub use answer::{Costs, Day, Needs, Network, Played, all_ways, day};
pub use clock::clock;
pub(crate) use clock::read as hour;
pub use course::{Course, Leg, LegVisit, Load, Span, Wait, play};
pub use jobs::{Job, JobList, Spot, jobs};
pub use paths::{Paths, paths};
pub use ways::Way;

#[cfg(test)]
mod tests;
