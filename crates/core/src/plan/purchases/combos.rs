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
pub(super) struct OfferSet<'a> {
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

impl<'a> OfferSet<'a> {
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
                (0..offers.len())
                    .filter(clash)
                    .fold(0, |mask, b| mask | bit(b))
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

    pub(super) fn members(&self, mask: Mask) -> impl Iterator<Item = usize> + '_ {
        (0..self.offers.len()).filter(move |index| mask & bit(*index) != 0)
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
        let price = so_far
            .price
            .saturating_add(self.offers[index].price.hundredths);
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

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::quantity::Money;
    use proptest::prelude::*;

    pub(crate) fn offer(id: usize, price: i64, sets: &[&str]) -> Offer {
        Offer {
            id: format!("offer-{id}"),
            label: None,
            price: Money {
                hundredths: price,
                currency: "EUR".to_owned(),
            },
            sets: Edit::parse_all(sets).unwrap(),
            requires: Vec::new(),
            excludes: Vec::new(),
            cords: Vec::new(),
        }
    }

    /// Offers with requirements among those before them, and exclusions that both name.
    fn shelves() -> impl Strategy<Value = Vec<Offer>> {
        let one = (0..500_i64, any::<(u8, u8)>(), 0..4_usize);
        prop::collection::vec(one, 1..9).prop_map(|drafts| {
            let mut offers: Vec<Offer> = Vec::new();
            for (id, (price, (requires, excludes), place)) in drafts.into_iter().enumerate() {
                // some set the same place
                let set = format!(
                    "run.{}.cable=\"cat{id}\"",
                    place + 1 + 4 * id.min(1) * (id % 3)
                );
                let mut made = offer(id, price, &[&set]);
                let picked = |bits: u8| (0..id).filter(move |other| bits >> other & 3 == 3);
                made.requires = picked(requires).collect();
                made.excludes = picked(excludes).collect();
                for other in made.excludes.clone() {
                    offers[other].excludes.push(id);
                }
                offers.push(made);
            }
            offers
        })
    }

    proptest! {
        #[test]
        fn property_combinations_are_those_that_are_allowed(
            offers in shelves(), spend in prop::option::of(0..1500_i64),
        ) {
            let offer_set = OfferSet::new(&offers);
            let mut found = offer_set.combinations(spend);
            found.sort_by_key(|c| c.mask);
            let mut expected = Vec::new();
            for mask in 0..1 << offers.len() {
                let has = |i: &usize| mask >> i & 1 == 1;
                let bought: Vec<usize> = (0..offers.len()).filter(has).collect();
                let price: i64 = bought.iter().map(|i| offers[*i].price.hundredths).sum();
                let required = bought.iter().all(|i| offers[*i].requires.iter().all(has));
                let excluded = bought.iter().any(|i| offers[*i].excludes.iter().any(has));
                // two that set one place to different things, unless one requires the other at some remove
                let needs = |from: usize, to: usize| {
                    let mut seen = vec![from];
                    let mut at = 0;
                    while at < seen.len() {
                        seen.extend(offers[seen[at]].requires.clone());
                        at += 1;
                    }
                    seen.contains(&to)
                };
                let clash = bought.iter().any(|a| bought.iter().any(|b| {
                    a < b
                        && offers[*a].sets[0].path() == offers[*b].sets[0].path()
                        && !needs(*b, *a)
                }));
                if required && !excluded && !clash && spend.is_none_or(|spend| price <= spend) {
                    expected.push(Combination { price, mask });
                }
            }
            prop_assert_eq!(found, expected);
        }
    }

    #[test]
    fn what_lies_inside_another_place_is_the_same_place() {
        let offers = [
            offer(0, 1, &["run.2={ from = \"desk.a\", to = \"nas.b\" }"]),
            offer(1, 1, &["run.2.cable=\"cat6\""]),
            offer(2, 1, &["run.2.cable=\"cat6\"", "run.3.cable=\"cat6\""]),
        ];
        let offer_set = OfferSet::new(&offers);
        let masks: Vec<Mask> = offer_set
            .combinations(None)
            .iter()
            .map(|c| c.mask)
            .collect();
        // the same value twice does no harm
        assert!(masks.contains(&0b110) && !masks.contains(&0b011) && !masks.contains(&0b101));
    }
}
