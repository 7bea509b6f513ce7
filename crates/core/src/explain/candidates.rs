use super::cause::{At, Cause, Change, Hits};
use super::effect::{Alone, Effect};
use super::observed::Observed;
use super::places::{Places, Spot};
use super::predicted::Limit;
use super::scenarios::{EditId, Scenarios};
use crate::change::Edit;
use crate::quantity::{LinkRate, parse};
use crate::work::Direction;

/// A cause in one direction, at the places that the same desks pass, with its weight at this site.
///
/// Readings cannot tell such places apart, so they are weighed as one and named each by its share.
pub(crate) struct Candidate {
    /// Place of the cause among the rows.
    pub cause: usize,
    /// With the desks whose readings it touches.
    pub effect: Effect,
    pub prior: f64,
    /// Where it may be; all shares add up to one.
    pub spots: Vec<SpotOf>,
}

/// One of the places of a candidate.
#[derive(Clone, Debug)]
pub(crate) struct SpotOf {
    pub path: String,
    pub words: String,
    pub share: f64,
}

/// A cause at all places that the same desks pass.
struct Group {
    desks: Vec<String>,
    /// Each place with its weight.
    spots: Vec<(Spot, f64)>,
}

/// Every cause that may be at work here.
///
/// A cause that touches none of the readings is left out: nothing was measured that could tell, and
/// its weight counts for nothing, because weights are those of one way whose owner asks. A desk that
/// nobody measured changes no answer about the others.
pub(crate) fn candidates(
    all: &[Cause],
    places: &Places,
    observed: &[Observed],
    scenarios: &mut Scenarios<'_>,
) -> Vec<Candidate> {
    let mut found: Vec<Candidate> = Vec::new();
    // what the cable of an access point does is told of the access point, and not of that run once more
    let mut of_cells: Vec<EditId> = Vec::new();
    for (index, cause) in all.iter().enumerate() {
        if matches!(cause.change, Change::Limit | Change::Member) {
            continue;
        }
        for group in groups(cause, places) {
            add(
                &mut found,
                (index, cause),
                group,
                places,
                observed,
                scenarios,
                &mut of_cells,
            );
        }
    }
    found
}

/// The places of a cause by the desks that pass them, without those at which it cannot be.
fn groups(cause: &Cause, places: &Places) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for spot in places.spots(cause) {
        let of = |(desk, share): &(String, f64)| share * weight(cause, places.tags(desk));
        // what makes it unlikely on one way need not do so on another: the trunk of a slow desk is
        // that of a fast one
        let weight = spot.desks.iter().map(of).fold(0.0, f64::max);
        if weight <= 0.0 {
            continue;
        }
        let desks: Vec<String> = spot.desks.iter().map(|(desk, _)| desk.clone()).collect();
        match groups.iter_mut().find(|g| g.desks == desks) {
            Some(group) => group.spots.push((spot, weight)),
            None => groups.push(Group {
                desks,
                spots: vec![(spot, weight)],
            }),
        }
    }
    groups
}

/// A group of places, and what is set there: at the likeliest of those at which it changes the site.
type Edited = (Group, Option<(EditId, Option<LinkRate>)>);

/// The places of a group at which an edit changes the site; nothing where it does so at none. A cause that
/// no edit says is at all of them.
fn edited(
    cause: &Cause,
    group: Group,
    scenarios: &mut Scenarios<'_>,
    of_cells: &mut Vec<EditId>,
) -> Option<Edited> {
    if cause.change != Change::Edit {
        return Some((group, None));
    }
    let text = cause.edit.as_ref()?;
    let mut spots = Vec::new();
    let mut likeliest: Option<(f64, EditId, Option<LinkRate>)> = None;
    for (spot, weight) in group.spots {
        let text = text.replace("{place}", &spot.target);
        let edit = Edit::parse(&text.replace("{port}", &spot.port), 0).ok()?;
        let shows = edit.path().ends_with(".negotiated");
        let link = parse(edit.value().1.trim().trim_matches('"')).ok();
        if let Some(id) = scenarios.edit(edit) {
            if cause.at == At::Uplink {
                of_cells.push(id);
            } else if of_cells.contains(&id) {
                continue;
            }
            if likeliest.is_none_or(|(most, ..)| weight > most) {
                likeliest = Some((weight, id, link.filter(|_| shows)));
            }
            spots.push((spot, weight));
        }
    }
    let (_, id, link) = likeliest?;
    let desks = group.desks;
    Some((Group { desks, spots }, Some((id, link))))
}

fn add(
    found: &mut Vec<Candidate>,
    (index, cause): (usize, &Cause),
    group: Group,
    places: &Places,
    observed: &[Observed],
    scenarios: &mut Scenarios<'_>,
    of_cells: &mut Vec<EditId>,
) {
    let Some((group, edit)) = edited(cause, group, scenarios, of_cells) else {
        return;
    };
    let mut effect = Effect {
        scope: cause.scope,
        change: cause.change,
        desks: group.desks,
        hits: None,
        edit: edit.map(|(id, _)| id),
        link: edit.and_then(|(_, link)| link),
        amount: Vec::new(),
        wait: Vec::new(),
        alone: Alone::default(),
    };
    let touched = |hits| {
        let effect = Effect {
            hits,
            ..effect.clone()
        };
        let hit = move |h: &&Observed| h.asks.iter().any(|(ask, _)| effect.touches(ask));
        observed.iter().filter(hit)
    };
    let hits = cause.hits.cases().iter().copied();
    let cases: Vec<_> = hits.filter(|h| touched(*h).next().is_some()).collect();
    if cases.is_empty() {
        return;
    }
    let sum: f64 = group.spots.iter().map(|(_, weight)| weight).sum();
    let mut prior = sum;
    if cause.change == Change::Slip {
        // how likely the text itself makes a slip, on top of how often they happen
        let slips = cases.iter().flat_map(|h| touched(*h)).map(Observed::slip);
        prior *= slips.fold(0.0, f64::max);
    }
    if prior <= 0.0 {
        return;
    }
    // the same cause at other desks has luck of its own
    let id = if places.several() {
        format!("cause.{}/{}", cause.id, effect.desks.join("+"))
    } else {
        format!("cause.{}", cause.id)
    };
    if edit.is_none() {
        effect.amount = scenarios.drawn(&id, &cause.law);
    }
    effect.wait = match cause.change {
        Change::Window => scenarios.round_trip.clone(),
        Change::Requests => scenarios.wait.clone(),
        _ => Vec::new(),
    };
    let spots: Vec<SpotOf> = group
        .spots
        .into_iter()
        .map(|(spot, weight)| SpotOf {
            path: spot.path,
            words: spot.words,
            share: weight / sum,
        })
        .collect();
    for &hits in &cases {
        found.push(Candidate {
            cause: index,
            effect: Effect {
                hits,
                ..effect.clone()
            },
            prior: prior / cases.len() as f64,
            spots: spots.clone(),
        });
    }
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

/// Whether two candidates touch no desk in common.
pub(crate) fn apart(a: &Candidate, b: &Candidate) -> bool {
    !a.effect.desks.iter().any(|d| b.effect.desks.contains(d))
}

/// Whether two candidates may be at work together: for different desks, and for the same ones at
/// different kinds of places or in different directions.
pub(crate) fn compatible(a: (&Cause, &Candidate), b: (&Cause, &Candidate)) -> bool {
    if apart(a.1, b.1) {
        return true;
    }
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

/// In which direction a candidate works, in words.
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
        At::Cell => "the access point",
        At::Uplink => "the cable of the access point",
        At::Switch | At::Port => "the switch",
        At::Desk => "the desk",
        At::Nas => "the NAS",
        At::Array => "the array",
        At::Way => "the way",
    }
}
