//! Which offers can be bought together, and what that costs.

use super::offers::Offer;
use crate::change::Edit;

/// Offers that are bought together, one bit each.
pub(super) type Mask = u32;

/// A combination with its price in hundredths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Combination {
    pub price: i64,
    pub mask: Mask,
}

/// The offers with what follows from them.
#[derive(Clone, Debug)]
pub(super) struct Shelf<'a> {
    pub offers: &'a [Offer],
    /// What each requires, at any remove, itself included.
    pub closures: Vec<Mask>,
    /// What each cannot be bought with.
    excludes: Vec<Mask>,
    /// Required ones before those that require them.
    order: Vec<usize>,
}

pub(super) fn bit(index: usize) -> Mask {
    1 << index
}

impl<'a> Shelf<'a> {
    pub(super) fn new(offers: &'a [Offer]) -> Self {
        let mut closures: Vec<Mask> = (0..offers.len()).map(bit).collect();
        // as many rounds as a chain can have links
        for _ in 0..offers.len() {
            for (index, offer) in offers.iter().enumerate() {
                for &other in &offer.requires {
                    closures[index] |= closures[other];
                }
            }
        }
        let excludes = (0..offers.len())
            .map(|a| {
                let clash = |b: &usize| {
                    let related = closures[a] & bit(*b) != 0 || closures[*b] & bit(a) != 0;
                    offers[a].excludes.contains(b)
                        || (a != *b && !related && same_place(&offers[a], &offers[*b]))
                };
                (0..offers.len()).filter(clash).fold(0, |mask, b| mask | bit(b))
            })
            .collect();
        let mut order: Vec<usize> = (0..offers.len()).collect();
        order.sort_by_key(|index| (closures[*index].count_ones(), *index));
        Self {
            offers,
            closures,
            excludes,
            order,
        }
    }

    /// The edits of a combination, those of required offers first.
    pub(super) fn edits(&self, mask: Mask) -> Vec<&'a Edit> {
        let bought = self.order.iter().filter(|index| mask & bit(**index) != 0);
        bought.flat_map(|index| &self.offers[*index].sets).collect()
    }

    pub(super) fn price(&self, mask: Mask) -> i64 {
        self.members(mask)
            .map(|index| self.offers[index].price.hundredths)
            .fold(0, i64::saturating_add)
    }

    pub(super) fn members(&self, mask: Mask) -> impl Iterator<Item = usize> + '_ {
        (0..self.offers.len()).filter(move |index| mask & bit(*index) != 0)
    }

    /// Whether all that is required is there, and nothing excludes another.
    pub(super) fn allowed(&self, mask: Mask) -> bool {
        self.members(mask)
            .all(|index| self.closures[index] & !mask == 0 && self.excludes[index] & mask == 0)
    }

    /// Every combination that may be bought for no more than so much, nothing among them.
    ///
    /// Checked by `property_combinations_are_those_that_are_allowed`.
    pub(super) fn combinations(&self, spend: Option<i64>) -> Vec<Combination> {
        let mut found = Vec::new();
        let nothing = Combination { price: 0, mask: 0 };
        self.grow(0, nothing, spend.unwrap_or(i64::MAX), &mut found);
        found
    }

    fn grow(&self, at: usize, so_far: Combination, spend: i64, found: &mut Vec<Combination>) {
        let Some(&index) = self.order.get(at) else {
            found.push(so_far);
            return;
        };
        self.grow(at + 1, so_far, spend, found);
        let price = so_far.price.saturating_add(self.offers[index].price.hundredths);
        let mask = so_far.mask | bit(index);
        // required offers come earlier in the order
        let whole = self.closures[index] & !mask == 0;
        if price <= spend && whole && self.excludes[index] & mask == 0 {
            self.grow(at + 1, Combination { price, mask }, spend, found);
        }
    }
}

/// Whether two offers set the same place to different things, or one sets what lies inside the other's.
fn same_place(a: &Offer, b: &Offer) -> bool {
    a.sets.iter().any(|one| {
        b.sets.iter().any(|other| {
            let (short, long) = if one.steps().len() <= other.steps().len() {
                (one, other)
            } else {
                (other, one)
            };
            let mut names = short.steps().iter().zip(long.steps());
            let inside = names.all(|(s, l)| s.name == l.name);
            inside && (one.path() != other.path() || one.value().1 != other.value().1)
        })
    })
}
