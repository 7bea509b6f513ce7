//! Stopping a NAS in order: how long it takes, when it must begin, and what a cut takes.

use crate::samples::KeepingFault;
use crate::samples::{Range, Samples, digits};
use narrows_core::budget::{self, Question};
use narrows_core::power::{DirtyMemory, Stop, lost_in_memory, wait_before_stop};
use narrows_core::quantity::{DataRate, Information, Measure, Ratio, Time, ratio};
use narrows_core::site::{Site, Supply};
use narrows_core::spread::{Bounds, Draws, Spread};
use narrows_core::work::{Activity, Direction, Work};
use serde::Serialize;

/// Draws of the rates that a stop is reckoned with: they decide little of it.
const RATE_DRAWS: usize = 256;

/// How stopping in order goes.
#[derive(Clone, Debug, Serialize)]
pub struct StopAnswer {
    /// The NAS that is stopped.
    pub nas: String,
    /// How long it takes.
    pub takes_s: Range<Time>,
    /// As it is where what memory holds are many small files.
    pub takes_scattered_s: Range<Time>,
    /// How long after the gap began it has to begin; zero means at once.
    pub begin_after_s: Range<Time>,
    /// The chance that it finishes before the battery is empty if it begins at once.
    #[serde(serialize_with = "digits")]
    pub finishes_probability: f64,
    /// What is gone where power just goes: writes in the memory of the NAS.
    pub lost_bytes: Range<Information>,
    /// Whether writes wait for the drives, so that nothing acknowledged is lost.
    pub waits_for_drives: bool,
}

/// Columns that a year of gaps needs.
pub(crate) struct Stopping {
    pub answer: StopAnswer,
    pub takes: Vec<Time>,
    pub wait: Vec<Time>,
}

/// What the drives of the NAS take, and what the fastest desk sends, as the site's own rates say.
fn rates(
    site: &Site,
    nas: &str,
    samples: &Samples<'_>,
) -> Result<(Spread<DataRate>, Spread<DataRate>), KeepingFault> {
    let ask = |activity| {
        let question = Question {
            work: Work::plain(activity),
            desk: None,
            working: false,
            need: None,
        };
        budget::answer(
            site,
            &question,
            samples.catalogue,
            &mut Draws::new(RATE_DRAWS),
        )
    };
    let held = |array: &str| {
        let on = site.arrays.iter().find(|a| a.name == array);
        on.is_some_and(|a| a.nas == nas)
    };
    let fastest = |answer: &budget::Answer| {
        answer
            .flows
            .iter()
            .filter(|f| f.direction == Direction::Write && held(&f.array))
            .map(|f| f.megabytes_per_s)
            .max_by(|a, b| a.p50.base().total_cmp(&b.p50.base()))
    };
    let spread = |range: Option<budget::RateRange>| {
        let range = range.ok_or(KeepingFault::Missing {
            what: "way to the array",
            help: "check the site first: narrows check SITE",
        })?;
        Spread::percentiles(range.p05, range.p50, range.p95, Bounds::POSITIVE).map_err(|_| {
            KeepingFault::Missing {
                what: "rate of the array",
                help: "check the site first: narrows check SITE",
            }
        })
    };
    let drain = spread(fastest(&ask(Activity::AtTheArray)?))?;
    let incoming = spread(fastest(&ask(Activity::Play)?))?;
    Ok((drain, incoming))
}

/// Works out a stop of the first NAS on a supply; none where it feeds none.
pub(crate) fn stopping(
    site: &Site,
    supply: &Supply,
    runtime: &[Time],
    samples: &mut Samples<'_>,
) -> Result<Option<Stopping>, KeepingFault> {
    let Some(fed) = supply.feeds.iter().find(|f| f.is_nas()) else {
        return Ok(None);
    };
    let Some(nas) = site.nas(&fed.name) else {
        return Ok(None);
    };
    let (drain, incoming) = rates(site, &fed.name, samples)?;
    let drain = samples.spread("outage/drain", &drain);
    let incoming = samples.spread("outage/incoming", &incoming);
    let memory: Vec<Information> = samples.value(&nas.memory);
    let row = |samples: &mut Samples<'_>, id: &str| samples.row::<Time>(id);
    let detect = row(samples, "stop.detect")?;
    let desks = row(samples, "stop.desks")?;
    let services = row(samples, "stop.services")?;
    let unmount = row(samples, "stop.unmount")?;
    let drives = row(samples, "stop.drives")?;
    let age = row(samples, "dirty.age")?;
    let margin: Vec<f64> = samples.row("stop.margin")?;
    let background: Vec<Ratio> = samples.row("dirty.background")?;
    let most: Vec<Ratio> = samples.row("dirty.most")?;
    let scattered: Vec<DataRate> = samples.row("stop.scattered")?;
    let waits = match &nas.sync {
        Some(sync) => samples.choice(sync),
        None => vec![false; samples.count()],
    };
    let (mut takes, mut slow, mut wait, mut lost) = (vec![], vec![], vec![], vec![]);
    for i in 0..samples.count() {
        let dirty = DirtyMemory {
            dirtyable: memory[i],
            background: background[i],
            most: most[i],
            age: age[i],
        };
        let (_, gone) = lost_in_memory(&dirty, incoming[i], drain[i]);
        let gone = if waits[i] { gone * ratio(0.0) } else { gone };
        let stop = |drain: DataRate| {
            Stop {
                detect: detect[i],
                desks: desks[i],
                dirty: gone,
                drain,
                services: services[i],
                drives: unmount[i] + drives[i],
            }
            .time()
        };
        let time = stop(drain[i]);
        let begin = wait_before_stop(runtime[i], time, margin[i]);
        takes.push(time);
        slow.push(stop(scattered[i]));
        wait.push(Time::from_base(begin.base().max(0.0)));
        lost.push(gone);
    }
    let count = samples.count();
    let answer = StopAnswer {
        nas: fed.name.clone(),
        takes_s: Range::of(&takes),
        takes_scattered_s: Range::of(&slow),
        begin_after_s: Range::of(&wait),
        finishes_probability: crate::samples::share_of(count, |i| runtime[i] >= takes[i]),
        lost_bytes: Range::of(&lost),
        waits_for_drives: waits.iter().all(|w| *w),
    };
    Ok(Some(Stopping {
        answer,
        takes,
        wait,
    }))
}
