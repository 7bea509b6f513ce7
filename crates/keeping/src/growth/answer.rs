use super::archive::Archive;
use super::fill::{Need, Seasons, by_gamma, gamma_quantile};
use super::incoming::{Months, incoming};
use super::volume::{History, MONTH};
use crate::samples::{KeepingFault, Range, Samples, base, digits, mean, share_of};
use narrows_core::array::capacity::Choices;
use narrows_core::budget;
use narrows_core::catalogue::Catalogue;
use narrows_core::quantity::{DataRate, Information, Measure, Ratio, Time};
use narrows_core::site::{Array, Site, counted_array};
use narrows_core::spread::{Draws, Spread};
use narrows_core::work::{Activity, Direction, Work};
use serde::Serialize;

/// What is asked.
#[derive(Clone, Debug, Default)]
pub struct Question {
    /// What was read off the fill; it beats what the project says.
    pub history: Option<History>,
    /// Size at the last reading.
    pub held: Option<Information>,
    /// Seasons of a year, and the month that comes next, from 0 for January.
    pub seasons: Option<(Seasons, usize)>,
    /// How long the comfortable fill should not be reached.
    pub need: Option<Time>,
    /// The array that fills; the largest where none is named.
    pub array: Option<String>,
}

/// How an array fills.
#[derive(Clone, Debug, Serialize)]
pub struct GrowthAnswer {
    /// What a shooting day brings; none where growth was read off the fill.
    pub day_bytes: Option<Range<Information>>,
    /// What a month brings.
    pub month_bytes: Range<Information>,
    /// The array that fills: the one that was asked about, or the largest.
    pub array: String,
    /// What it holds now.
    pub held_bytes: Range<Information>,
    /// When it is full, and when comfortably so.
    pub full: FullAnswer,
    /// What moving finished work away brings.
    pub archive: ArchiveAnswer,
    /// The fill month by month, for a chart.
    pub course: Vec<Point>,
    /// Every other array, if what comes in went there instead.
    pub others: Vec<OtherArray>,
}

/// An array that does not fill now.
#[derive(Clone, Debug, Serialize)]
#[allow(clippy::struct_field_names)] // keys of the contract
pub struct OtherArray {
    /// Its name.
    pub array: String,
    /// What it holds now.
    pub held_bytes: Range<Information>,
    /// What it may hold comfortably.
    #[serde(serialize_with = "base")]
    pub comfortable_bytes: Information,
    /// What it may hold at all.
    #[serde(serialize_with = "base")]
    pub usable_bytes: Information,
    /// Months until the comfortable fill; 1200 where that is never in a century.
    pub comfortable_months: Range<f64>,
    /// Months until the end.
    pub full_months: Range<f64>,
}

/// When an array is full.
#[derive(Clone, Debug, Serialize)]
pub struct FullAnswer {
    /// What it may hold comfortably.
    #[serde(serialize_with = "base")]
    pub comfortable_bytes: Information,
    /// What it may hold at all.
    #[serde(serialize_with = "base")]
    pub usable_bytes: Information,
    /// Months until the comfortable fill; 1200 where that is never in a century.
    pub comfortable_months: Range<f64>,
    /// Months until the end.
    pub full_months: Range<f64>,
    /// The chance that the comfortable fill is reached within the next project.
    #[serde(serialize_with = "digits")]
    pub within_project_probability: f64,
    /// Months that the next project takes.
    pub project_months: Range<f64>,
    /// Months until space must be ordered so that it is there in 95 of 100 cases; zero means now.
    #[serde(serialize_with = "digits")]
    pub order_within_months: f64,
    /// From order to space.
    pub buying_months: Range<f64>,
    /// Where a time was asked for: the chance that the comfortable fill is not reached before.
    pub met_probability: Option<f64>,
}

/// What an archive move brings.
#[derive(Clone, Debug, Serialize)]
pub struct ArchiveAnswer {
    /// Space that comes free.
    pub frees_bytes: Range<Information>,
    /// How long it takes at the rate at which the fastest desk reads the array.
    pub takes_s: Range<Time>,
    /// Months that it wins.
    pub wins_months: Range<f64>,
}

/// The fill in a month.
#[derive(Clone, Debug, Serialize)]
pub struct Point {
    /// Months from now.
    pub month: u32,
    /// What is held.
    pub held_bytes: Range<Information>,
}

/// A fill that is not reached in a century.
const NEVER: f64 = 1200.0;

/// Months of the chart.
const CHART: u32 = 24;

/// Draws of the chart: each asks for an amount that has to be looked for.
const CHART_DRAWS: usize = 256;

/// Growth of the array that was asked about, or of a site's largest.
///
/// The mean of a month is not known and is drawn; with it the months until a fill are those of an
/// array that only grows ([`super::by_gamma`]).
///
/// # Errors
/// Where nothing says what comes in, no array has the name, or the catalogue lacks a row.
pub fn growth(
    site: &Site,
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<GrowthAnswer, KeepingFault> {
    let mut samples = Samples { catalogue, draws };
    let count = samples.count();
    let (array, usable, comfortable) = asked(site, question.array.as_deref())?;
    let months = incoming(site, question, &mut samples)?;
    let held = match question.held {
        Some(size) => vec![size; count],
        None => samples
            .value(&array.fill)
            .iter()
            .map(|f| usable * *f)
            .collect(),
    };
    let (seasons, first) = question.seasons.unwrap_or((Seasons::NONE, 0));
    let strata = samples.draws.strata("growth/months");
    let share = |i: usize| (f64::from(strata[i]) + 0.5) / count as f64;
    let until = |held: &[Information], limit: Information| -> Vec<f64> {
        (0..count)
            .map(|i| {
                let need = months.need(limit - held[i], i);
                gamma_quantile(&need, &seasons, first, share(i)).unwrap_or(NEVER)
            })
            .collect()
    };
    let (early, late) = (until(&held, comfortable), until(&held, usable));
    let mut others = Vec::new();
    for (other, usable, comfortable) in countable(site) {
        if other.name == array.name {
            continue;
        }
        let fill = samples.value(&other.fill);
        let held: Vec<Information> = fill.iter().map(|f| usable * *f).collect();
        others.push(OtherArray {
            array: other.name.clone(),
            held_bytes: Range::of(&held),
            comfortable_bytes: comfortable,
            usable_bytes: usable,
            comfortable_months: Range::of(&until(&held, comfortable)),
            full_months: Range::of(&until(&held, usable)),
        });
    }
    let project: Vec<f64> = match &site.project {
        Some(project) => samples.value(&project.next),
        None => samples.row("project.next")?,
    };
    let buying: Vec<Time> = samples.row("growth.buying")?;
    let buying: Vec<f64> = buying.iter().map(|t| t.base() / MONTH).collect();
    let within: Vec<f64> = (0..count)
        .map(|i| {
            let need = months.need(comfortable - held[i], i);
            by_gamma(&need, seasons.sum(first, project[i])).base()
        })
        .collect();
    let need = question.need.map(|t| t.base() / MONTH);
    let margin: Vec<f64> = (0..count).map(|i| early[i] - buying[i]).collect();
    let full = FullAnswer {
        comfortable_bytes: comfortable,
        usable_bytes: usable,
        comfortable_months: Range::of(&early),
        full_months: Range::of(&late),
        within_project_probability: mean(&within),
        project_months: Range::of(&project),
        order_within_months: Range::of(&margin).p05.max(0.0),
        buying_months: Range::of(&buying),
        met_probability: need.map(|m| share_of(count, |i| early[i] > m)),
    };
    let archive = archive(
        site,
        array,
        (usable, comfortable),
        (&held, &months),
        &mut samples,
    )?;
    Ok(GrowthAnswer {
        day_bytes: months.day.as_ref().map(|d| Range::of(d)),
        month_bytes: Range::of(&months.mean),
        array: array.name.clone(),
        held_bytes: Range::of(&held),
        full,
        archive,
        course: course(&held, &months, (&seasons, first), &share),
        others,
    })
}

/// Arrays whose space can be counted, what each may hold, and what comfortably.
fn countable(site: &Site) -> Vec<(&Array, Information, Information)> {
    let space = |array| {
        let counted = counted_array(array, &Choices::default()).ok()?;
        let middle = counted.get(counted.len() / 2)?;
        let space = &middle.space;
        Some((
            array,
            space.usable.information(),
            space.comfortable.information(),
        ))
    };
    site.arrays.iter().filter_map(space).collect()
}

/// The array with the most space, what it may hold, and what comfortably.
pub(crate) fn largest(site: &Site) -> Result<(&Array, Information, Information), KeepingFault> {
    let mut found: Option<(&Array, Information, Information)> = None;
    for one in countable(site) {
        if found.is_none_or(|(_, most, _)| one.1 > most) {
            found = Some(one);
        }
    }
    found.ok_or(KeepingFault::Missing {
        what: "array whose space can be counted",
        help: "ask narrows capacity SITE what is wrong",
    })
}

/// An array by its name, or the largest.
pub(crate) fn asked<'a>(
    site: &'a Site,
    name: Option<&str>,
) -> Result<(&'a Array, Information, Information), KeepingFault> {
    let Some(name) = name else {
        return largest(site);
    };
    let all = countable(site);
    let known = all.iter().map(|(array, ..)| array.name.clone()).collect();
    let found = all.into_iter().find(|(array, ..)| array.name == name);
    found.ok_or_else(|| KeepingFault::NoSuch {
        noun: "array whose space can be counted",
        name: name.to_owned(),
        known,
    })
}

/// The rate at which the fastest desk reads an array without its own disk.
pub(crate) fn read_rate(
    site: &Site,
    array: &str,
    (activity, direction): (Activity, Direction),
    samples: &mut Samples<'_>,
) -> Result<Vec<DataRate>, KeepingFault> {
    let question = budget::Question {
        work: Work::plain(activity),
        desk: None,
        working: false,
        need: None,
    };
    let answer = budget::answer(
        site,
        &question,
        samples.catalogue,
        &mut Draws::new(RATE_DRAWS),
    )?;
    let fastest = answer
        .flows
        .iter()
        .filter(|f| f.direction == direction && f.array == array)
        .map(|f| f.megabytes_per_s)
        .max_by(|a, b| a.p50.base().total_cmp(&b.p50.base()));
    let missing = KeepingFault::Missing {
        what: "way to the array",
        help: "check the site first: narrows check SITE",
    };
    let range = fastest.ok_or(missing.clone())?;
    let bounds = narrows_core::spread::Bounds::POSITIVE;
    let spread =
        Spread::percentiles(range.p05, range.p50, range.p95, bounds).map_err(|_| missing)?;
    let name = format!("array.{array}/{}/{}", activity.word(), direction.word());
    Ok(samples.spread(&name, &spread))
}

/// Draws of the rates: percentiles of them are all that is used.
const RATE_DRAWS: usize = 256;

fn archive(
    site: &Site,
    array: &Array,
    (usable, comfortable): (Information, Information),
    (held, months): (&[Information], &Months),
    samples: &mut Samples<'_>,
) -> Result<ArchiveAnswer, KeepingFault> {
    let rate = read_rate(
        site,
        &array.name,
        (Activity::Play, Direction::Read),
        samples,
    )?;
    let to: Vec<Ratio> = samples.row("growth.archive-to")?;
    let (mut frees, mut takes, mut wins) = (vec![], vec![], vec![]);
    for i in 0..samples.count() {
        // it is moved when the array is comfortably full, or now if it is fuller
        let from = if held[i] > comfortable {
            held[i]
        } else {
            comfortable
        };
        let archive = Archive {
            capacity: usable,
            from: from / usable,
            to: to[i],
        };
        frees.push(archive.frees());
        takes.push(archive.takes(rate[i]));
        wins.push(archive.every(months.mean[i]));
    }
    Ok(ArchiveAnswer {
        frees_bytes: Range::of(&frees),
        takes_s: Range::of(&takes),
        wins_months: Range::of(&wins),
    })
}

/// Doublings and halvings when an amount is looked for.
const STEPS: usize = 40;

/// What has come in after some months with a chance.
fn came_in(need: &Need, season: f64, share: f64) -> Information {
    let reached = |amount: f64| {
        let with = Need {
            room: Information::from_base(amount),
            ..*need
        };
        by_gamma(&with, season).base()
    };
    let (mut low, mut high) = (0.0, need.mean.base() * season.max(1.0));
    let mut doublings = 0;
    while reached(high) > 1.0 - share && doublings < STEPS {
        high *= 2.0;
        doublings += 1;
    }
    for _ in 0..STEPS {
        let middle = f64::midpoint(low, high);
        if reached(middle) > 1.0 - share {
            low = middle;
        } else {
            high = middle;
        }
    }
    Information::from_base(high)
}

fn course(
    held: &[Information],
    months: &Months,
    (seasons, first): (&Seasons, usize),
    share: &impl Fn(usize) -> f64,
) -> Vec<Point> {
    let step = (held.len() / CHART_DRAWS).max(1);
    (0..=CHART)
        .map(|month| {
            let season = seasons.sum(first, f64::from(month));
            let each: Vec<Information> = (0..held.len())
                .step_by(step)
                .map(|i| {
                    if month == 0 {
                        return held[i];
                    }
                    let need = months.need(held[i], i);
                    // a draw that fills early has more at every month
                    held[i] + came_in(&need, season, 1.0 - share(i))
                })
                .collect();
            Point {
                month,
                held_bytes: Range::of(&each),
            }
        })
        .collect()
}
