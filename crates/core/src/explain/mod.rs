//! Measured numbers against changes: is a number right, what is at fault, what to test next.
//!
//! Every number that was told is predicted under every cause, on the same draws of what is not
//! known; how well a cause predicts them all, times how often it happens, is its probability.
//! Nothing being at fault and none of these are explanations among the others.

mod candidates;
mod cause;
mod compare;
mod densities;
mod desk_path;
mod earlier;
mod effect;
mod evidence;
mod expected;
mod families;
mod far;
mod found;
mod guess;
mod inference;
mod judged;
mod likelihood;
mod limits;
mod material;
mod meant;
mod next;
mod observed;
mod places;
mod predicted;
mod reading;
mod say;
mod scaled;
mod scenarios;
mod statement;
mod tags;
mod test_rows;
mod trouble;
mod verdict;
mod words;

pub use cause::{Cause, causes};
pub use compare::settle;
pub use families::Families;
pub use found::{
    Asks, CauseFound, Explanation, FamilyFound, LeftOut, NextTest, OneWay, Outcome, ReadingShown,
    RuledOut, Verdict,
};
pub use guess::{Impossible, Possible, possible};
pub use material::{MaterialAsked, MaterialChoice, needs_material, play, play_of};
pub use reading::{Amount, Exactness, Meaning, RateReading, RateUnit, Reading, Remark, What};
pub use test_rows::{TestRow, tests};
pub use trouble::careful;
pub use words::{
    Listener, Meant, ReadingList, RemarkRow, Remarks, Statement, Understood, UnitMeaning, Units,
    Value,
};

use crate::budget::BudgetFault;
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::{DataRate, LinkRate, Measure, ratio};
use crate::site::{Known, Site};
use crate::spread::{Bounds, Spread};
use candidates::candidates;
use evidence::Evidence;
use inference::{Hypothesis, Inference, Posterior, Weights};
use judged::Judged;
use observed::{Observed, Scatter};
use places::Places;
use scenarios::Scenarios;

/// What was told.
#[allow(clippy::struct_excessive_bools)] // each is told by itself
#[derive(Clone, Debug, Default)]
pub struct Observations {
    /// The site, or the sites that it may be where parts of it were not told, with their weights.
    pub sites: Vec<(Site, f64)>,
    /// Whether somebody described the way.
    pub path_told: bool,
    /// Whether somebody described the array.
    pub array_told: bool,
    /// Whether the files were many and copied on the NAS itself.
    pub many_files_at_the_array: bool,
    /// Whose readings these are where they do not say.
    pub desk: Option<String>,
    /// Numbers.
    pub readings: Vec<Reading>,
    /// What was noticed besides.
    pub remarks: Vec<Remark>,
    /// Tests that were asked for already, by id, whatever came of it.
    pub asked: Vec<String>,
    /// Whether something was said that may mean that a drive is in trouble, and may not.
    pub feared: bool,
    /// Draws; 0 for the usual number.
    pub draws: usize,
}

impl Observations {
    /// Whether a remark was made, of a desk or of nobody's in particular.
    fn says(&self, remark: &str, desk: &str) -> bool {
        let concerns = |r: &Remark| r.desk.as_deref().is_none_or(|d| d == desk);
        let mut all = self.remarks.iter();
        all.any(|r| r.id == remark && concerns(r))
    }

    /// Whose readings these are, where that is told.
    fn whose(&self) -> Option<&str> {
        let of_a_reading = || self.readings.iter().find_map(|r| r.desk.as_deref());
        self.desk.as_deref().or_else(of_a_reading)
    }

    /// The site that it is most likely.
    fn likeliest_site(&self) -> Option<&Site> {
        let heaviest = self.sites.iter().max_by(|a, b| a.1.total_cmp(&b.1));
        heaviest.map(|(site, _)| site)
    }

    /// Whose a reading is that does not say it: the first desk where nobody says more; empty where
    /// there is none.
    fn usual_desk(&self) -> &str {
        let first = || {
            self.likeliest_site()?
                .desks
                .first()
                .map(|d| d.name.as_str())
        };
        self.whose().or_else(first).unwrap_or_default()
    }

    /// Whose a reading is.
    fn desk_of<'t>(&'t self, reading: &'t Reading) -> &'t str {
        let own = reading.desk.as_deref();
        own.unwrap_or_else(|| self.usual_desk())
    }

    /// Whether anything was measured over the network.
    fn network(&self) -> bool {
        self.readings.iter().any(Reading::is_over_the_network)
    }
}

/// Causes below this are not shown.
const SHOWN: f64 = 0.01;

/// Enough for a probability to repeat to about a percent.
const USUAL: usize = 1536;

/// Explains what was told.
///
/// # Errors
/// As [`crate::budget::answer`].
pub fn explain(told: &Observations, catalogue: &Catalogue) -> Result<Explanation, BudgetFault> {
    let told = &pinged(told, catalogue)?;
    let judged = Judged::new(catalogue)?;
    let causes = causes()?;
    let evidence = Evidence::embedded()?;
    let count = if told.draws == 0 { USUAL } else { told.draws };
    let mut scenarios = Scenarios::new(told, catalogue, count)?;
    let observed = Observed::all(told);
    for one in &observed {
        for (ask, _) in &one.asks {
            scenarios.predict(ask)?;
        }
    }
    let Some(site) = told.likeliest_site() else {
        return Ok(Explanation::empty());
    };
    // what the sites have no way for cannot be predicted
    let there = |h: &Observed| h.asks.iter().all(|(ask, _)| scenarios.made(ask).is_some());
    let (observed, without): (Vec<Observed>, Vec<Observed>) = observed.into_iter().partition(there);
    let left_out: Vec<(usize, LeftOut)> = without
        .iter()
        .map(|h| (h.index, observed::left_out(h, site)))
        .collect();
    let places = Places::of(site, told, &observed, &scenarios.taken(&observed), &judged);
    let shown: Vec<(String, LinkRate)> = told
        .readings
        .iter()
        .filter_map(|r| match r.amount {
            Amount::Link(rate) => Some((told.desk_of(r).to_owned(), rate)),
            _ => None,
        })
        .collect();
    let mut candidates = candidates(&causes, &places, &observed, &mut scenarios);
    far::asked_at_a_time(told, &causes, &mut candidates);
    let remarks = evidence::remarks(told, &judged);
    let scatter = Scatter::new(catalogue)?;
    earlier::weigh(told, &observed, &mut scenarios, &scatter);
    let inference = Inference {
        causes: &causes,
        candidates: &candidates,
        observed: &observed,
        places: &places,
        remarks: &remarks,
        evidence: &evidence,
        scatter,
        weights: Weights::new(catalogue)?,
        shown: &shown,
    };
    let posteriors = inference.judge(&scenarios);
    let as_meant = meant::taken(&inference, &posteriors, &scenarios);
    let inference = Inference {
        observed: &as_meant,
        ..inference
    };
    let next_tests = next::next_tests(told, &inference, &posteriors, &mut scenarios)?;
    let families = Families::embedded()?;
    Ok(put_together(
        (told, site, &left_out),
        (&inference, &posteriors, &scenarios),
        next_tests,
        &families,
    ))
}

/// A measured round trip takes the place of the one that was assumed; that of an end that is said to be far does where the site
/// states none.
fn pinged(told: &Observations, catalogue: &Catalogue) -> Result<Observations, CatalogueFault> {
    let mut told = told.clone();
    let trip = told.readings.iter().find_map(|r| match r.amount {
        Amount::Time(time) if r.what == What::Ping => Some(time),
        _ => None,
    });
    // pings scatter
    let share = catalogue.number("explain.ping")?;
    if let Some(trip) = trip {
        for (site, _) in &mut told.sites {
            let [low, middle, high] =
                [share.low, share.likely, share.high].map(|share| trip * ratio(share));
            let spread = Spread::percentiles(low, middle, high, Bounds::POSITIVE);
            if let Ok(spread) = spread {
                site.network.round_trip = Known::stated("network.round-trip/measured", spread);
            }
        }
    } else if let Some(spread) = far::round_trip(&told, catalogue)? {
        for (site, _) in &mut told.sites {
            if site.network.round_trip.is_assumed() {
                site.network.round_trip = Known::stated("network.round-trip/far", spread.clone());
            }
        }
    }
    Ok(told)
}

fn put_together(
    (told, site, left_out): (&Observations, &Site, &[(usize, LeftOut)]),
    (inference, posteriors, scenarios): (&Inference<'_>, &[Posterior], &Scenarios<'_>),
    next_tests: Vec<NextTest>,
    in_people_s_words: &Families,
) -> Explanation {
    let verdict = verdict::verdict(told, inference, posteriors, scenarios);
    let mut families: Vec<FamilyFound> = Vec::new();
    for posterior in posteriors {
        for (family, share) in families_of(inference, posterior) {
            match families.iter_mut().find(|f| f.family == family) {
                Some(found) => found.probability += share,
                None => families.push(FamilyFound {
                    family,
                    probability: share,
                }),
            }
        }
    }
    families.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let mut told_of: Vec<(CauseFound, &Posterior)> = Vec::new();
    for posterior in posteriors.iter().filter(|b| b.probability >= SHOWN) {
        let all = say::causes(told, inference, posterior, scenarios).into_iter();
        told_of.extend(all.map(|cause| (cause, posterior)));
    }
    told_of.retain(|(cause, _)| cause.probability >= SHOWN);
    // stable: of equals, the row that stands first
    told_of.sort_by(|a, b| b.0.probability.total_cmp(&a.0.probability));
    let other = posteriors.iter().filter(|b| b.what == Hypothesis::Other);
    let none_of_these = other.map(|b| b.probability).sum();
    let spoken = statement::Spoken {
        told,
        inference,
        scenarios,
        verdict,
        causes: &told_of,
        left_out,
        none_of_these,
    };
    let statement = spoken.statement();
    let likeliest = told_of.first().map(|(cause, _)| cause);
    let next_step = statement::next_step(
        &statement,
        verdict,
        &next_tests,
        likeliest,
        in_people_s_words,
    );
    let before_all = trouble::before_all(told, inference, posteriors, scenarios);
    let causes = told_of.into_iter().map(|(cause, _)| cause).collect();
    let readings = told
        .readings
        .iter()
        .enumerate()
        .map(|(index, reading)| ReadingShown {
            left_out: left_out
                .iter()
                .find(|(i, _)| *i == index)
                .map(|(_, why)| *why),
            ..shown(index, reading, inference.observed, scenarios)
        })
        .collect();
    Explanation {
        verdict,
        before_all,
        in_words: statement.first,
        why: statement.why,
        next_step,
        readings,
        causes,
        families,
        none_of_these,
        narrowest: inference
            .narrowest(scenarios)
            .map(|row| inference.causes[row].family.clone()),
        ruled_out: say::ruled_out(told, inference, posteriors, scenarios),
        next_tests,
        would_help: would_help(told),
        assumptions: site
            .assumptions
            .iter()
            .map(|a| format!("{}: {}", a.id, a.value))
            .collect(),
        cautions: vec![CAUTION.to_owned()],
    }
}

/// What people leave out most, in the order in which it would help.
fn would_help(told: &Observations) -> Vec<String> {
    let rates = || {
        told.readings
            .iter()
            .filter(|r| matches!(r.amount, Amount::Rate(_)))
    };
    let has = |what: What| told.readings.iter().any(|r| r.what == what);
    let mut help = Vec::new();
    let mut ask = |wanted: bool, text: &str| {
        if wanted {
            help.push(text.to_owned());
        }
    };
    ask(
        rates().count() == 0,
        "a rate: what was copied, which way, how fast",
    );
    ask(
        rates().any(|r| r.direction.is_none()),
        "which way it went: reading from the array, or writing to it",
    );
    ask(
        told.network() && !told.path_told && !has(What::LinkRate),
        "the speed that both ends of each cable show",
    );
    ask(
        told.network() && rates().any(|r| r.what == What::Copy) && !has(What::RawTcp),
        "memory to memory between the same two machines, both ways",
    );
    ask(!told.array_told, "layout, number and class of the drives");
    ask(
        rates().any(|r| r.what == What::Copy && r.size.is_none()),
        "how large the file was, beside the memory of both machines",
    );
    help.truncate(3);
    help
}

/// What has to be said whenever drives are in question.
const CAUTION: &str = "Before you change anything: check that the second copy of the pictures is complete and can be \
     read. An array is not a backup.";

/// The family of a cable that came up slower than its ends know.
const FALLEN: &str = "slow-hop";

/// More draws with it than without.
const HALF: f64 = 0.5;

/// The families of a posterior with its probability; two causes share it.
fn families_of(inference: &Inference<'_>, posterior: &Posterior) -> Vec<(String, f64)> {
    let of = |s: usize| {
        inference.causes[inference.candidates[s].cause]
            .family
            .clone()
    };
    match posterior.what {
        Hypothesis::Healthy { row, .. } => {
            vec![(inference.causes[row].family.clone(), posterior.probability)]
        }
        // the fault is there on top of a cable that came up slow: both are at work
        Hypothesis::One(s)
            if posterior.fallen.iter().any(|(_, f)| *f > HALF) && of(s) != FALLEN =>
        {
            vec![
                (of(s), posterior.probability / 2.0),
                (FALLEN.to_owned(), posterior.probability / 2.0),
            ]
        }
        Hypothesis::One(s) => vec![(of(s), posterior.probability)],
        Hypothesis::Two(a, b) if of(a) == of(b) => vec![(of(a), posterior.probability)],
        Hypothesis::Two(a, b) => vec![
            (of(a), posterior.probability / 2.0),
            (of(b), posterior.probability / 2.0),
        ],
        Hypothesis::Other => vec![("unknown".to_owned(), posterior.probability)],
    }
}

fn shown(
    index: usize,
    reading: &Reading,
    observed: &[Observed],
    scenarios: &Scenarios<'_>,
) -> ReadingShown {
    let own = observed.iter().find(|h| h.index == index);
    ReadingShown {
        text: reading.text.clone(),
        what: reading.what,
        direction: reading.direction,
        understood: match &reading.amount {
            Amount::Rate(rate) if rate.exactness == Exactness::Stalled => Some(DataRate::default()),
            Amount::Rate(rate) => {
                Some(own.map_or_else(|| rate.likeliest(), |h| DataRate::from_base(h.likeliest())))
            }
            _ => None,
        },
        expected: own.map_or_else(Vec::new, |h| say::expected(h, scenarios)),
        left_out: None,
    }
}

#[cfg(test)]
#[path = "tests/mod.rs"]
mod simulations;
