//! What an explanation says.

use super::reading::What;
use crate::quantity::DataRate;
use crate::work::Direction;

/// Whether the numbers are as they should be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// At the limit of what is there.
    Normal,
    /// Something that could be changed costs the rate.
    Slow,
    /// More than the way can carry: something else was measured.
    TooFast,
    /// What was told does not settle it.
    Unclear,
}

impl Verdict {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Normal, Self::Slow, Self::TooFast, Self::Unclear];

    /// As written in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Normal => "normal",
            Self::Slow => "slow",
            Self::TooFast => "too-fast",
            Self::Unclear => "unclear",
        }
    }
}

/// What one direction gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OneWay {
    /// Which way.
    pub direction: Direction,
    /// 5th, 50th and 95th percentile.
    pub rates: [DataRate; 3],
}

/// Why nothing can be said of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LeftOut {
    /// The site has no such desk.
    NoDesk,
    /// No run leads from the desk to a NAS that holds an array.
    NoWay,
    /// The two ends of a cable of the way know no rate in common.
    NoLink,
    /// The site has no array.
    NoArray,
}

impl LeftOut {
    /// As written in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::NoDesk => "no-desk",
            Self::NoWay => "no-way",
            Self::NoLink => "no-link",
            Self::NoArray => "no-array",
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::NoDesk => "the site has no such desk",
            Self::NoWay => "no run leads from that desk to a NAS that holds an array",
            Self::NoLink => "the two ends of a cable of that way know no rate in common",
            Self::NoArray => "the site has no array",
        }
    }
}

/// One reading beside what the site as described would give.
#[derive(Clone, Debug)]
pub struct ReadingShown {
    /// As it was written.
    pub text: String,
    /// What it is of.
    pub what: What,
    /// Which way, as far as it is told or follows.
    pub direction: Option<Direction>,
    /// As understood, for rates.
    pub understood: Option<DataRate>,
    /// What the site as described gives, where it can be said: one where the direction is told, else
    /// both.
    pub expected: Vec<OneWay>,
    /// Why nothing is held against it.
    pub left_out: Option<LeftOut>,
}

/// A cause with its probability.
#[derive(Clone, Debug)]
pub struct CauseFound {
    /// Id of the row, in `narrows facts causes`.
    pub id: String,
    /// Causes of one family look alike.
    pub family: String,
    /// Site path, or what it concerns where no site was given.
    pub place: String,
    /// How likely, given everything told.
    pub probability: f64,
    /// In words.
    pub words: String,
    /// What speaks for it.
    pub speaks_for: Vec<String>,
    /// What speaks against it.
    pub speaks_against: Vec<String>,
    /// What to do about it.
    pub remedy: String,
    /// What the first rate reading that it touches would become, each way that it may be of.
    pub once_fixed: Vec<OneWay>,
    /// A second cause that has to be there as well.
    pub together_with: Option<String>,
    /// Where that one is.
    pub together_at: Option<String>,
}

/// A family with the sum of its causes.
#[derive(Clone, Debug)]
pub struct FamilyFound {
    /// Its word.
    pub family: String,
    /// Sum over its causes.
    pub probability: f64,
}

/// A cause that cannot have made the numbers.
#[derive(Clone, Debug)]
pub struct RuledOut {
    /// Id of the row.
    pub id: String,
    /// Its family.
    pub family: String,
    /// The sentence.
    pub why: String,
}

/// A test and what it would tell.
#[derive(Clone, Debug)]
pub struct NextTest {
    /// Id of the row, in `narrows facts tests`.
    pub id: String,
    /// Where: "at cut-1", "on the NAS".
    pub place: String,
    /// What to do.
    pub words: String,
    /// What to mind; empty where nothing can be lost.
    pub caution: String,
    /// Bits it is expected to tell.
    pub gain_bits: f64,
    /// Minutes it takes.
    pub minutes: f64,
    /// What each outcome would mean.
    pub outcomes: Vec<Outcome>,
    /// What an answer to it is.
    pub asks: Asks,
}

/// What a person answers who made a test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Asks {
    /// A rate.
    Rate(What, Direction),
    /// The rate that ports show.
    LinkRate,
    /// Whether something is so: the remark that is made then, and the one that is made where it is not.
    Whether(String, Option<String>),
}

/// An outcome of a test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    /// What is seen.
    pub words: String,
    /// The families that it points to.
    pub families: Vec<String>,
}

/// Everything.
#[derive(Clone, Debug)]
pub struct Explanation {
    /// Normal or not.
    pub verdict: Verdict,
    /// What goes before everything where pictures may be lost; empty where nothing speaks for that.
    pub before_all: Vec<String>,
    /// The first line: what was read against what is expected.
    pub in_words: String,
    /// The second: why.
    pub why: String,
    /// The third: what to do next; empty where all is well.
    pub next_step: String,
    /// Readings beside what was expected.
    pub readings: Vec<ReadingShown>,
    /// Causes, the likeliest first; all that reach one percent.
    pub causes: Vec<CauseFound>,
    /// Families, the likeliest first.
    pub families: Vec<FamilyFound>,
    /// Probability that it is none of the causes known here.
    pub none_of_these: f64,
    /// The family of what limits where nothing is at fault, in most draws.
    pub narrowest: Option<String>,
    /// What cannot be it.
    pub ruled_out: Vec<RuledOut>,
    /// The best two.
    pub next_tests: Vec<NextTest>,
    /// What was not told and would help most.
    pub would_help: Vec<String>,
    /// What was assumed.
    pub assumptions: Vec<String>,
    /// The usual cautions.
    pub cautions: Vec<String>,
}

impl Explanation {
    /// Where no site was told at all, there is nothing to say.
    pub(crate) fn empty() -> Self {
        Self {
            verdict: Verdict::Unclear,
            before_all: Vec::new(),
            in_words: "Nothing was told.".to_owned(),
            why: String::new(),
            next_step: String::new(),
            readings: Vec::new(),
            causes: Vec::new(),
            families: Vec::new(),
            none_of_these: 0.0,
            narrowest: None,
            ruled_out: Vec::new(),
            next_tests: Vec::new(),
            would_help: Vec::new(),
            assumptions: Vec::new(),
            cautions: Vec::new(),
        }
    }
}
