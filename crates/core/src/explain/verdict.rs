use super::found::Verdict;
use super::posterior::{Belief, Court, Held};
use super::say::{main_reading, predicted};
use super::ways::World;
use crate::quantity::Measure;

/// A verdict needs so much of the probability behind it.
const MAJORITY: f64 = 0.5;

/// Normal or not.
pub(crate) fn verdict(court: &Court<'_>, beliefs: &[Belief], world: &World<'_>) -> Verdict {
    let main = main_reading(court).map(|h| (h.likeliest(), predicted(h, &[], world)));
    // nothing known makes it: whether it is too little or too much is known all the same
    let other = match main {
        Some((measured, ways)) if !ways.is_empty() => {
            let most = ways.iter().map(|way| way.rates[2].base());
            if measured > most.fold(0.0, f64::max) {
                Verdict::TooFast
            } else {
                Verdict::Slow
            }
        }
        _ => Verdict::Unclear,
    };
    let better = court
        .remarks
        .iter()
        .any(|r| court.evidence.is_better(&r.id));
    let mut of = Verdict::ALL.map(|verdict| (verdict, 0.0));
    for belief in beliefs {
        let verdict = match belief.what {
            Held::Healthy { row, .. } => court.causes[row].weighs,
            Held::One(s) => court.causes[court.suspects[s].cause].weighs,
            Held::Two(a, b) => {
                let weighs = [a, b].map(|s| court.causes[court.suspects[s].cause].weighs);
                if weighs.contains(&Verdict::Slow) {
                    Verdict::Slow
                } else {
                    weighs[0]
                }
            }
            Held::Other => other,
        };
        let verdict = match verdict {
            Verdict::Unclear if better => Verdict::Slow,
            verdict => verdict,
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
