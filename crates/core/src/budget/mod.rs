//! The answer: what each desk gets, with an interval, hop by hop, what limits it, and what would
//! be worth finding out.

mod air;
mod array;
mod background;
mod better;
mod branches;
mod chain;
mod clear;
mod compare;
mod context;
mod drive_set;
mod duplex;
mod ends;
mod evaluate;
mod flow;
mod heads;
mod hop;
mod link;
mod lost;
mod part;
mod parts;
mod path;
mod plain;
mod processor;
mod program;
mod random;
mod reuse;
mod route_warnings;
mod run;
mod shared;
mod stream;
mod sync;
mod tiring;
mod transfer;
mod unknowns;
mod warning;
mod way;

pub use better::{Better, Written, better};
pub use branches::Branch;
pub use compare::{Change, NOTICEABLE, compare};
pub(crate) use flow::six_digits;
pub use flow::{Answer, Ceiling, Flow, FlowHop, Limit, Need, RateRange, TimeRange};
pub use hop::HopKind;
pub use parts::{BetterPart, Part, parts};
pub use random::RequestRange;
pub(crate) use random::latency_row;
pub use transfer::{Slowing, Transfer};
pub use unknowns::{Outcome, UnknownShare};
pub use warning::{Warning, WarningKind};
pub use way::Towards;
pub(crate) use way::{Asked, Common, Passed, Way, fastest, way};

use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::DataRate;
use crate::site::{Desk, Site, SitePath};
use crate::spread::Draws;
use crate::work::{Direction, Work};
use context::Context;
pub(crate) use evaluate::copied;
use flow::Built;
pub(crate) use hop::{Adds, Hop};
pub(crate) use path::{Path, PathAsked, path, together};
pub(crate) use plain::{PlainFlow, plain_rates};
pub(crate) use run::Cabling;

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What the desks do.
    pub work: Work,
    /// One desk only, or all.
    pub desk: Option<String>,
    /// Whether the working is kept.
    pub working: bool,
    /// A rate that every flow should reach.
    pub need: Option<DataRate>,
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BudgetFault {
    /// The catalogue lacks a row.
    Catalogue(CatalogueFault),
    /// The site has no such desk.
    NoDesk {
        /// The name that was asked for.
        name: String,
        /// The nearest name that exists.
        nearest: Option<String>,
        /// All names.
        known: Vec<String>,
    },
    /// A link whose ports share no rate.
    NoLink(String),
    /// A site that its check should have refused.
    Model {
        /// Where.
        place: String,
        /// What is wrong.
        problem: String,
    },
}

impl BudgetFault {
    fn model(place: &str, problem: &str) -> Self {
        Self::Model {
            place: place.to_owned(),
            problem: problem.to_owned(),
        }
    }
}

impl From<CatalogueFault> for BudgetFault {
    fn from(fault: CatalogueFault) -> Self {
        Self::Catalogue(fault)
    }
}

impl std::fmt::Display for BudgetFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Catalogue(fault) => write!(f, "{fault}"),
            Self::NoDesk {
                name,
                nearest,
                known,
            } => {
                write!(f, "there is no desk '{name}'")?;
                if let Some(near) = nearest {
                    write!(f, "; did you mean '{near}'?")?;
                }
                write!(f, " (desks: {})", known.join(", "))
            }
            Self::NoLink(place) => write!(f, "{place}: the two ports share no rate"),
            Self::Model { place, problem } => write!(f, "{place}: {problem}"),
        }
    }
}

impl std::error::Error for BudgetFault {}

/// Predicts every flow that the question asks for, each desk alone.
///
/// The same draws give the same answer; two versions of a site answered with the same draws can
/// be compared draw by draw, see [`compare`].
///
/// # Errors
/// Where the desk is not known. Flows over a link that does not come up are left out with a
/// warning.
pub fn answer(
    site: &Site,
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Answer, BudgetFault> {
    let cabling = Cabling::new(catalogue)?;
    answer_with(site, question, catalogue, &cabling, draws)
}

/// As [`answer`], with the physics of cables that earlier answers have worked out.
pub(crate) fn answer_with(
    site: &Site,
    question: &Question,
    catalogue: &Catalogue,
    cabling: &Cabling,
    draws: &mut Draws,
) -> Result<Answer, BudgetFault> {
    let mut answer = Answer {
        site: site.name.clone(),
        flows: Vec::new(),
        warnings: Vec::new(),
        assumptions: site.assumptions.clone(),
        cautions: vec![
            "An array is not a backup: keep a second copy elsewhere before you rely on any layout."
                .to_owned(),
        ],
    };
    if let Some(name) = &question.desk
        && !site.desks.iter().any(|d| d.name == *name)
    {
        let known: Vec<String> = site.desks.iter().map(|d| d.name.clone()).collect();
        return Err(BudgetFault::NoDesk {
            name: name.clone(),
            nearest: crate::nearest::nearest(name, known.iter().map(String::as_str))
                .map(str::to_owned),
            known,
        });
    }
    if question.work.activity == crate::work::Activity::AtTheArray {
        for array in &site.arrays {
            for direction in Direction::BOTH {
                let context = Context::new(site, (catalogue, cabling), draws, question, direction);
                answer.add(context.at_the_array(array)?);
            }
        }
        return Ok(said_once(answer));
    }
    let asked = |desk: &&Desk| question.desk.as_ref().is_none_or(|d| *d == desk.name);
    let desks: Vec<&Desk> = site.desks.iter().filter(asked).collect();
    on_workers(
        &desks,
        workers(desks.len()),
        (site, question, catalogue),
        (cabling, draws),
        &mut answer,
    )?;
    if question.desk.is_some() {
        of_these_ways(&mut answer);
    }
    Ok(said_once(answer))
}

/// More workers would wait for memory.
const MOST_WORKERS: usize = 8;

/// What desks have in common is drawn once a worker, so that fewer desks are not worth one.
const LEAST_DESKS: usize = 3;

fn workers(desks: usize) -> usize {
    let processors = crate::workers::processors();
    processors.min(MOST_WORKERS).min(desks / LEAST_DESKS).max(1)
}

/// The flows of some desks, in their order. The first worker has the draws of the question, the others draw
/// the same once more, so that the answer does not depend on how many there are.
///
/// Checked by `verify_workers_do_not_change_the_answer`.
fn on_workers(
    desks: &[&Desk],
    workers: usize,
    (site, question, catalogue): (&Site, &Question, &Catalogue),
    (cabling, draws): (&Cabling, &mut Draws),
    answer: &mut Answer,
) -> Result<(), BudgetFault> {
    let count = draws.count();
    let mut runs = desks.chunks(desks.len().div_ceil(workers.max(1)).max(1));
    let first = runs.next().unwrap_or_default();
    let alone = |desks: &[&Desk]| {
        let cabling = Cabling::new(catalogue)?;
        let known = (&cabling, &mut Draws::new(count));
        of_desks(desks, (site, question, catalogue), known)
    };
    let others: Vec<_> = runs.collect();
    let own = || of_desks(first, (site, question, catalogue), (cabling, draws));
    let (own, found) = crate::workers::beside(own, &others, |desks| alone(desks));
    for built in std::iter::once(own).chain(found) {
        for one in built? {
            answer.add(one);
        }
    }
    Ok(())
}

/// Every flow of some desks, in both directions.
fn of_desks(
    desks: &[&Desk],
    (site, question, catalogue): (&Site, &Question, &Catalogue),
    (cabling, draws): (&Cabling, &mut Draws),
) -> Result<Vec<Built>, BudgetFault> {
    let mut found = Vec::new();
    for desk in desks {
        for route in crate::route::routes(site, &desk.name) {
            for array in site.arrays.iter().filter(|a| a.nas == route.nas) {
                for direction in Direction::BOTH {
                    let known = (catalogue, cabling);
                    let context = Context::new(site, known, draws, question, direction);
                    found.push(context.over(desk, &route, array)?);
                }
            }
        }
    }
    Ok(found)
}

/// Leaves what is assumed of other desks and of runs that no flow passes.
fn of_these_ways(answer: &mut Answer) {
    let flows = &answer.flows;
    let concerns = |id: &str| match SitePath::of(id) {
        SitePath::Desk(desk, _) => flows.iter().any(|flow| flow.desk == desk),
        SitePath::Run(number, _) => {
            let hop = SitePath::Run(number, None).to_string();
            flows.iter().any(|flow| flow.hop(&hop).is_some())
        }
        _ => true,
    };
    answer.assumptions.retain(|a| concerns(&a.id));
}

/// Every warning once, however many flows raise it. Of a link that may not come up the last is kept, which
/// is that of the way in which the desk sends: by radio the weaker one.
fn said_once(mut answer: Answer) -> Answer {
    let mut seen: Vec<Warning> = Vec::new();
    for warning in answer.warnings.drain(..) {
        let dead = warning.kind == WarningKind::MayNotComeUp;
        let same = |known: &&mut Warning| {
            **known == warning
                || dead && (known.kind, &known.place) == (warning.kind, &warning.place)
        };
        match seen.iter_mut().find(same) {
            Some(known) => *known = warning,
            None => seen.push(warning),
        }
    }
    answer.warnings = seen;
    answer
}

#[cfg(test)]
mod tests;
