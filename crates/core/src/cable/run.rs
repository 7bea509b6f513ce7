//! A run that is asked about, with what nobody said about it.

use super::power::PowerAsked;
use crate::copper::{FibreGrade, RunPhysics};
use crate::quantity::{Length, LinkRate};
use crate::site::Assumption;

/// One thing a run may be.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// How likely; all cases of a run add up to one.
    pub weight: f64,
    /// What it is then.
    pub physics: RunPhysics,
}

/// What joins the two ends.
#[derive(Clone, Debug, PartialEq)]
pub enum Joint {
    /// Twisted pair, in one or several possible cases; at least one.
    Copper {
        /// What it may be.
        cases: Vec<Case>,
        /// The likeliest make and lay at the middle of its length.
        typical: Box<RunPhysics>,
        /// Rates in question, slowest first.
        rates: Vec<LinkRate>,
    },
    /// Optical fibre.
    Fibre {
        /// What it is, where that is known.
        grade: Option<FibreGrade>,
        /// What its cords are, where that is known; else as the cable.
        cords: Option<FibreGrade>,
        /// How far.
        length: Length,
        /// Mated pairs of plugs on the way.
        mated_pairs: u32,
        /// Splices on the way.
        splices: u32,
    },
    /// Passive twinax.
    Twinax {
        /// How far.
        length: Length,
    },
}

/// A run that is asked about.
#[derive(Clone, Debug, PartialEq)]
pub struct CableRun {
    /// What to call it.
    pub label: String,
    /// Its two ends, where they have names.
    pub between: Option<[String; 2]>,
    /// What joins its ends.
    pub joint: Joint,
    /// The 5th and the 95th percentile of its length.
    pub lengths: [Length; 2],
    /// Power over it, if any.
    pub power: Option<PowerAsked>,
    /// Rates that both ends of a fibre or twinax run know; all, where nobody said.
    pub known: Option<Vec<LinkRate>>,
    /// The rate that somebody read off its ports.
    pub negotiated: Option<LinkRate>,
    /// What nobody said.
    pub assumptions: Vec<Assumption>,
}

impl CableRun {
    /// A twisted pair of the likeliest make and lay, at the middle of its length.
    pub fn typical(&self) -> Option<&RunPhysics> {
        match &self.joint {
            Joint::Copper { typical, .. } => Some(typical),
            _ => None,
        }
    }
}
