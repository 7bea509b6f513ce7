//! Cables between two ports, and radio links.

use super::{Chosen, End, Value};
use crate::air::Link;
use crate::copper::{FibreGrade, Installation};
use crate::quantity::{DataRate, Length, LinkRate, Ratio};

/// What joins two ports.
#[derive(Clone, Debug, PartialEq)]
pub enum Medium {
    /// Twisted pair.
    Copper {
        /// Category word, or the categories it may be.
        category: Chosen<String>,
        /// How far.
        length: Value<Length>,
        /// How it lies among its neighbours.
        bundle: Chosen<String>,
        /// What lies beside it, how often it is plugged, how warm it is.
        installed: Installation,
    },
    /// Fibre or passive twinax: carries what its ports know, as far as its optics or its make
    /// reach.
    Clear {
        /// The word: `fibre` or `twinax`.
        word: String,
        /// How far, where that is known.
        length: Option<Value<Length>>,
        /// Which fibre it is, where that is known.
        grade: Option<FibreGrade>,
        /// Which fibre its cords are, where that is known; else as the cable.
        cords: Option<FibreGrade>,
    },
    /// Radio: half duplex, shared, and never what the box says.
    Wireless {
        /// What is known of it.
        carries: Radio,
    },
}

impl Medium {
    /// Whether it is a radio link whose payload is worked out.
    pub fn is_worked_out(&self) -> bool {
        matches!(
            self,
            Self::Wireless {
                carries: Radio::Link(_)
            }
        )
    }
}

/// What is known of a radio link.
#[derive(Clone, Debug, PartialEq)]
pub enum Radio {
    /// The payload that it carries.
    Payload(Value<DataRate>),
    /// What it is made of and what was read off; the payload is worked out.
    Link(Box<Link>),
}

/// Whether both ends of a cable send at the same time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Duplex {
    /// Both at once.
    Full,
    /// One at a time.
    Half,
    /// One end sends whenever it likes, and the other takes that for collisions.
    Mismatched,
}

impl Duplex {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Full, Self::Half, Self::Mismatched];

    /// As written in a site file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Full => "full",
            Self::Half => "half",
            Self::Mismatched => "mismatched",
        }
    }
}

/// A cable or a radio link between two ports.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Place in the file, from 1.
    pub number: usize,
    /// One end.
    pub from: End,
    /// The other end.
    pub to: End,
    /// What joins them.
    pub medium: Medium,
    /// The rate that both ends agreed on, where somebody looked.
    pub negotiated: Option<LinkRate>,
    /// Whether both ends send at the same time, where somebody looked.
    pub duplex: Option<Duplex>,
    /// Share of its frames that are lost, where somebody counted.
    pub lost: Option<Value<Ratio>>,
    /// Whether it links and then makes errors, where somebody looked.
    pub errors: Option<Chosen<bool>>,
    /// Share of the frames that a switch drops before this run, because they come faster than it takes
    /// them, where somebody counted.
    pub drops: Option<Value<Ratio>>,
    /// The duct, tray or tie that it lies in, where somebody followed it.
    pub duct: Option<Duct>,
}

/// Where a run lies with others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Duct {
    /// Its name, in small letters.
    pub name: String,
    /// Whether the neighbours of this run were counted, so that the duct says nothing of them.
    pub counted: bool,
}
