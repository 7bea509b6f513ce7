//! What goes before every number: pictures that may be lost.

use super::Observations;
use super::inference::{Hypothesis, Inference, Posterior};
use super::reading::What;
use super::say::{predicted, range};
use super::scenarios::Scenarios;
use crate::site::{Array, Site};

/// A cause from here on is trouble by itself, told or not.
const LIKELY: f64 = 0.5;

/// What people remark when a drive or an array is in trouble, with what is said of it.
const REMARKS: [(&str, &str); 4] = [
    ("drive-reports-errors", "A drive of {array} reports errors."),
    (
        "array-alarm",
        "{array} raises an alarm: a drive may be missing.",
    ),
    (
        "after-power-cut",
        "After a power cut or water the state of {array} is not known.",
    ),
    (
        "rebuild-running",
        "{array} lacks a drive, rebuilds or checks itself.",
    ),
];

/// What is said where it is not sure whether a drive is in trouble.
const FEARED: &str = "A drive of {array} may be in trouble.";

/// Causes that are trouble, by id, with what is said of them.
const CAUSES: [(&str, &str); 2] = [
    ("bad-drive", "A drive of {array} may be failing."),
    ("degraded", "{array} may have lost a drive."),
];

/// The lines that go before everything; none where nothing speaks for a drive in trouble.
///
/// Checked by `a_drive_in_trouble_comes_before_every_number`.
pub(crate) fn before_all(
    told: &Observations,
    inference: &Inference<'_>,
    posteriors: &[Posterior],
    scenarios: &Scenarios<'_>,
) -> Vec<String> {
    let Some(array) = told.likeliest_site().and_then(of_a_site) else {
        return Vec::new();
    };
    let failed = array.failed > 0;
    let remarked = REMARKS
        .iter()
        .find(|(id, _)| told.remarks.iter().any(|remark| remark.id == *id));
    let likely = || {
        CAUSES.iter().find(|(id, _)| {
            let own = |p: &&Posterior| match p.what {
                Hypothesis::One(s) | Hypothesis::Two(s, _) => {
                    inference.causes[inference.candidates[s].cause].id == *id
                }
                _ => false,
            };
            let sum: f64 = posteriors.iter().filter(own).map(|p| p.probability).sum();
            sum >= LIKELY
        })
    };
    let what = match (remarked, failed) {
        (Some((_, what)), _) => *what,
        (None, true) => "{array} lacks a drive.",
        (None, false) if told.feared => FEARED,
        (None, false) => match likely() {
            Some((_, what)) => *what,
            None => return Vec::new(),
        },
    };
    let wet = remarked.is_some_and(|(id, _)| *id == "after-power-cut");
    let mut lines = first(what, &array.name, wet);
    lines.extend(missing(array, inference, scenarios));
    lines
}

/// What is said of an array, the copy that comes first, and what not to do.
fn first(what: &str, array: &str, wet: bool) -> Vec<String> {
    let what = if what.starts_with("{array}") {
        what.replace("{array}", &super::families::capital(array))
    } else {
        what.replace("{array}", array)
    };
    let until = if wet {
        "Until then: what got wet stays off, no repair, no rebuild, nothing new written."
    } else {
        "Until then: no rebuild, no drive pulled, no restart, nothing new written."
    };
    vec![
        format!(
            "{what} Before anything else: is the second copy of the pictures complete, and has somebody opened \
             files from it?"
        ),
        until.to_owned(),
    ]
}

/// What goes before a question about a drive that may be in trouble: nobody should wait for the answer.
///
/// Checked by `what_may_be_trouble_is_asked_with_the_copy_first`.
pub fn careful(site: Option<&Site>) -> Vec<String> {
    let array = site.and_then(of_a_site);
    first(
        FEARED,
        array.map_or("the array", |array| array.name.as_str()),
        false,
    )
}

/// The array that people mean: the first that a NAS holds.
fn of_a_site(site: &Site) -> Option<&Array> {
    site.arrays
        .iter()
        .find(|a| a.failed > 0)
        .or(site.arrays.first())
}

/// Rates while a drive is missing, and how many more may fail.
fn missing(array: &Array, inference: &Inference<'_>, scenarios: &Scenarios<'_>) -> Option<String> {
    let redundancy = array.level.parity();
    let left = match (redundancy.saturating_sub(1), redundancy) {
        (_, 0) => return None,
        (0, _) => "the next drive that fails takes the pictures with it".to_owned(),
        (1, _) => "one more drive may fail, not two".to_owned(),
        (more, _) => format!("{more} more drives may fail"),
    };
    let degraded = inference
        .candidates
        .iter()
        .find(|c| inference.causes[c.cause].id == "degraded")?;
    let copies = inference
        .observed
        .iter()
        .filter(|o| matches!(o.what, What::Copy | What::LocalArray | What::Playback));
    let rates = copies.into_iter().find_map(|observed| {
        let of = predicted(observed, &[&degraded.effect], scenarios);
        let copies = observed.what != What::LocalArray;
        (!of.is_empty()).then(|| {
            let whose = if copies {
                observed.desk.as_str()
            } else {
                "the array itself"
            };
            format!("{whose} gets {}, and ", range(&of))
        })
    });
    let rates = rates.unwrap_or_default();
    Some(format!("While a drive is missing {rates}{left}."))
}
