//! What a person is told to expect of a reading: what a budget of the same copy says, to the digit.

use super::scenarios::{Ask, path_of};
use crate::budget::Common;
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Measure};
use crate::site::Site;
use crate::spread::{Draws, USUAL_DRAWS};
use crate::working::percentiles;
use std::cell::{OnceCell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;

/// Rates of one reading where nothing is at fault, over all that the site may be.
///
/// Causes are weighed on fewer draws and with desks that reach their files as most do; a range that is shown
/// beside a budget must not differ from it, so it is a budget's own: the site as it was told, with the number
/// of draws that a budget takes.
///
/// Checked by `verify_what_is_expected_is_the_budget`.
pub(crate) struct Expected {
    /// Bytes a second, lowest first, each with its weight; the weights add up to one.
    rates: Vec<(f64, f64)>,
    range: [DataRate; 3],
}

impl Expected {
    fn new(sites: Vec<(Vec<f64>, f64)>) -> Self {
        let one_site = match &sites[..] {
            [(rates, _)] => Some(percentiles::<DataRate>(rates)),
            _ => None,
        };
        let mut all: Vec<(f64, f64)> = Vec::new();
        for (rates, weight) in sites {
            let each = weight / rates.len() as f64;
            all.extend(rates.into_iter().map(|rate| (rate, each)));
        }
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut expected = Self {
            rates: all,
            range: Default::default(),
        };
        expected.range = one_site.map_or_else(
            || [0.05, 0.5, 0.95].map(|share| expected.at(share)),
            |p| [p.p05, p.p50, p.p95],
        );
        expected
    }

    /// The rate below which a share of the weight lies.
    fn at(&self, share: f64) -> DataRate {
        let mut sum = 0.0;
        let found = self.rates.iter().find(|(_, weight)| {
            sum += weight;
            sum >= share
        });
        DataRate::from_base(found.or(self.rates.last()).map_or(0.0, |(rate, _)| *rate))
    }

    /// 5th, 50th and 95th percentile.
    pub(crate) fn range(&self) -> [DataRate; 3] {
        self.range
    }

    /// The share of places like this in which a rate in bytes a second would be a fast one: those that give less.
    pub(crate) fn below(&self, rate: f64) -> f64 {
        let less = self.rates.iter().take_while(|(known, _)| *known < rate);
        less.map(|(_, weight)| weight).sum()
    }
}

/// Expectations, each worked out when somebody asks first.
pub(crate) struct Expectations<'a> {
    catalogue: &'a Catalogue,
    sites: Vec<Place<'a>>,
    known: RefCell<HashMap<Ask, Option<Rc<Expected>>>>,
}

struct Place<'a> {
    site: &'a Site,
    weight: f64,
    draws: RefCell<Draws>,
    /// Made where the first question needs it.
    common: OnceCell<Common>,
}

impl<'a> Expectations<'a> {
    pub(crate) fn new(sites: &'a [(Site, f64)], catalogue: &'a Catalogue) -> Self {
        let sum: f64 = sites.iter().map(|(_, weight)| weight).sum();
        // several sites share the draws of one
        let count = (USUAL_DRAWS / sites.len().max(1)).max(USUAL_DRAWS / 8);
        let place = |(site, weight): &'a (Site, f64)| Place {
            site,
            weight: weight / sum,
            draws: RefCell::new(Draws::new(count)),
            common: OnceCell::new(),
        };
        Self {
            catalogue,
            sites: sites.iter().map(place).collect(),
            known: RefCell::default(),
        }
    }

    /// What is to be expected of a reading; nothing where a site has no path for it.
    pub(crate) fn of(&self, ask: &Ask) -> Option<Rc<Expected>> {
        if let Some(known) = self.known.borrow().get(ask) {
            return known.clone();
        }
        let made = self.make(ask);
        self.known.borrow_mut().insert(ask.clone(), made.clone());
        made
    }

    fn make(&self, ask: &Ask) -> Option<Rc<Expected>> {
        let mut found = Vec::with_capacity(self.sites.len());
        for place in &self.sites {
            if place.common.get().is_none() {
                let _ = place.common.set(Common::new(self.catalogue).ok()?);
            }
            let known = (self.catalogue, place.common.get()?);
            let path = path_of(ask, place.site, known, None, &mut place.draws.borrow_mut());
            // what could be predicted before can be now
            let path = path.ok().flatten()?;
            let rates = (0..path.count()).map(|draw| path.rate(draw)).collect();
            found.push((rates, place.weight));
        }
        (!found.is_empty()).then(|| Rc::new(Expected::new(found)))
    }
}
