use super::line::{first_copy_of, lasts, noticed, over_line};
use super::losses::{Losses, Stakes, Standing, at_work, losses, of_tried, own_failure};
use super::restores::{Holds, RestoreAnswer, restores};
use super::runs::{played, run};
use crate::copies::{Runs, rotated, silent_stop};
use crate::growth::{asked, largest};
use crate::samples::{KeepingFault, Range, Samples, digits, maybe, mean, share_of};
use narrows_core::catalogue::Catalogue;
use narrows_core::day::Job;
use narrows_core::quantity::{Information, Measure, Ratio, Time, ratio, seconds};
use narrows_core::site::{CopyKind, CopyPlan, Site, Tried};
use narrows_core::spread::Draws;
use serde::Serialize;

/// What is asked.
#[derive(Clone, Debug, Default)]
pub struct Question {
    /// Jobs of the day beside which the copies run.
    pub beside: Vec<Job>,
    /// The age that the newest whole copy away from the room may have.
    pub need: Option<Time>,
}

/// What the copies of a site are good for.
#[derive(Clone, Debug, Serialize)]
pub struct Backup {
    /// One a copy, in the order of the file.
    pub copies: Vec<CopyAnswer>,
    /// What happens if the room burns tonight.
    pub tonight: Tonight,
    /// People whose work it is.
    #[serde(serialize_with = "digits")]
    pub people: f64,
    /// Hours of one person's work in what is kept.
    #[serde(serialize_with = "digits")]
    pub kept_hours: f64,
    /// What is lost in a year.
    #[serde(flatten)]
    pub losses: Losses,
    /// Where an age was asked for: the chance that the newest copy away is no older.
    pub met_probability: Option<f64>,
}

/// If the room burns tonight.
#[derive(Clone, Debug, Serialize)]
pub struct Tonight {
    /// The copy that work goes on from; none where everything burns with the room.
    pub copy: Option<String>,
    /// How much work is newer than it, on the clock.
    pub lost_s: Option<Range<Time>>,
    /// Until everything is back.
    pub back_s: Option<Range<Time>>,
    /// The copy that gives everything back much sooner, though more is lost with it.
    pub sooner: Option<Sooner>,
}

/// Another copy than the newest.
#[derive(Clone, Debug, Serialize)]
pub struct Sooner {
    /// Its name.
    pub copy: String,
    /// How much work is newer than it, on the clock.
    pub lost_s: Range<Time>,
    /// Until everything is back.
    pub back_s: Range<Time>,
}

/// A copy that gives everything back in less than this share of the time is told beside a newer one. Judgement.
const MUCH_SOONER: f64 = 0.5;

/// A copy.
#[derive(Clone, Debug, Serialize)]
#[allow(clippy::struct_field_names)] // keys of the contract
pub struct CopyAnswer {
    /// Name in the site.
    pub copy: String,
    /// Its kind.
    pub kind: &'static str,
    /// What a run moves; none of snapshots.
    pub run_bytes: Option<Range<Information>>,
    /// How long a run takes, looking for changes included; none where it never ends.
    pub run_s: Option<Range<Time>>,
    /// The time of the bytes alone, as the day plays it.
    pub moving_s: Option<Range<Time>>,
    /// Whether a run ends before the next begins, in how many cases.
    #[serde(serialize_with = "digits")]
    pub keeps_up_probability: f64,
    /// Over a line: what waits at most after five shooting days, and the day on which it is clear.
    pub backlog: Option<BacklogAnswer>,
    /// Days until a first copy is whole; none where that is never or nothing is moved.
    pub first_copy_days: Option<f64>,
    /// Age of the newest whole copy at a moment: the mean, and with it 1 in 20.
    pub age_s: Range<Time>,
    /// Mean age where it runs.
    #[serde(serialize_with = "crate::samples::base")]
    pub mean_age_s: Time,
    /// What silent stops add to it over the years, in the middle case.
    #[serde(serialize_with = "crate::samples::base")]
    pub silent_age_s: Time,
    /// Age that is exceeded in 1 of 20 moments.
    #[serde(serialize_with = "crate::samples::base")]
    pub old_age_s: Time,
    /// Age after a silent stop that nobody noticed, in the middle case.
    #[serde(serialize_with = "maybe")]
    pub unnoticed_age_s: Option<Time>,
    /// The chance a year of such a stop.
    #[serde(serialize_with = "digits")]
    pub silent_stop_a_year: f64,
    /// The oldest version that rotated drives hold.
    #[serde(serialize_with = "maybe")]
    pub oldest_version_s: Option<Time>,
    /// The chance that it fails to restore by itself.
    #[serde(serialize_with = "digits")]
    pub own_failure_probability: f64,
    /// Until work goes on from it.
    pub restore: RestoreAnswer,
    /// Ages draw by draw.
    #[serde(skip)]
    pub(crate) ages: Vec<Time>,
    #[serde(skip)]
    pub(crate) kind_of: Option<CopyKind>,
}

/// What waits.
#[derive(Clone, Debug, Serialize)]
pub struct BacklogAnswer {
    /// At most, in the middle case.
    #[serde(serialize_with = "crate::samples::base")]
    pub largest_bytes: Information,
    /// Day on which nothing waits any more; none where that is never.
    pub clear_day: Option<u32>,
}

/// Shooting days in a row that a backlog is followed over.
pub(super) const SPELL: u32 = 5;

/// Work of a person in what is kept, where nobody said.
fn kept(site: &Site, people: f64, catalogue: &Catalogue) -> Result<Time, KeepingFault> {
    if let Some(kept) = site.project.as_ref().and_then(|p| p.kept) {
        return Ok(kept);
    }
    Ok(catalogue.spread::<Time>("project.kept")?.median() * people)
}

/// Answers for all copies of a site.
///
/// # Errors
/// Where the site has no copy, or says nothing of what comes in.
pub fn backup(
    site: &Site,
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Backup, KeepingFault> {
    if site.copies.is_empty() {
        return Err(KeepingFault::Missing {
            what: "copy: what the array holds is there once",
            help: "add [copy.shelf] with kind = \"carried\" and every = \"7 d\"",
        });
    }
    let (array, usable, comfortable) = largest(site)?;
    let mut samples = Samples { catalogue, draws };
    let held: Vec<Information> = samples
        .value(&array.fill)
        .iter()
        .map(|f| usable * *f)
        .collect();
    let share: Vec<Ratio> = match &site.project {
        Some(project) => samples.value(&project.share),
        None => samples.row("project.share")?,
    };
    let moving = all_runs(site, question, &mut samples)?;
    let mut copies = Vec::with_capacity(site.copies.len());
    for (plan, moving) in site.copies.iter().zip(moving) {
        let (of, usable, _) =
            asked(site, Some(&plan.array)).unwrap_or((array, usable, comfortable));
        let fill = samples.value(&of.fill);
        let held: Vec<Information> = fill.iter().map(|f| usable * *f).collect();
        let project: Vec<Information> = held.iter().zip(&share).map(|(h, s)| *h * *s).collect();
        let holds = Holds {
            site,
            project: &project,
            held: &held,
        };
        copies.push(one(plan, &moving, &holds, &mut samples)?);
    }
    let people = match site.project.as_ref().and_then(|p| p.people) {
        Some(people) => f64::from(people),
        None => site.desks.len() as f64,
    };
    let kept = kept(site, people, catalogue)?;
    let tonight = tonight(&copies);
    let stakes = Stakes {
        catalogue,
        array,
        held: Range::of(&held).p50,
        people,
        kept,
        until_work: tonight.back_s.map_or(kept, |back| back.p50),
    };
    let standing = standing(site, &copies, catalogue)?;
    let away = copies.iter().filter(|c| is_away(c)).map(|c| &c.ages);
    let met = question.need.map(|need| {
        let columns: Vec<&Vec<Time>> = away.collect();
        share_of(held.len(), |i| columns.iter().any(|c| c[i] <= need))
    });
    Ok(Backup {
        losses: losses(&stakes, &standing)?,
        copies,
        tonight,
        people,
        kept_hours: kept.base() / 3600.0,
        met_probability: met,
    })
}

/// A run of a copy before its ages are known.
pub(super) struct Moving {
    pub(super) job: Option<Job>,
    pub(super) range: Option<Range<Time>>,
}

/// All runs of a day, beside what else it brings.
fn all_runs(
    site: &Site,
    question: &Question,
    samples: &mut Samples<'_>,
) -> Result<Vec<Moving>, KeepingFault> {
    let mut runs = Vec::with_capacity(site.copies.len());
    for plan in &site.copies {
        runs.push(run(site, plan, samples)?);
    }
    let mut jobs: Vec<Job> = runs.iter().flatten().cloned().collect();
    jobs.extend(question.beside.iter().cloned());
    let mut ranges = played(site, &jobs, samples.catalogue, samples.draws)?.into_iter();
    Ok(runs
        .into_iter()
        .map(|job| Moving {
            range: if job.is_some() {
                ranges.next().flatten()
            } else {
                None
            },
            job,
        })
        .collect())
}

/// A run that never ends is told as ten years.
pub(super) const NEVER: f64 = 10.0 * 31_536_000.0;

fn one(
    plan: &CopyPlan,
    moving: &Moving,
    holds: &Holds<'_>,
    samples: &mut Samples<'_>,
) -> Result<CopyAnswer, KeepingFault> {
    let count = samples.count();
    let moves = moving.job.is_some();
    let lasts = lasts(plan, moving, holds, samples)?;
    let fails: Vec<Ratio> = samples.row("copy.fails")?;
    let runs: Vec<Runs> = (0..count)
        .map(|i| Runs {
            every: plan.every,
            lasts: lasts[i],
            fails: if moves { fails[i] } else { ratio(0.0) },
        })
        .collect();
    let fetch: Vec<Time> = samples.row("copy.restore.fetch")?;
    let mean_ages: Vec<Time> = (0..count)
        .map(|i| {
            // a carried drive counts once it is away
            let carried = if plan.kind == CopyKind::Carried {
                fetch[i]
            } else {
                seconds(0.0)
            };
            runs[i].mean_age() + carried
        })
        .collect();
    let stop: Vec<Ratio> = samples.row("copy.silent")?;
    let noticed = noticed(plan, samples)?;
    let silent: Vec<Time> = (0..count)
        .map(|i| silent_stop(stop[i], noticed[i]))
        .collect();
    let moments = samples.draws.strata(&format!("copy.{}/moment", plan.name));
    let ages: Vec<Time> = (0..count)
        .map(|i| {
            let share = ratio(1.0 - (f64::from(moments[i]) + 0.5) / count as f64);
            let carried = mean_ages[i] - runs[i].mean_age();
            runs[i].age_exceeded(share) + carried
        })
        .collect();
    let oldest: Option<Time> = (plan.kind == CopyKind::Carried).then(|| {
        let each: Vec<Time> = (0..count)
            .map(|i| rotated(plan.drives, plan.every, fetch[i], lasts[i])[2])
            .collect();
        Range::of(&each).p50
    });
    let line = over_line(plan, holds, samples)?;
    Ok(CopyAnswer {
        copy: plan.name.clone(),
        kind: plan.kind.word(),
        run_bytes: moving.job.as_ref().map(|job| {
            let (low, likely, high) = job.size.law().knots();
            Range {
                p05: Information::from_base(low),
                p50: Information::from_base(likely),
                p95: Information::from_base(high),
            }
        }),
        run_s: (moves && moving.range.is_some()).then(|| Range::of(&lasts)),
        moving_s: moving.range,
        keeps_up_probability: share_of(count, |i| {
            lasts[i] <= plan.every && line.as_ref().is_none_or(|l| l.keeps_up[i])
        }),
        first_copy_days: first_copy_of(plan, holds, line.as_ref()),
        backlog: line.map(|l| l.backlog),
        age_s: Range::of(&ages),
        mean_age_s: seconds(mean(
            &mean_ages.iter().map(|a| a.base()).collect::<Vec<_>>(),
        )),
        silent_age_s: if moves {
            Range::of(&silent).p50
        } else {
            seconds(0.0)
        },
        old_age_s: Range::of(&ages).p95,
        unnoticed_age_s: moves.then(|| Range::of(&mean_ages).p50 + Range::of(&noticed).p50),
        silent_stop_a_year: if moves {
            Range::of(&stop).p50.base()
        } else {
            0.0
        },
        oldest_version_s: oldest,
        own_failure_probability: own_failure(samples.catalogue, plan)?.base(),
        restore: restores(holds, plan, samples)?,
        ages,
        kind_of: Some(plan.kind),
    })
}

/// Whether a copy survives the room.
fn is_away(copy: &CopyAnswer) -> bool {
    matches!(
        copy.kind_of,
        Some(CopyKind::BoxElsewhere | CopyKind::Carried | CopyKind::Upload)
    )
}

/// The copy that work goes on from if the room burns: the youngest of those that are away.
fn tonight(copies: &[CopyAnswer]) -> Tonight {
    let away = || copies.iter().filter(|c| is_away(c));
    let best = away().min_by(|a, b| a.mean_age_s.base().total_cmp(&b.mean_age_s.base()));
    let back = |c: &CopyAnswer| c.restore.everything.as_ref().map(|back| back.takes_s);
    let newest = best.and_then(back);
    let sooner = away()
        .filter_map(|c| Some((c, back(c)?)))
        .filter(|(_, takes)| newest.is_some_and(|newest| takes.p50 < newest.p50 * MUCH_SOONER))
        .min_by(|(_, a), (_, b)| a.p50.base().total_cmp(&b.p50.base()))
        .map(|(c, takes)| Sooner {
            copy: c.copy.clone(),
            lost_s: c.age_s,
            back_s: takes,
        });
    Tonight {
        sooner,
        copy: best.map(|c| c.copy.clone()),
        lost_s: best.map(|c| c.age_s),
        back_s: newest,
    }
}

fn standing(
    site: &Site,
    copies: &[CopyAnswer],
    catalogue: &Catalogue,
) -> Result<Vec<Standing>, KeepingFault> {
    let work = at_work(catalogue)?;
    let tried = of_tried(catalogue, Tried::Yearly)?;
    let mut found = Vec::with_capacity(copies.len());
    for (plan, copy) in site.copies.iter().zip(copies) {
        found.push(Standing {
            name: copy.copy.clone(),
            kind: plan.kind,
            locked: plan.immutable.value.only() == Some(&true),
            own: own_failure(catalogue, plan)?,
            own_if_tried: tried,
            age_at_work: (copy.mean_age_s + copy.silent_age_s) * work,
        });
    }
    Ok(found)
}
