use super::cause::Weighs;
use super::found::Verdict;
use super::posterior::{Belief, Court, Held};
use super::say::{main_reading, predicted};
use super::ways::World;
use crate::quantity::Measure;

/// A verdict needs so much of the probability behind it.
const MAJORITY: f64 = 0.5;

/// Remarks that hold a better figure for the same hardware: then it can be better, whatever limits.
const BETTER: [&str; 12] = [
    "better-before",
    "other-computer-better",
    "other-service-better",
    "other-tool-better",
    "other-adapter-better",
    "other-cable-better",
    "wired-better",
    "without-encryption-better",
    "without-sync-better",
    "parallel-adds",
    "larger-frames-better",
    "fine-after-restart",
];

/// Normal or not.
pub(crate) fn verdict(court: &Court<'_>, beliefs: &[Belief], world: &World<'_>) -> Verdict {
    let expected = main_reading(court).and_then(|h| Some((h, predicted(h, &[], world)?)));
    let other = match expected {
        Some((heard, [_, _, high])) if heard.likeliest() > high.base() => Weighs::TooFast,
        Some(_) => Weighs::Slow,
        None => Weighs::Unclear,
    };
    let mut of = [
        (Verdict::Normal, 0.0),
        (Verdict::Slow, 0.0),
        (Verdict::TooFast, 0.0),
        (Verdict::Unclear, 0.0),
    ];
    for belief in beliefs {
        let weighs = match belief.what {
            Held::Healthy { row, .. } => court.causes[row].weighs,
            Held::One(s) => court.causes[court.suspects[s].cause].weighs,
            Held::Two(a, b) => {
                let weighs = [a, b].map(|s| court.causes[court.suspects[s].cause].weighs);
                if weighs.contains(&Weighs::Slow) {
                    Weighs::Slow
                } else {
                    weighs[0]
                }
            }
            // nothing known makes it: whether it is too little or too much is known all the same
            Held::Other => other,
        };
        let better = court
            .remarks
            .iter()
            .any(|r| BETTER.contains(&r.id.as_str()));
        let verdict = match weighs {
            Weighs::Unclear if better => Verdict::Slow,
            Weighs::Normal => Verdict::Normal,
            Weighs::Slow => Verdict::Slow,
            Weighs::TooFast => Verdict::TooFast,
            Weighs::Unclear => Verdict::Unclear,
        };
        for (v, sum) in &mut of {
            if *v == verdict {
                *sum += belief.probability;
            }
        }
    }
    let best = of.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1));
    match best {
        Some((verdict, sum)) if sum >= MAJORITY => verdict,
        _ => Verdict::Unclear,
    }
}
