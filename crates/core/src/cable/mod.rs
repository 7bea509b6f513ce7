//! Whether the cable in the wall will carry it: runs in words, from a site or from a list of jacks,
//! judged rate by rate with what would help, and power over them.
//!
//! A run in words is a list of parts behind commas, in any order: see [`in_words`].

mod describe;
mod jacks;
mod judge;
mod of_site;
mod parts;
mod power;
mod rates;
mod run;
pub(crate) mod sheet;
mod words;

pub use describe::in_words;
pub use jacks::{JackList, jacks};
pub use judge::{Advice, Asked, Cabling, Carried, Held, OpticRow, RateRow, Report, TwinaxRow};
pub use of_site::{SiteRuns, of_site};
pub use power::{Budgeted, PowerAsked, PowerReport};
pub use run::{CableRun, Case, Joint};

#[cfg(test)]
mod tests;
