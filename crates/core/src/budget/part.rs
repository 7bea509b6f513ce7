//! What the model of one place gives to a path, and how a path is collected from such parts.

use super::Warning;
use super::hop::{Chain, Fork, Hop, Tiring};
use crate::quantity::Information;
use crate::working::Column;

/// Hops of one place, with what else is known of it.
#[derive(Default)]
pub(super) struct Part {
    /// In the order from desk to array.
    pub hops: Vec<Hop>,
    pub forks: Vec<Fork>,
    pub warnings: Vec<Warning>,
    /// The draws in which some cable makes errors; empty where none does.
    pub errors: Vec<bool>,
    /// The draws in which some cable gives no link; empty where all do.
    pub dead: Vec<bool>,
    /// Flash that slows down in a long write.
    pub tiring: Option<Tiring>,
    /// Free space at the receiving end of a long copy.
    pub room: Option<Column<Information>>,
}

impl From<Hop> for Part {
    fn from(hop: Hop) -> Self {
        Self {
            hops: vec![hop],
            ..Self::default()
        }
    }
}

impl Part {
    /// The same with a warning, where there is one.
    pub(super) fn warned(mut self, warning: Option<Warning>) -> Self {
        self.warnings.extend(warning);
        self
    }

    /// Puts another part behind this one. A fork on the same unknown is kept once.
    pub(super) fn add(&mut self, other: Self) {
        self.hops.extend(other.hops);
        for fork in other.forks {
            if self.forks.iter().all(|known| known.on != fork.on) {
                self.forks.push(fork);
            }
        }
        self.warnings.extend(other.warnings);
        mark(&mut self.errors, &other.errors);
        mark(&mut self.dead, &other.dead);
        self.tiring = other.tiring.or(self.tiring.take());
        self.room = other.room.or(self.room.take());
    }

    /// All hops of one flow; what was noticed goes to `warnings`.
    pub(super) fn chain(
        self,
        write_cache: Option<Column<Information>>,
        warnings: &mut Vec<Warning>,
    ) -> Chain {
        warnings.extend(self.warnings);
        Chain {
            hops: self.hops,
            forks: self.forks,
            write_cache,
            tiring: self.tiring,
            dead: self.dead,
            room: self.room,
        }
    }
}

/// Marks in `all` the draws that are marked in `some`; a list is empty where it marks none.
pub(super) fn mark(all: &mut Vec<bool>, some: &[bool]) {
    if !some.contains(&true) {
        return;
    }
    if all.len() < some.len() {
        all.resize(some.len(), false);
    }
    for (any, one) in all.iter_mut().zip(some) {
        *any |= one;
    }
}
