//! What to buy first: every combination of offers that no cheaper one equals.
//!
//! Offers are data: what they set in the site, what they cost, what they require and exclude. All
//! combinations are looked at over a few draws that they share; what nothing cheaper equals is then drawn in
//! full, before and after with the same luck, for the chance that it really helps.
//! Each desk is taken alone, as in its budget.

mod affected;
mod base;
mod combos;
mod compose;
mod cords;
mod drawn;
mod helps;
mod memo;
mod offers;
mod relations;
mod relevance;
mod search;
mod spoken;
#[cfg(test)]
mod tests;
mod worth;

pub use base::Base;
pub use cords::Cord;
pub use drawn::{DeskGets, Waiting};
pub use helps::{Help, Why};
pub use offers::{MOST_OFFERS, Offer, offers};
pub use spoken::spoken;

use crate::budget::BudgetFault;
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::plan::ports::Load;
use crate::plan::{Patience, Stopped, Watch};
use crate::quantity::{DataRate, Information, Money, Ratio};
use crate::site::{Faults, Site};
use crate::spread::Draws;
use crate::work::{Activity, Direction};
use combos::{Mask, OfferSet};
use memo::{Asking, Memo};
use search::{Mean, SEARCH_DRAWS};
use worth::Wants;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The site as it is.
    pub base: Base<'a>,
    /// What could be bought; see [`offers`].
    pub offers: &'a [Offer],
    /// The most that may be spent.
    pub spend: Option<Money>,
    /// A rate that every desk should reach, reading and writing.
    pub need: Option<DataRate>,
    /// What the desks do while they wait.
    pub activity: Activity,
    /// How many draws.
    pub draws: usize,
    /// On how many processors at once; the answer is the same for any number.
    pub workers: usize,
}

/// A combination with what it comes to.
#[derive(Clone, Debug)]
pub struct Purchase {
    /// What is bought, by position among the offers; none for things as they are.
    pub offers: Vec<usize>,
    /// What it costs.
    pub price: Money,
    /// Desks that get what they need in the median.
    pub desks_met: usize,
    /// What all desks together wait in a day.
    pub waits: Waiting,
    /// What that is less than today, draw by draw.
    pub saves: Waiting,
    /// The share of cases in which somebody would notice: a desk waits a twentieth less than today, or one
    /// more that gets what it needs.
    pub helps: Ratio,
    /// The same share against the purchase before it, or against today for the first.
    pub beats: Ratio,
    /// What each desk gets, in the order of the site.
    pub desks: Vec<DeskGets>,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Name of the site.
    pub site: String,
    /// Things as they are.
    pub today: Purchase,
    /// What nothing cheaper equals, the cheapest first.
    pub purchases: Vec<Purchase>,
    /// The purchase to make first, by position; none where nothing helps.
    pub first: Option<usize>,
    /// The best that the money buys, by position; none where nothing helps.
    pub best: Option<usize>,
    /// What each offer does, in the order of the offers.
    pub helps: Vec<Help>,
    /// How many combinations were looked at.
    pub looked_at: usize,
    /// How far the search came, where it was stopped; in combinations.
    pub stopped: Option<Stopped>,
    /// Combinations that were kept at first, and that drawing in full shows to be equalled, or hardly better
    /// than a cheaper one.
    pub fell_out: usize,
    /// Whether anything is needed: by a rate that was asked for, or by streams of tasks.
    pub needs: bool,
    /// What was assumed that each desk waits for, where nobody said.
    pub assumed: Option<Information>,
    /// What nobody said of the site.
    pub assumptions: Vec<crate::site::Assumption>,
}

impl Answer {
    /// Whether every desk gets what it needs with the best that the money buys.
    pub fn met(&self) -> bool {
        let best = self.best.and_then(|at| self.purchases.get(at));
        let best = best.unwrap_or(&self.today);
        !self.needs || best.desks_met == best.desks.len()
    }
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum PurchaseFault {
    /// The site itself is wrong.
    Site(Faults),
    /// A currency that is not that of the prices.
    Currency {
        /// What was asked in.
        asked: String,
        /// What the prices are in.
        priced: String,
    },
    /// A row that the catalogue lacks.
    Catalogue(CatalogueFault),
    /// A budget that cannot be had.
    Budget(BudgetFault),
    /// A model that cannot be used.
    Model(String),
}

impl std::fmt::Display for PurchaseFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Site(faults) => write!(f, "{faults}"),
            Self::Currency { asked, priced } => {
                write!(f, "the prices are in {priced}, and {asked} is to be spent")
            }
            Self::Catalogue(fault) => write!(f, "{fault}"),
            Self::Budget(fault) => write!(f, "{fault}"),
            Self::Model(what) => write!(f, "{what}"),
        }
    }
}

impl std::error::Error for PurchaseFault {}

impl From<CatalogueFault> for PurchaseFault {
    fn from(fault: CatalogueFault) -> Self {
        Self::Catalogue(fault)
    }
}

impl From<BudgetFault> for PurchaseFault {
    fn from(fault: BudgetFault) -> Self {
        Self::Budget(fault)
    }
}

/// Looks at every combination of offers, and says which of them nothing cheaper equals, what each does,
/// and which purchase to make first.
///
/// A combination is kept where no other that costs as much or less is as good in desks that get what they
/// need and in what all wait in a day, the mean over a few draws, to three digits. Those are then drawn in full,
/// with the same luck as things are today, and the same is asked again; what is noticeably better than the row
/// before it in fewer than one case of ten is left out. First comes the purchase that saves
/// most waiting for its money among those that are part of the best, and help in more than half of all
/// cases.
///
/// `watch` is told now and then how many of how many sites are worked out; where it says that it is enough, what was looked
/// at so far is compared.
///
/// # Errors
/// Where the site is wrong, the money is of another currency, or a row of the catalogue is missing.
///
/// Checked by `property_no_combination_is_beaten_and_none_is_missing`,
/// `verify_workers_do_not_change_what_is_bought`.
pub fn purchases(
    question: &Question<'_>,
    catalogue: &Catalogue,
    watch: Watch<'_>,
) -> Result<Answer, PurchaseFault> {
    let site = question
        .base
        .with(&[], catalogue)
        .map_err(PurchaseFault::Site)?;
    let priced = question.offers.first().map(|o| o.price.currency.clone());
    if let (Some(spend), Some(priced)) = (&question.spend, &priced)
        && spend.currency != *priced
    {
        return Err(PurchaseFault::Currency {
            asked: spend.currency.clone(),
            priced: priced.clone(),
        });
    }
    let (assumed, loads) = loads(&site, catalogue)?;
    let wants = Wants {
        loads: &loads,
        activity: question.activity,
        need: question.need,
    };
    let offer_set = OfferSet::new(question.offers);
    let affected = affected::of_offers(&site, question.offers);
    let relevant = relevance::relevant(&site, &affected);
    let composer = compose::Composer::new(&site, &affected, (question.base, &offer_set), catalogue);
    let few = || Draws::new(SEARCH_DRAWS);
    let asking = Asking {
        base: question.base,
        offer_set: &offer_set,
        wants: &wants,
        catalogue,
        composer: Some(&composer),
        draws: &few,
        workers: question.workers,
    };
    let spend = question.spend.as_ref().map(|money| money.hundredths);
    let combinations = offer_set.combinations(spend);
    let mut memo = Memo::new(&site, &relevant);
    let patience = Patience::of(watch);
    memo.fill(&combinations, &asking, &|worth| Mean::of(&worth), &patience)?;
    let known = combinations.iter().filter(|c| memo.knows(c.mask)).count();
    let front = search::front(&mut memo, &combinations, &asking);
    let many = || Draws::new(question.draws);
    let drawing = Asking {
        composer: None,
        draws: &many,
        ..asking
    };
    let currency = priced.unwrap_or_default();
    let rows = drawn::rows(&site, &front, &relevant, &drawing, (&currency, watch))?;
    let helps = helps::helps(
        &site,
        &memo,
        &combinations,
        &relevant,
        &drawing,
        patience.is_over(),
    )?;
    let (first, best) = rows.choice();
    Ok(Answer {
        site: site.name.clone(),
        today: rows.today,
        purchases: rows.purchases,
        first,
        best,
        helps,
        looked_at: known,
        stopped: patience.is_over().then_some(Stopped {
            done: known,
            all: combinations.len(),
        }),
        fell_out: rows.fell_out,
        needs: question.need.is_some() || loads.iter().any(|load| load.demand.is_some()),
        assumed,
        assumptions: site.assumptions,
    })
}

/// What the tasks make somebody wait for, or the same read and written for every desk.
fn loads(
    site: &Site,
    catalogue: &Catalogue,
) -> Result<(Option<Information>, Vec<Load>), PurchaseFault> {
    let told = Load::of_site(site);
    if told.iter().any(|load| load.per_day.is_some()) {
        return Ok((None, told));
    }
    let size: Information = catalogue.spread("patching.usual-load")?.median();
    let mut loads = told;
    for desk in &site.desks {
        for direction in Direction::BOTH {
            loads.push(Load {
                desk: desk.name.clone(),
                what: "copy".to_owned(),
                array: None,
                direction,
                demand: None,
                per_day: Some(size),
            });
        }
    }
    Ok((Some(size), loads))
}

/// Offers of a combination by position.
fn positions(offer_set: &OfferSet<'_>, mask: Mask) -> Vec<usize> {
    offer_set.members(mask).collect()
}
