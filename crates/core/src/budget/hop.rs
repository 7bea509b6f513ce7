use crate::quantity::{DataRate, LinkRate};
use crate::working::Column;
use std::sync::Arc;

/// What kind of place a hop is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HopKind {
    /// A workstation's own disk.
    Disk,
    /// One processor thread that handles every byte.
    Processor,
    /// A slot or an adapter.
    Bus,
    /// Two ports and the run between them.
    Link,
    /// What the window and the round trip of one stream allow.
    Window,
    /// What the requests under way allow.
    Requests,
    /// Round trips that each file costs.
    Files,
    /// The program that copies, with its pauses.
    Program,
    /// Drives and how they are joined.
    Array,
}

impl HopKind {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Disk => "disk",
            Self::Processor => "processor",
            Self::Bus => "slot or adapter",
            Self::Link => "link",
            Self::Window => "window",
            Self::Requests => "requests",
            Self::Files => "files",
            Self::Program => "copy program",
            Self::Array => "array",
        }
    }
}

/// Whether a hop's cost comes on top of the slowest other one.
#[derive(Clone, Debug)]
pub(crate) enum Adds {
    /// It works at the same time as the others.
    Never,
    /// The others wait for it.
    Always,
    /// In some draws.
    Where(Arc<[bool]>),
}

/// One place on the way, with what it carries at most.
#[derive(Clone, Debug)]
pub(crate) struct Hop {
    /// Site path.
    pub id: String,
    pub kind: HopKind,
    /// What it is, in words.
    pub label: String,
    /// What makes it what it is.
    pub note: String,
    pub ceiling: Column<DataRate>,
    /// What it carries of several streams, where one alone gets less than fits.
    pub of_all: Option<Column<DataRate>>,
    /// The rate of the link, for links.
    pub signalled: Option<Column<LinkRate>>,
    pub adds: Adds,
    /// The same hop when the array is empty, for arrays of spinning drives.
    pub empty: Option<Column<DataRate>>,
    /// The same hop over links that take no time, for what waits for data to cross them.
    pub over_links: Option<Column<DataRate>>,
}

impl Hop {
    /// One that works at the same time as the others and is no link.
    pub(super) fn new(
        id: String,
        kind: HopKind,
        label: String,
        note: String,
        ceiling: Column<DataRate>,
    ) -> Self {
        Self {
            id,
            kind,
            label,
            note,
            ceiling,
            of_all: None,
            signalled: None,
            adds: Adds::Never,
            empty: None,
            over_links: None,
        }
    }
}

/// A discrete unknown that may split the answer into branches.
#[derive(Clone, Debug)]
pub(crate) struct Fork {
    /// The unknown, by its site path.
    pub on: String,
    /// One label an outcome.
    pub labels: Vec<String>,
    /// The outcome of each draw.
    pub outcome: Arc<[u8]>,
}

/// All hops of one flow.
#[derive(Clone, Debug)]
pub(crate) struct Chain {
    /// In the order from desk to array.
    pub hops: Vec<Hop>,
    pub forks: Vec<Fork>,
    /// Memory on the NAS that takes a burst of writes.
    pub write_cache: Option<Column<crate::quantity::Information>>,
    /// Flash at the receiving end.
    pub tiring: Option<Tiring>,
    /// The draws in which some cable gives no link; empty where all do.
    pub dead: Vec<bool>,
    /// Free space at the receiving end of a long copy.
    pub room: Option<Column<crate::quantity::Information>>,
}

/// Flash at the receiving end that slows down in a long write, by what the whole hop takes.
#[derive(Clone, Debug)]
pub(crate) struct Tiring {
    /// Data that fill the fast caches.
    pub cache: Column<crate::quantity::Information>,
    /// Data written when the flash begins to fold.
    pub until_fold: Column<crate::quantity::Information>,
    /// Ceiling of the hop after the caches.
    pub later: Column<DataRate>,
    /// Ceiling of the hop while the flash folds.
    pub folding: Column<DataRate>,
}
