//! Which combinations nothing cheaper equals, over a few draws that all of them share.

use super::combos::{Combination, Mask};
use super::memo::{Asking, Memo};
use super::worth::DeskWorth;
use crate::plan::front::rank_of_less;

/// Digits of waiting that count: as many as are shown.
pub(super) const DIGITS: u32 = 3;

/// Draws of the search. All combinations share them, so that few are enough to tell one from another; what
/// is kept is drawn as often as any answer.
pub(super) const SEARCH_DRAWS: usize = 64;

/// What one desk gets: means over the draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Mean {
    /// Seconds a day.
    pub waits: f64,
    /// Reading and writing.
    pub rates: [f64; 2],
    /// Whether it gets what it needs in half of the draws or more.
    pub met: bool,
}

impl Mean {
    pub(super) fn of(worth: &DeskWorth) -> Self {
        let met = worth.met.iter().filter(|met| **met).count();
        Self {
            waits: mean(&worth.waits),
            rates: [mean(&worth.rates[0]), mean(&worth.rates[1])],
            met: 2 * met >= worth.met.len(),
        }
    }
}

/// The mean, added up in order.
pub(super) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// A combination with what it comes to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Seen {
    pub price: i64,
    pub mask: Mask,
    /// Desks that get what they need.
    pub met: usize,
    /// Seconds that all wait a day, in the mean.
    pub waits: f64,
}

impl Seen {
    /// Less waiting is more, at the digits that are shown.
    pub(super) fn rank(&self) -> i64 {
        rank_of_less(self.waits, DIGITS)
    }
}

/// What all desks together get with a combination.
pub(super) fn seen(memo: &Memo<Mean>, combination: Combination) -> Option<Seen> {
    let (mut met, mut waits) = (0, 0.0);
    for desk in memo.each(combination.mask)? {
        met += usize::from(desk.met);
        waits += desk.waits;
    }
    Some(Seen {
        price: combination.price,
        mask: combination.mask,
        met,
        waits,
    })
}

/// Combinations that no cheaper one equals: the cheapest first, each better than all before it in desks
/// that get what they need or in waiting.
///
/// Of equally good ones the cheapest, then that of the fewest offers, then the one whose offers stand first
/// in the file. A combination is read as a whole before it is taken, so that none is told that makes no
/// site.
///
/// Checked by `property_no_combination_is_beaten_and_none_is_missing`.
pub(super) fn front(
    memo: &mut Memo<Mean>,
    combinations: &[Combination],
    asking: &Asking<'_>,
) -> Vec<Seen> {
    loop {
        let kept = archive(memo, combinations);
        let before = memo.refused.len();
        for (seen, _) in &kept {
            let read = asking
                .base
                .with(&asking.offer_set.edits(seen.mask), asking.catalogue);
            if let Err(faults) = read {
                let why = faults
                    .iter()
                    .next()
                    .map_or(String::new(), |f| f.title.clone());
                memo.refused.insert(seen.mask, why);
            }
        }
        // what a refused one equalled comes back
        if memo.refused.len() == before {
            return kept.into_iter().map(|(seen, _)| seen).collect();
        }
    }
}

/// Combinations that no cheaper one equals, whether or not they make sites; the cheapest first.
fn archive(memo: &Memo<Mean>, combinations: &[Combination]) -> Vec<(Seen, i64)> {
    let mut kept: Vec<(Seen, i64)> = Vec::new();
    for combination in combinations {
        let Some(seen) = seen(memo, *combination) else {
            continue;
        };
        let new = (seen, seen.rank());
        if kept.iter().any(|known| equals(known, &new)) || memo.refused.contains_key(&seen.mask) {
            continue;
        }
        kept.retain(|known| !equals(&new, known));
        kept.push(new);
    }
    kept.sort_unstable_by_key(|(seen, _)| seen.price);
    kept
}

/// Whether the first costs no more and is as good; of two that are the same in both, whether it is the one to
/// take.
fn equals((a, x): &(Seen, i64), (b, y): &(Seen, i64)) -> bool {
    let as_good = a.price <= b.price && a.met >= b.met && x >= y;
    let same = (a.price, a.met, x) == (b.price, b.met, y);
    let order = |seen: &Seen| {
        (
            seen.mask.count_ones(),
            std::cmp::Reverse(seen.mask.reverse_bits()),
        )
    };
    as_good && (!same || order(a) <= order(b))
}
