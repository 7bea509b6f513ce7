//! Everybody at once: what each task gets while the others go on, whether it is enough, and how
//! full every place is that several share.
//!
//! Each task is a flow. What it would get alone is what a budget says, draw by draw; it never gets
//! more. Places that several pass (links in each direction, ports, slots, disks, drives with their
//! heads, the NAS's cores) are shared by the one rule of [`crate::allocate`]. Alone, a task gets
//! exactly its budget.

mod acknowledgements;
mod answer;
mod build;
mod draw;
mod network;
mod pictures;
mod plays;
mod room;
mod tally;
mod ways;

pub use answer::{ShareLimit, ShareRange, SharedHop, TaskShare, Together, Total};
pub use network::Network;
pub use pictures::{Handling, SEVERAL, Sees};
pub use plays::{DeskPlays, MOST_LAYERS, Playable, plays};
pub use room::{AtOnce, MoreDesks, Pausing, SiteRoom, room_of};

use crate::budget::{BudgetFault, Warning};
use crate::catalogue::Catalogue;
use crate::quantity::DataRate;
use crate::site::Site;
use crate::spread::Draws;
use crate::work::{Activity, Direction};

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Question {
    /// What every desk does where the site has no tasks.
    pub everyone: Activity,
    /// Which way, then.
    pub direction: Direction,
    /// A rate that every task should reach.
    pub need: Option<DataRate>,
}

/// Predicts what every task of a site gets while all of them go on.
///
/// Without tasks every desk copies, or plays, with every array that it reaches. The same draws give the
/// same answer on any number of processors.
///
/// # Errors
/// Where the catalogue lacks a row, or the site is none that its reader would let pass.
pub fn answer(
    site: &Site,
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Together, BudgetFault> {
    let mut warnings: Vec<Warning> = Vec::new();
    let mut network = Network::of(site, question, catalogue, draws, &mut warnings)?;
    network.acknowledge(site, catalogue)?;
    let found = draw::all(&network);
    let lifted: Vec<(usize, draw::Drawn)> = tally::worth_lifting(&network, &found)
        .into_iter()
        .map(|place| (place, draw::without(&network, place)))
        .collect();
    let scatter = answer::Scatter::drawn(&network, &found, catalogue, draws)?;
    Ok(answer::made(
        site,
        question,
        &network,
        (found, &lifted, &scatter),
        warnings,
    ))
}

#[cfg(test)]
mod tests;
