//! What each offer does: by itself, only with others, or nothing, and why.

use super::combos::{Combination, Mask, OfferSet, bit};
use super::memo::{Asking, Memo};
use super::search::Mean;
use super::worth::Looking;
use super::{PurchaseFault, positions};
use crate::budget::{Answer, BetterPart, Flow, NOTICEABLE, parts};
use crate::change::Edit;
use crate::quantity::{DataRate, ratio};
use crate::site::Site;
use crate::work::Direction;

/// What an offer does for somebody, in the mean over what is not known.
#[derive(Clone, Debug, PartialEq)]
pub enum Help {
    /// A rate rises by a twentieth or more with it and what it requires.
    Alone,
    /// Only with others, by position; the cheapest such company.
    With(Vec<usize>),
    /// Not known: the search was stopped before any combination with it was found to do something.
    NotLookedAt,
    /// Dearer than what may be spent, with what it requires.
    TooDear,
    /// Nothing, whatever else is bought.
    Nothing(Why),
}

/// Why an offer does nothing.
#[derive(Clone, Debug, PartialEq)]
pub enum Why {
    /// No way of a desk passes what it changes.
    NotOnAnyWay,
    /// The way of a desk that it concerns stops elsewhere.
    StopsAt {
        /// The desk.
        desk: String,
        /// Which way.
        direction: Direction,
        /// The hops that stop it most often.
        hops: Vec<String>,
        /// What the desk gets.
        rate: DataRate,
        /// The next better part there, with what the desk gets with that too; none where nothing there helps.
        next: Option<(BetterPart, DataRate)>,
        /// The site with the offer and what it requires, in which the hops are to be looked up.
        site: Box<Site>,
    },
}

/// What each offer does.
///
/// An offer is held to do something where with it, in some combination that may be bought, a desk reads or
/// writes a twentieth faster in the mean than in the same combination without it.
///
/// Checked by `a_card_helps_only_with_the_port_and_the_cable`.
pub(super) fn helps(
    site: &Site,
    memo: &Memo<Mean>,
    combinations: &[Combination],
    relevant: &[Mask],
    asking: &Asking<'_>,
    stopped: bool,
) -> Result<Vec<Help>, PurchaseFault> {
    let offer_set = asking.offer_set;
    let company = company(memo, combinations, relevant, offer_set);
    let mut looking = None;
    let mut found = Vec::with_capacity(offer_set.offers.len());
    for (index, company) in company.iter().enumerate() {
        let closure = offer_set.closures[index];
        let affordable = combinations.iter().any(|c| c.mask == closure);
        let help = match company {
            Some(mask) if mask & !closure == 0 => Help::Alone,
            Some(mask) => Help::With(positions(offer_set, mask & !closure)),
            None if !affordable => Help::TooDear,
            None if stopped => Help::NotLookedAt,
            None => {
                if looking.is_none() {
                    looking = Some(Looking::new(asking.catalogue, (asking.draws)())?);
                }
                let Some(looking) = looking.as_mut() else {
                    continue;
                };
                Help::Nothing(why(site, index, relevant, memo, asking, looking)?)
            }
        };
        found.push(help);
    }
    Ok(found)
}

/// For each offer the cheapest combination in which it does something.
fn company(
    memo: &Memo<Mean>,
    combinations: &[Combination],
    relevant: &[Mask],
    offer_set: &OfferSet<'_>,
) -> Vec<Option<Mask>> {
    let mut best: Vec<Option<Combination>> = vec![None; offer_set.offers.len()];
    for (desk, relevant) in relevant.iter().enumerate() {
        // combinations that are the same to a desk are looked at once
        for combination in memo.cheapest(desk, combinations) {
            let mask = combination.mask & relevant;
            let Some(with) = memo.of(desk, combination.mask) else {
                continue;
            };
            for (index, best) in best.iter_mut().enumerate() {
                if mask & bit(index) == 0
                    || best.is_some_and(|known| known.price <= combination.price)
                {
                    continue;
                }
                // what requires it goes with it
                let rest = offer_set
                    .members(combination.mask)
                    .filter(|other| offer_set.closures[*other] & bit(index) == 0)
                    .fold(0, |mask, other| mask | bit(other));
                let Some(without) = memo.of(desk, rest) else {
                    continue;
                };
                let gains = with
                    .rates
                    .iter()
                    .zip(&without.rates)
                    .any(|(with, without)| *with >= without * (1.0 + NOTICEABLE) && with > without);
                if gains {
                    *best = Some(combination);
                }
            }
        }
    }
    // what others require helps with them
    let by_itself = best.clone();
    for (index, best) in best
        .iter_mut()
        .enumerate()
        .filter(|(_, best)| best.is_none())
    {
        let needed = by_itself.iter().zip(&offer_set.closures);
        *best = needed
            .filter(|(_, closure)| *closure & bit(index) != 0)
            .filter_map(|(known, _)| *known)
            .min_by_key(|known| known.price);
    }
    let mask = |combination: Combination| combination.mask;
    best.into_iter().map(|best| best.map(mask)).collect()
}

fn why(
    site: &Site,
    index: usize,
    relevant: &[Mask],
    memo: &Memo<Mean>,
    asking: &Asking<'_>,
    looking: &mut Looking<'_>,
) -> Result<Why, PurchaseFault> {
    let closure = asking.offer_set.closures[index];
    // of those that it concerns, the desk that waits longest
    let concerned = (0..site.desks.len()).filter(|desk| relevant[*desk] & bit(index) != 0);
    let waits = |desk: usize| memo.of(desk, closure).map_or(0.0, |worth| worth.waits);
    let longest = concerned.reduce(|a, b| if waits(b) > waits(a) { b } else { a });
    let Some(desk) = longest.and_then(|desk| site.desks.get(desk)) else {
        return Ok(Why::NotOnAnyWay);
    };
    let Ok(after) = asking
        .base
        .with(&asking.offer_set.edits(closure), asking.catalogue)
    else {
        return Ok(Why::NotOnAnyWay);
    };
    let answer = looking.answer(&after, &desk.name, asking.wants.activity)?;
    let Some(flow) = slower(&answer) else {
        return Ok(Why::NotOnAnyWay);
    };
    let hops = flow
        .limits
        .first()
        .map_or_else(Vec::new, |limit| limit.hops.clone());
    let mut next = None;
    for better in parts(&after, flow, &hops) {
        let Ok(further) = Edit::parse_all(&better.sets) else {
            continue;
        };
        let edits: Vec<&Edit> = asking
            .offer_set
            .edits(closure)
            .into_iter()
            .chain(&further)
            .collect();
        let Ok(site) = asking.base.with(&edits, asking.catalogue) else {
            continue;
        };
        let answer = looking.answer(&site, &desk.name, asking.wants.activity)?;
        let then = answer.flows.iter().find(|f| f.direction == flow.direction);
        next = then
            .map(|then| then.megabytes_per_s.p50)
            .filter(|rate| *rate >= flow.megabytes_per_s.p50 * ratio(1.0 + NOTICEABLE))
            .map(|rate| (better, rate));
        if next.is_some() {
            break;
        }
    }
    Ok(Why::StopsAt {
        desk: desk.name.clone(),
        direction: flow.direction,
        hops,
        rate: flow.megabytes_per_s.p50,
        next,
        site: Box::new(after),
    })
}

/// The slower direction; reading, where nobody would notice a difference.
fn slower(answer: &Answer) -> Option<&Flow> {
    let rate = |flow: &Flow| flow.megabytes_per_s.p50;
    let slower = |a, b| -> &Flow {
        let (a, b): (&Flow, &Flow) = (a, b);
        if rate(b) < rate(a) { b } else { a }
    };
    let read = |flow: &&Flow| flow.direction == Direction::Read;
    let slowest = answer.flows.iter().reduce(slower)?;
    let reading = answer.flows.iter().filter(read).reduce(slower);
    reading
        .filter(|reading| rate(reading) <= rate(slowest) * ratio(1.0 + NOTICEABLE))
        .or(Some(slowest))
}
