//! A run that is asked about, with what nobody said about it.

use super::power::PowerAsked;
use crate::copper::{FibreGrade, RunPhysics};
use crate::quantity::{Length, LinkRate, Measure, exact};
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
    /// Whether it may be one of several kinds of twisted pair, since nobody said which.
    pub fn is_of_unknown_make(&self) -> bool {
        let Joint::Copper { cases, .. } = &self.joint else {
            return false;
        };
        let mut kinds = cases.iter().map(|case| case.physics.category);
        let first = kinds.next();
        kinds.any(|kind| Some(kind) != first)
    }

    /// Kind, length and lay as far as they are sure, as a site file takes them.
    pub fn in_short(&self) -> String {
        let mut words = Vec::new();
        match &self.joint {
            Joint::Copper { cases, .. } => {
                let first = cases.first().map(|c| c.physics.category);
                words.extend(
                    first
                        .filter(|first| cases.iter().all(|c| c.physics.category == *first))
                        .map(|category| category.word().to_owned()),
                );
            }
            Joint::Fibre { grade, .. } => {
                words.push("fibre".to_owned());
                words.extend(grade.map(|g| g.word().to_owned()));
            }
            Joint::Twinax { .. } => words.push("twinax".to_owned()),
        }
        let [low, high] = self.lengths;
        let assumed = self.assumptions.iter().any(|a| a.id.ends_with("length"));
        if !assumed {
            if low.base() < high.base() {
                let range = format!("{}..{}", exact(low), exact(high));
                words.push(range.replace(" m..", ".."));
            } else {
                words.push(exact(low));
            }
        }
        if let Joint::Copper { cases, .. } = &self.joint
            && let Some(bundle) = cases.first().map(|c| c.physics.bundle)
            && cases.iter().all(|c| c.physics.bundle == bundle)
        {
            words.push(bundle.word().to_owned());
        }
        words.join(", ")
    }

    /// A twisted pair of the likeliest make and lay, at the middle of its length.
    pub fn typical(&self) -> Option<&RunPhysics> {
        match &self.joint {
            Joint::Copper { typical, .. } => Some(typical),
            _ => None,
        }
    }
}
