//! Whether the cable in the wall will carry it: runs in words, from a site or from a list of jacks,
//! judged rate by rate with what would help, and power over them.
//!
//! A run in words is a list of parts behind commas, in any order: see [`in_words`].

mod checked;
mod describe;
mod heads;
mod jacks;
mod judge;
mod of_site;
mod parts;
mod power;
mod rates;
mod record;
mod run;
mod words;

pub(crate) use describe::in_copper;
pub use describe::in_words;
pub(crate) use jacks::as_far_as_it_goes;
pub use jacks::{JackList, jacks, of_desks};
pub(crate) use judge::HOLDS;
pub use judge::{Advice, Asked, Cabling, Carried, Held, OpticRow, RateRow, Report, TwinaxRow};
pub(crate) use of_site::of_run;
pub use of_site::{SiteRuns, of_site};
pub use power::{Budgeted, PowerAsked, PowerReport};
pub use record::{JackRecord, Noted};
pub use run::{CableRun, Case, Joint};

#[cfg(test)]
mod tests;
