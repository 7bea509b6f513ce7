//! What is kept, drawn: before and after with the same luck.

use super::combos::{Combination, Mask};
use super::memo::{Asking, Memo};
use super::search::{DIGITS, Seen, mean};
use super::worth::DeskWorth;
use super::{Purchase, PurchaseFault, positions};
use crate::budget::{NOTICEABLE, RateRange};
use crate::plan::front::rank_of_less;
use crate::plan::{Patience, Watch};
use crate::quantity::{DataRate, Money, Ratio, Time, ratio, seconds};
use crate::site::Site;
use crate::working::percentiles;

/// Waiting a day, or what is saved of it: mean and percentiles. A saving may be below nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Waiting {
    /// Mean.
    pub mean: Time,
    /// 5th percentile.
    pub p05: Time,
    /// Median.
    pub p50: Time,
    /// 95th percentile.
    pub p95: Time,
}

impl Waiting {
    fn of(values: &[f64]) -> Self {
        let range = percentiles::<Ratio>(values);
        let time = |value: Ratio| seconds(value.value);
        Self {
            mean: seconds(mean(values)),
            p05: time(range.p05),
            p50: time(range.p50),
            p95: time(range.p95),
        }
    }
}

/// What one desk gets.
#[derive(Clone, Debug, PartialEq)]
pub struct DeskGets {
    /// Its name.
    pub desk: String,
    /// Reading.
    pub read: RateRange,
    /// Writing.
    pub write: RateRange,
    /// What somebody waits at it in a day.
    pub waits: Waiting,
    /// The share of cases in which it gets what it needs.
    pub met: Ratio,
}

/// Rows as they are told.
pub(super) struct Rows {
    pub today: Purchase,
    pub purchases: Vec<Purchase>,
    pub fell_out: usize,
    masks: Vec<Mask>,
}

/// More than half: what helps less often than not is no first purchase.
const LIKELY: f64 = 0.5;

impl Rows {
    /// The purchase to make first, and the best of all.
    pub(super) fn choice(&self) -> (Option<usize>, Option<usize>) {
        // each is better than those before it, so that the last is the best in waiting or in needs
        let key = |row: &Purchase| (row.desks_met, -row.waits.mean.value);
        let better = |a: usize, b: usize| {
            let (x, y) = (key(&self.purchases[a]), key(&self.purchases[b]));
            if y.partial_cmp(&x) == Some(std::cmp::Ordering::Greater) {
                b
            } else {
                a
            }
        };
        let Some(best) = (0..self.purchases.len()).reduce(better) else {
            return (None, None);
        };
        let part = |row: &usize| self.masks[*row] & !self.masks[best] == 0;
        let worth = |row: usize| {
            let row = &self.purchases[row];
            // free is better than any price
            row.saves.mean.value / (row.price.hundredths as f64).max(1.0)
        };
        let likely = |row: &usize| {
            let row = &self.purchases[*row];
            row.helps > ratio(LIKELY) && row.saves.mean > Time::default()
        };
        let first = (0..self.purchases.len())
            .filter(part)
            .filter(likely)
            .reduce(|a, b| if worth(b) > worth(a) { b } else { a });
        (first.or(Some(best)), Some(best))
    }
}

/// A difference that fewer cases show is not told, as in a comparison of budgets.
const SHOWS: f64 = 0.1;

/// Draws what is kept, and leaves out what turns out to be equalled by something cheaper, or to be hardly
/// better than the row before it.
pub(super) fn rows(
    site: &Site,
    front: &[Seen],
    relevant: &[Mask],
    asking: &Asking<'_>,
    (currency, watch): (&str, Watch<'_>),
) -> Result<Rows, PurchaseFault> {
    let as_it_is = Combination { price: 0, mask: 0 };
    let mut asked = vec![as_it_is];
    asked.extend(front.iter().filter(|s| s.mask != 0).map(|s| Combination {
        price: s.price,
        mask: s.mask,
    }));
    let mut memo: Memo<DeskWorth> = Memo::new(site, relevant);
    // what is told is drawn in full, also for somebody who has had enough of the search
    let told = |done: usize, all: usize| {
        watch(done, all);
        true
    };
    memo.fill(&asked, asking, &|worth| worth, &Patience::of(&told))?;
    let before =
        all(&memo, 0).ok_or_else(|| PurchaseFault::Model("the site is lost".to_owned()))?;
    let row = |combination: &Combination, last: Mask| {
        let after = all(&memo, combination.mask)?;
        let last = all(&memo, last)?;
        let three = (&before[..], &last[..], &after[..]);
        Some(purchase(site, *combination, three, asking, currency))
    };
    let today =
        row(&as_it_is, 0).ok_or_else(|| PurchaseFault::Model("the site is lost".to_owned()))?;
    let mut rows = Rows {
        today,
        purchases: Vec::new(),
        fell_out: 0,
        masks: Vec::new(),
    };
    let rank = |row: &Purchase| rank_of_less(row.waits.mean.value, DIGITS);
    for combination in asked.iter().skip(1) {
        let last = rows.masks.last().copied().unwrap_or(0);
        let Some(row) = row(combination, last) else {
            continue;
        };
        let equals =
            |other: &Purchase| other.desks_met >= row.desks_met && rank(other) >= rank(&row);
        let hardly = row.beats < ratio(SHOWS);
        if hardly || equals(&rows.today) || rows.purchases.iter().any(equals) {
            rows.fell_out += 1;
        } else {
            rows.purchases.push(row);
            rows.masks.push(combination.mask);
        }
    }
    Ok(rows)
}

fn all(memo: &Memo<DeskWorth>, mask: Mask) -> Option<Vec<&DeskWorth>> {
    Some(memo.each(mask)?.collect())
}

/// What all wait in each draw.
fn together(desks: &[&DeskWorth]) -> Vec<f64> {
    let count = desks.first().map_or(0, |desk| desk.waits.len());
    let mut sum = vec![0.0; count];
    for desk in desks {
        for (sum, wait) in sum.iter_mut().zip(&desk.waits) {
            *sum += wait;
        }
    }
    sum
}

fn satisfied(desks: &[&DeskWorth], draw: usize) -> usize {
    let met = |desk: &&&DeskWorth| desk.met.get(draw).copied().unwrap_or(false);
    desks.iter().filter(met).count()
}

fn purchase(
    site: &Site,
    combination: Combination,
    (before, last, after): (&[&DeskWorth], &[&DeskWorth], &[&DeskWorth]),
    asking: &Asking<'_>,
    currency: &str,
) -> Purchase {
    let (was, is) = (together(before), together(after));
    // both endless: nothing is saved
    let less = |(was, is): (&f64, &f64)| {
        if was.is_finite() || is.is_finite() {
            was - is
        } else {
            0.0
        }
    };
    let saves: Vec<f64> = was.iter().zip(&is).map(less).collect();
    let desks: Vec<DeskGets> = site
        .desks
        .iter()
        .zip(after)
        .map(|(desk, worth)| DeskGets {
            desk: desk.name.clone(),
            read: percentiles::<DataRate>(&worth.rates[0]).into(),
            write: percentiles::<DataRate>(&worth.rates[1]).into(),
            waits: Waiting::of(&worth.waits),
            met: ratio(share(&worth.met)),
        })
        .collect();
    Purchase {
        offers: positions(asking.offer_set, combination.mask),
        price: Money {
            hundredths: combination.price,
            currency: currency.to_owned(),
        },
        desks_met: desks
            .iter()
            .filter(|desk| desk.met >= ratio(LIKELY))
            .count(),
        waits: Waiting::of(&is),
        saves: Waiting::of(&saves),
        helps: noticed(before, after),
        beats: noticed(last, after),
        desks,
    }
}

/// The share of draws in which somebody notices a difference for the better: a desk waits a twentieth less, or one more
/// gets what it needs.
fn noticed(before: &[&DeskWorth], after: &[&DeskWorth]) -> Ratio {
    let (was, is) = (together(before), together(after));
    let draws = was.iter().zip(&is).enumerate();
    let helped = draws.filter(|(draw, (was, is))| {
        let less = |was: f64, is: f64| is <= was * (1.0 - NOTICEABLE) && is < was;
        let at = |desk: &&DeskWorth| desk.waits.get(*draw).copied();
        let mut each = before.iter().zip(after);
        let one = each.any(|(was, is)| at(was).zip(at(is)).is_some_and(|(was, is)| less(was, is)));
        one || less(**was, **is) || satisfied(after, *draw) > satisfied(before, *draw)
    });
    ratio(helped.count() as f64 / is.len().max(1) as f64)
}

fn share(met: &[bool]) -> f64 {
    met.iter().filter(|met| **met).count() as f64 / met.len().max(1) as f64
}
