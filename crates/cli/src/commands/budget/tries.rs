//! Better parts that are tried beside what was asked.

use crate::commands::budget::lead::{DECIDES, concerned, whose};
use crate::render::lead::{capital, listed};
use crate::render::parts;
use crate::render::places::Places;
use crate::render::prose::rate;
use narrows_core::budget::{Answer, BetterPart, Flow, parts as better_parts};
use narrows_core::quantity::units::ratio::one;
use narrows_core::site::Site;
use narrows_core::work::Direction;

/// More than so many better parts are not tried beside an answer.
const MOST_TRIED: usize = 2;

/// A part is worth a line from so many times as fast on.
const WORTH_SAYING: f64 = 1.1;

/// A better part, for whom it was tried, and what the first of them gets then.
pub(crate) struct Tried {
    pub better: BetterPart,
    /// Where it is narrow today, in words.
    pub now: String,
    pub desks: Vec<String>,
    pub before: Flow,
    pub after: Flow,
}

/// What could be tried: for whom, and with which edits.
pub(crate) struct Idea {
    pub better: BetterPart,
    pub now: String,
    pub desks: Vec<String>,
    pub before: Flow,
}

impl Tried {
    /// How many times as fast, in the middle.
    pub(crate) fn times(&self) -> f64 {
        (self.after.megabytes_per_s.p50 / self.before.megabytes_per_s.p50).get::<one>()
    }

    pub(crate) fn is_worth_saying(&self) -> bool {
        self.times() >= WORTH_SAYING
    }

    /// In a sentence without its end.
    pub(crate) fn said(&self, places: Places<'_>) -> String {
        let names: Vec<&str> = self.desks.iter().map(String::as_str).collect();
        let (holds, verb) = if names.len() == 1 {
            ("holds", "reads")
        } else {
            ("hold", "read")
        };
        let holds = if self.now.contains("ports") {
            "hold"
        } else {
            holds
        };
        let holds = if self.now.contains("cable") {
            "holds"
        } else {
            holds
        };
        format!(
            "{} {holds} back {}: with {} {} {verb} {} MB/s in place of {}",
            capital(&self.now),
            listed(&names),
            parts::part(&self.better, places),
            if names.len() == 1 { "it" } else { "they" },
            rate(self.after.megabytes_per_s.p50),
            rate(self.before.megabytes_per_s.p50)
        )
    }
}

/// The ports and cables that decide for some desks, the slowest desks first.
pub(crate) fn ideas(site: &Site, answer: &Answer) -> Vec<Idea> {
    let mut found: Vec<Idea> = Vec::new();
    let mut flows: Vec<&Flow> = answer
        .flows
        .iter()
        .filter(|f| f.direction == Direction::Read && !f.desk.is_empty())
        .collect();
    flows.sort_by(|a, b| {
        let key = |f: &Flow| f.megabytes_per_s.p50;
        key(a)
            .partial_cmp(&key(b))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    for flow in flows {
        let Some(limit) = flow.limits.first().filter(|l| l.share >= DECIDES) else {
            continue;
        };
        let Some(better) = better_parts(site, flow, &limit.hops).into_iter().next() else {
            continue;
        };
        match found
            .iter_mut()
            .find(|idea| idea.better.sets == better.sets)
        {
            Some(idea) => idea.desks.push(whose(flow).to_owned()),
            None => found.push(Idea {
                better,
                now: format!("the {}", Places::of(site).names(&limit.hops, None)),
                desks: vec![flow.desk.clone()],
                before: flow.clone(),
            }),
        }
    }
    found.truncate(MOST_TRIED);
    found
}

/// What would have to come with a change that does nothing by itself.
pub(crate) fn with_it(site: &Site, sets: &[String], answer: &Answer) -> Option<Idea> {
    let flow = concerned(sets, &answer.flows)?;
    let limit = flow.limits.first()?;
    Some(Idea {
        better: better_parts(site, flow, &limit.hops).into_iter().next()?,
        now: Places::of(site).names(&limit.hops, None),
        desks: vec![flow.desk.clone()],
        before: flow.clone(),
    })
}
