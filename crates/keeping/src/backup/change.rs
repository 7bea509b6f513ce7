//! Changing the layout or the box: where everything lies meanwhile, hours out and back, what is at
//! risk then, in which order.

use super::losses::own_failure;
use super::runs::{back, column, out, played};
use crate::growth::{largest, read_rate};
use crate::samples::{KeepingFault, Range, Samples, digits, mean};
use narrows_core::catalogue::Catalogue;
use narrows_core::quantity::{Information, Measure, Time, seconds};
use narrows_core::site::{CopyKind, CopyPlan, Site};
use narrows_core::spread::{Draws, Spread};
use narrows_core::work::{Activity, Direction};
use serde::Serialize;

/// A change of layout.
#[derive(Clone, Debug, Serialize)]
pub struct Change {
    /// What the array holds now.
    pub held_bytes: Range<Information>,
    /// What the new layout holds.
    #[serde(serialize_with = "crate::samples::base")]
    pub usable_bytes: Information,
    /// The chance that everything fits.
    #[serde(serialize_with = "digits")]
    pub fits_probability: f64,
    /// The copy that everything lies on meanwhile.
    pub holder: String,
    /// Other whole copies that there are meanwhile.
    pub others: Vec<String>,
    /// The chance that the holder, and every other whole copy with it, fails when it is asked.
    #[serde(serialize_with = "digits")]
    pub all_fail_probability: f64,
    /// The steps in their order.
    pub steps: Vec<Step>,
    /// All steps together.
    pub takes_s: Range<Time>,
}

/// A step of a change.
#[derive(Clone, Debug, Serialize)]
pub struct Step {
    /// What is done.
    pub step: &'static str,
    /// How long it takes.
    pub takes_s: Range<Time>,
}

/// What a change consists of, in its order.
const STEPS: [&str; 5] = [
    "copy everything to the holder",
    "read the holder back and compare",
    "take the array apart, build the new one",
    "copy everything back",
    "read the new array back and compare",
];

/// A run that never ends is told as ten years.
const NEVER: f64 = 10.0 * 31_536_000.0;

/// What changing `before` into `after` takes; they differ in the largest array only.
///
/// # Errors
/// Where no copy holds everything.
pub fn change(
    before: &Site,
    after: &Site,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Change, KeepingFault> {
    let (array, usable, _) = largest(before)?;
    let (_, new_usable, _) = largest(after)?;
    let mut samples = Samples { catalogue, draws };
    let held: Vec<Information> = samples
        .value(&array.fill)
        .iter()
        .map(|f| usable * *f)
        .collect();
    let mut whole = whole(before);
    if whole.is_empty() {
        return Err(KeepingFault::Missing {
            what: "copy that holds everything, so a change of layout would leave nothing",
            help: "add a second box or carried drives that hold all of it: [copy.cellar] with kind = \"box-here\" and every = \"1 d\"",
        });
    }
    // a box is written and read without being carried
    whole.sort_by_key(|plan| match plan.kind {
        CopyKind::BoxHere => 0,
        CopyKind::Carried => 1,
        CopyKind::BoxElsewhere => 2,
        _ => 3,
    });
    let holder = whole.remove(0);
    // alone a job's time is in proportion to its size, whose luck is not that of the rate
    let middle = Range::of(&held).p50;
    let out = out(holder, Spread::exact(middle), &mut samples)?;
    let back = back(holder, Spread::exact(middle), &mut samples)?;
    let never = Range {
        p05: seconds(NEVER),
        p50: seconds(NEVER),
        p95: seconds(NEVER),
    };
    let one = |site: &Site, job, samples: &mut Samples<'_>| -> Result<Range<Time>, KeepingFault> {
        let found = played(site, &[job], samples.catalogue, samples.draws)?;
        Ok(found.into_iter().next().flatten().unwrap_or(never))
    };
    // comparing reads the array again, and the holder at the rate at which it gives
    let mut reads_back = back.clone();
    std::mem::swap(&mut reads_back.from, &mut reads_back.to);
    let outward = one(before, out, &mut samples)?;
    let compared = one(before, reads_back, &mut samples)?;
    let inward = one(after, back, &mut samples)?;
    let build: Vec<Time> = samples.row("copy.restore.decide")?;
    let read = (Activity::AtTheArray, Direction::Read);
    let check = read_rate(after, &array.name, read, &mut samples)?;
    let count = samples.count();
    let mut scaled = |name: &str, range: &Range<Time>| -> Vec<Time> {
        let times = column(name, range, &mut samples);
        let both = times.iter().zip(&held);
        both.map(|(time, size)| *time * (*size / middle)).collect()
    };
    let columns = [
        scaled("change/out", &outward),
        scaled("change/compared", &compared),
        build,
        scaled("change/in", &inward),
        (0..count).map(|i| held[i] / check[i]).collect(),
    ];
    let all: Vec<Time> = (0..count)
        .map(|i| columns.iter().fold(seconds(0.0), |sum, c| sum + c[i]))
        .collect();
    let mut fail = own_failure(catalogue, holder)?.base();
    for other in &whole {
        fail *= own_failure(catalogue, other)?.base();
    }
    let fits: Vec<f64> = held
        .iter()
        .map(|h| f64::from(u8::from(*h <= new_usable)))
        .collect();
    Ok(Change {
        held_bytes: Range::of(&held),
        usable_bytes: new_usable,
        fits_probability: mean(&fits),
        holder: holder.name.clone(),
        others: whole.iter().map(|p| p.name.clone()).collect(),
        all_fail_probability: fail,
        steps: STEPS
            .into_iter()
            .zip(&columns)
            .map(|(step, column)| Step {
                step,
                takes_s: Range::of(column),
            })
            .collect(),
        takes_s: Range::of(&all),
    })
}

/// Copies that hold everything and do not lie on the array.
fn whole(site: &Site) -> Vec<&CopyPlan> {
    let all = |plan: &&CopyPlan| plan.kind != CopyKind::Snapshots && plan.part.base() >= 1.0 - 1e-9;
    site.copies.iter().filter(all).collect()
}
