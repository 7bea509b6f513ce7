//! What comes in, month by month.

use super::answer::Question;
use super::fill::Need;
use super::volume::{History, MONTH, ShootingDay, month};
use crate::samples::{KeepingFault, Samples};
use narrows_core::quantity::{DataRate, Information, Measure, Ratio, Time, ratio};
use narrows_core::site::{Project, Site};
use narrows_core::spread::normal_score;

/// Growth of a month, draw by draw.
pub(super) struct Months {
    pub(super) mean: Vec<Information>,
    pub(super) deviation: Vec<Information>,
    pub(super) day: Option<Vec<Information>>,
}

/// An array that shrinks in some cases is taken to grow by this share of the mean in those.
pub(super) const LEAST_GROWTH: f64 = 0.01;

impl Months {
    pub(super) fn need(&self, room: Information, i: usize) -> Need {
        Need {
            room,
            mean: self.mean[i],
            deviation: self.deviation[i],
        }
    }
}

/// What comes in a day between two runs of a copy, for [`crate::backup`].
pub(crate) fn daily(
    site: &Site,
    samples: &mut Samples<'_>,
) -> Result<Vec<Information>, KeepingFault> {
    let question = Question {
        history: None,
        held: None,
        seasons: None,
        need: None,
        array: None,
    };
    let months = incoming(site, &question, samples)?;
    let days = MONTH / 86_400.0;
    Ok(months.mean.iter().map(|m| *m / days).collect())
}

pub(super) fn incoming(
    site: &Site,
    question: &Question,
    samples: &mut Samples<'_>,
) -> Result<Months, KeepingFault> {
    if let Some(history) = question.history {
        return Ok(of_history(&history, samples));
    }
    let Some(project) = &site.project else {
        return Err(KeepingFault::Missing {
            what: "project, so nobody knows what comes in",
            help: "add [project] with cameras, codec or rate, recorded and shooting-days, or give --readings FILE with dates and sizes",
        });
    };
    of_project(project, samples)
}

/// The mean is as uncertain as its history is short.
pub(super) fn of_history(history: &History, samples: &mut Samples<'_>) -> Months {
    let count = samples.count();
    let strata = samples.draws.strata("growth/mean");
    let least = history.mean.base().abs() * LEAST_GROWTH;
    let mean = strata
        .iter()
        .map(|s| {
            let score = normal_score((f64::from(*s) + 0.5) / count as f64);
            let mean = history.mean.base() + score * history.error.base();
            Information::from_base(mean.max(least))
        })
        .collect();
    Months {
        mean,
        deviation: vec![history.deviation; count],
        day: None,
    }
}

pub(super) fn of_project(
    project: &Project,
    samples: &mut Samples<'_>,
) -> Result<Months, KeepingFault> {
    let rate: Vec<DataRate> = match &project.rate {
        Some(rate) => samples.value(rate),
        None => samples.row_for("project.rate", "growth.rate.mean")?,
    };
    let recorded: Vec<Time> = samples.value(&project.recorded);
    let days: Vec<f64> = samples.value(&project.shooting_days);
    let renders: Vec<Ratio> = samples.value(&project.renders);
    let deleted: Vec<Ratio> = samples.value(&project.deleted);
    let proxies = samples.spread("project.proxies", &project.proxies);
    let overhead: Vec<Ratio> = samples.row("growth.overhead")?;
    let scatter: Vec<f64> = samples.row("growth.scatter")?;
    let mut months = Months {
        mean: Vec::new(),
        deviation: Vec::new(),
        day: Some(Vec::new()),
    };
    let mut all_days = Vec::new();
    for i in 0..samples.count() {
        let day = ShootingDay {
            cameras: f64::from(project.cameras),
            recorded: recorded[i],
            rate: rate[i],
            tracks: f64::from(project.tracks),
            proxies: proxies[i],
            overhead: overhead[i],
        }
        .size();
        let kept = ratio(1.0 - deleted[i].base());
        let mean = month(day, days[i], renders[i]) * kept;
        months.mean.push(mean);
        months.deviation.push(mean * scatter[i]);
        all_days.push(day);
    }
    months.day = Some(all_days);
    Ok(months)
}
