//! What a site is worth to one desk: waiting a day, and whether it gets what it needs.

use super::PurchaseFault;
use crate::budget::{Answer, Cabling, PlainFlow, Question, answer_with, plain_rates};
use crate::catalogue::Catalogue;
use crate::plan::ports::Load;
use crate::quantity::{DataRate, Measure};
use crate::site::Site;
use crate::spread::Draws;
use crate::work::{Activity, Direction, Work};

/// What everybody looks for.
#[derive(Clone, Debug)]
pub(super) struct Wants<'a> {
    pub loads: &'a [Load],
    pub activity: Activity,
    /// A rate that every desk should reach, reading and writing.
    pub need: Option<DataRate>,
}

/// What one desk gets.
#[derive(Clone, Debug)]
pub(super) struct DeskWorth {
    /// Seconds that somebody waits a day, one a draw; endless where no way leads to the data.
    pub waits: Vec<f64>,
    /// Reading and writing, one a draw; nothing where no way leads.
    pub rates: [Vec<f64>; 2],
    /// For each draw, whether it gets what it needs.
    pub met: Vec<bool>,
}

/// What it takes to look at a desk.
pub(super) struct Looking<'a> {
    pub catalogue: &'a Catalogue,
    physics: Cabling,
    draws: Draws,
}

impl<'a> Looking<'a> {
    pub(super) fn new(catalogue: &'a Catalogue, draws: Draws) -> Result<Self, PurchaseFault> {
        Ok(Self {
            catalogue,
            physics: Cabling::new(catalogue)?,
            draws,
        })
    }

    /// All that is to be told of a desk.
    pub(super) fn answer(
        &mut self,
        site: &Site,
        desk: &str,
        activity: Activity,
    ) -> Result<Answer, PurchaseFault> {
        let question = question(desk, activity);
        Ok(answer_with(
            site,
            &question,
            self.catalogue,
            &self.physics,
            &mut self.draws,
        )?)
    }

    fn flows(
        &mut self,
        site: &Site,
        desk: &str,
        activity: Activity,
    ) -> Result<Vec<PlainFlow>, PurchaseFault> {
        let question = question(desk, activity);
        let known = (self.catalogue, &self.physics);
        Ok(plain_rates(site, desk, &question, known, &mut self.draws)?)
    }

    pub(super) fn worth(
        &mut self,
        site: &Site,
        desk: &str,
        wants: &Wants<'_>,
    ) -> Result<DeskWorth, PurchaseFault> {
        let copying = self.flows(site, desk, wants.activity)?;
        let count = self.draws.count();
        let mut worth = DeskWorth {
            waits: vec![0.0; count],
            rates: Direction::BOTH.map(|way| best(&copying, None, way, count)),
            met: vec![true; count],
        };
        let loads: Vec<&Load> = wants.loads.iter().filter(|l| l.desk == desk).collect();
        for load in &loads {
            let Some(size) = load.per_day else { continue };
            let rates = best(&copying, load.array.as_deref(), load.direction, count);
            for (wait, rate) in worth.waits.iter_mut().zip(&rates) {
                *wait += size.base() / rate;
            }
        }
        let reach = |met: &mut [bool], rates: &[f64], need: f64| {
            for (met, rate) in met.iter_mut().zip(rates) {
                *met &= *rate >= need;
            }
        };
        if let Some(need) = wants.need {
            for rates in &worth.rates {
                reach(&mut worth.met, rates, need.base());
            }
        }
        if loads.iter().any(|load| load.demand.is_some()) {
            // a stream does not pass the desk's own disk
            let playing = if wants.activity == Activity::Copy {
                self.flows(site, desk, Activity::Play)?
            } else {
                copying
            };
            for load in loads {
                let Some(demand) = load.demand else { continue };
                let rates = best(&playing, load.array.as_deref(), load.direction, count);
                reach(&mut worth.met, &rates, demand.base());
            }
        }
        Ok(worth)
    }
}

fn question(desk: &str, activity: Activity) -> Question {
    Question {
        work: Work::plain(activity),
        desk: Some(desk.to_owned()),
        working: false,
        need: None,
    }
}

/// The best of a desk's ports in each draw, to an array or to the first there is.
fn best(flows: &[PlainFlow], array: Option<&str>, direction: Direction, count: usize) -> Vec<f64> {
    let first = flows.first().map(|flow| flow.array.as_str());
    let array = array.or(first);
    let fits =
        |flow: &&PlainFlow| flow.direction == direction && Some(flow.array.as_str()) == array;
    let mut rates = vec![0.0; count];
    for flow in flows.iter().filter(fits) {
        for (best, rate) in rates.iter_mut().zip(&flow.rates) {
            *best = f64::max(*best, *rate);
        }
    }
    rates
}
