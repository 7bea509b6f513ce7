use super::cause::{At, Cause, Change, Hits};
use super::effect::Effect;
use super::heard::Heard;
use super::ways::{Limit, World};
use crate::work::Direction;

/// A cause in one direction, with its weight at this site.
pub(crate) struct Suspect {
    /// Place of the cause among the rows.
    pub cause: usize,
    pub effect: Effect,
    pub prior: f64,
}

/// Every cause that may be at work here.
///
/// A cause that touches none of the readings is left out: nothing was measured that could tell.
pub(crate) fn suspects(
    all: &[Cause],
    (tags, slip): (&[&str], f64),
    heard: &[Heard],
    world: &mut World<'_>,
) -> Vec<Suspect> {
    let mut found: Vec<Suspect> = Vec::new();
    for (index, cause) in all.iter().enumerate() {
        let mut prior = weight(cause, tags);
        if cause.change == Change::Slip {
            // how likely the text itself makes a slip, on top of how often they happen
            prior *= slip * 10.0;
        }
        if prior <= 0.0 || matches!(cause.change, Change::Limit | Change::Member) {
            continue;
        }
        let touches = |hits| {
            let effect = Effect {
                scope: cause.scope,
                change: cause.change,
                hits,
                amount: Vec::new(),
                wait: Vec::new(),
            };
            let mut asks = heard.iter().flat_map(|h| &h.asks);
            asks.any(|(ask, _)| effect.touches(ask.what, ask.direction))
        };
        let cases: Vec<_> = cause.hits.cases().iter().filter(|h| touches(**h)).collect();
        if cases.is_empty() {
            continue;
        }
        let amount = world.drawn(&format!("cause.{}", cause.id), &cause.law);
        let wait = match cause.change {
            Change::Window => world.round_trip.clone(),
            Change::Requests => world.wait.clone(),
            _ => Vec::new(),
        };
        for &&hits in &cases {
            found.push(Suspect {
                cause: index,
                effect: Effect {
                    scope: cause.scope,
                    change: cause.change,
                    hits,
                    amount: amount.clone(),
                    wait: wait.clone(),
                },
                prior: prior / cases.len() as f64,
            });
        }
    }
    found
}

/// The weight of a cause where some things are so.
pub(crate) fn weight(cause: &Cause, tags: &[&str]) -> f64 {
    let mut weight = cause.prior;
    for condition in &cause.when {
        if tags.contains(&condition.tag.as_str()) == condition.so {
            weight *= condition.factor;
        }
    }
    weight
}

/// The row that stands for a limit with nothing at fault.
pub(crate) fn limit_row(all: &[Cause], limit: Limit, tags: &[&str]) -> Option<usize> {
    let id = match limit {
        Limit::Link if tags.contains(&"bonded") => "one-flow-one-member",
        Limit::Link => "limit-link",
        Limit::Fallen => "limit-fallen",
        Limit::Radio => "limit-radio",
        Limit::Bus => "limit-adapter",
        Limit::Processor => "limit-processor",
        Limit::Protection => "limit-protection",
        Limit::Waiting => "limit-waiting",
        Limit::Array => "limit-drives",
        Limit::Disk => "limit-desk-disk",
        Limit::Files => "limit-files",
        Limit::Safety => "limit-safety",
    };
    all.iter().position(|c| c.id == id)
}

/// Whether two causes may be at work together: at different places, or different ways.
pub(crate) fn compatible(a: (&Cause, &Suspect), b: (&Cause, &Suspect)) -> bool {
    if a.1.cause == b.1.cause {
        return false;
    }
    let same_place = a.0.scope == b.0.scope && a.0.at == b.0.at;
    let overlap = match (a.1.effect.hits, b.1.effect.hits) {
        (Some(x), Some(y)) => x == y,
        _ => true,
    };
    !(same_place && overlap) && a.0.change != Change::Slip && b.0.change != Change::Slip
}

/// In which direction a suspect works, in words.
pub(crate) fn way(hits: Option<Direction>, cause: &Cause) -> Option<&'static str> {
    match (cause.hits, hits) {
        (Hits::Either, Some(direction)) => Some(direction.word()),
        _ => None,
    }
}

/// What a cause concerns where no site path says it better.
pub(crate) fn general(at: At) -> &'static str {
    match at {
        At::Run => "the cable",
        At::Switch => "the switch",
        At::Desk => "the desk",
        At::Nas => "the NAS",
        At::Array => "the array",
        At::Way => "the way",
    }
}
