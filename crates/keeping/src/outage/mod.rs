//! Backup supplies of a site: what hangs on them, whether a change-over passes, how long they last,
//! the chance of riding through a gap, when stopping must begin and what is lost if it does not.

mod answer;
mod gaps;
mod lasting;
mod loads;
mod stop;

pub use answer::{
    Followed, Gap, GapAnswer, InReserve, NeedAnswer, Outage, Question, SupplyAnswer, YearAnswer,
    outage,
};
pub use loads::Load;
pub use stop::StopAnswer;

/// Sentences that belong under every answer about batteries and mains.
pub const CAUTIONS: [&str; 3] = [
    "Mains, batteries and generators hurt and kill: wiring, earthing and transfer switches are for a licensed electrician and the local code; a generator stays outside, for its exhaust.",
    "Replace blocks as the unit's manual says, all at once, and put no lithium pack into a unit made for lead.",
    "An estimate is not a test: only the unit's own test under the real load is, with nothing at work and a fresh copy elsewhere. An array is not a backup.",
];

#[cfg(test)]
mod tests;
