use super::effect::Effect;
use super::evidence::Noticed;
use super::found::{Asks, NextTest, Outcome};
use super::inference::{Hypothesis, Inference, Posterior};
use super::observed::Observed;
use super::reading::What;
use super::say::reading_of;
use super::scenarios::{Ask, Scenarios};
use super::test_rows::{TestRow, Yields, tests};
use super::{Observations, effect};
use crate::budget::BudgetFault;
use crate::quantity::three_digits;
use crate::work::Direction;

/// Posteriors that share so much of the probability are looked at; the rest changes no choice.
const LOOKED_AT: f64 = 0.98;

/// Outcomes of a number: steps of this size on a logarithmic scale, about what a test tells apart.
const STEP: f64 = 0.15;

/// Steps between a standstill and the fastest link.
const STEPS: usize = 110;

/// What a test would bring under one posterior.
struct Outlook {
    family: usize,
    probability: f64,
    /// Probability of each outcome.
    outcomes: Vec<f64>,
}

/// The best two tests, by bits a minute.
pub(crate) fn next_tests(
    told: &Observations,
    inference: &Inference<'_>,
    posteriors: &[Posterior],
    scenarios: &mut Scenarios<'_>,
) -> Result<Vec<NextTest>, BudgetFault> {
    let mut families: Vec<String> = Vec::new();
    let mut looked = Vec::new();
    let mut sum = 0.0;
    for posterior in posteriors {
        if sum >= LOOKED_AT {
            break;
        }
        sum += posterior.probability;
        let family = family(inference, &posterior.what);
        let at = families
            .iter()
            .position(|f| *f == family)
            .unwrap_or_else(|| {
                families.push(family);
                families.len() - 1
            });
        looked.push((posterior, at));
    }
    let desk = posteriors
        .first()
        .and_then(|b| reading_of(inference, &b.what))
        .map_or_else(|| told.usual_desk().to_owned(), |h| h.desk.clone());
    let posterior = inference.draws_of(
        &looked.iter().map(|(b, _)| &b.what).collect::<Vec<_>>(),
        scenarios,
    );
    let mut found = Vec::new();
    for test in tests()? {
        if told.asked.contains(&test.id) {
            continue;
        }
        let mut asks = Asks::LinkRate;
        let outlooks = match &test.yields {
            Yields::Reading(what, way) => {
                let Some(ask) = ask_of(told, inference, &desk, (*what, *way)) else {
                    continue;
                };
                asks = Asks::Rate(ask.what, ask.direction);
                if scenarios.predict(&ask)?.is_none() {
                    continue;
                }
                by_rate(&ask, inference, &looked, &posterior, scenarios)
            }
            Yields::Remark(id) => {
                if !sensible(told, inference, &desk, id) {
                    continue;
                }
                let otherwise = Some(&test.otherwise).filter(|id| !id.is_empty());
                asks = Asks::Whether(id.clone(), otherwise.cloned());
                by_remark(id, inference, &desk, &looked)
            }
            Yields::LinkRate => {
                let shown = inference.shown.iter().any(|(of, _)| *of == desk);
                if !told.network() || shown {
                    continue;
                }
                by_link(inference, &desk, &looked)
            }
        };
        let gain_bits = information(&outlooks, families.len());
        let outcomes = meanings(&test, &outlooks, &families);
        let place = match (test.at_the_nas, desk.as_str()) {
            (true, _) => "on the NAS".to_owned(),
            (false, "" | "desk") => "at the desk".to_owned(),
            (false, desk) => format!("at {desk}"),
        };
        found.push(NextTest {
            id: test.id,
            place,
            words: test.words,
            caution: test.caution,
            gain_bits,
            minutes: test.minutes,
            outcomes,
            asks,
        });
    }
    found.sort_by(|a, b| (b.gain_bits / b.minutes).total_cmp(&(a.gain_bits / a.minutes)));
    // what tells next to nothing, or the same whatever comes out, is not worth a minute
    found.retain(|t| {
        t.gain_bits >= 0.05
            && t.outcomes
                .iter()
                .any(|o| o.families != t.outcomes[0].families)
    });
    found.truncate(2);
    Ok(found)
}

fn family(inference: &Inference<'_>, hypothesis: &Hypothesis) -> String {
    match hypothesis {
        Hypothesis::Healthy { row, .. } => inference.causes[*row].family.clone(),
        Hypothesis::One(s) | Hypothesis::Two(s, _) => inference.causes
            [inference.candidates[*s].cause]
            .family
            .clone(),
        Hypothesis::Other => "unknown".to_owned(),
    }
}

/// What a test would measure; `None` where it was measured already or there is nothing to measure.
fn ask_of(
    told: &Observations,
    inference: &Inference<'_>,
    desk: &str,
    (what, way): (What, Option<Direction>),
) -> Option<Ask> {
    let over = !matches!(what, What::LocalArray | What::LocalDisk);
    if over && !told.network() {
        return None;
    }
    let direction = way.or_else(|| other_way(inference, desk))?;
    let mut own = of_desk(inference, desk);
    let done = own.any(|h| {
        h.what == what
            && h.pieces().is_none()
            && h.asks.iter().any(|(a, _)| a.direction == direction)
    });
    (!done).then(|| Ask {
        what,
        direction,
        streams: 1,
        desk: desk.to_owned(),
        random: None,
    })
}

fn of_desk<'a>(inference: &'a Inference<'_>, desk: &str) -> impl Iterator<Item = &'a Observed> {
    inference.observed.iter().filter(move |h| h.desk == desk)
}

/// The direction in which no copy was measured, where one was.
fn other_way(inference: &Inference<'_>, desk: &str) -> Option<Direction> {
    let copy = of_desk(inference, desk).find(|h| h.what == What::Copy)?;
    match &copy.asks[..] {
        [(ask, _)] if ask.direction == Direction::Read => Some(Direction::Write),
        [_] => Some(Direction::Read),
        _ => None,
    }
}

/// Whether a test of this kind makes sense here and was not made.
fn sensible(told: &Observations, inference: &Inference<'_>, desk: &str, remark: &str) -> bool {
    if told.says(remark, desk) {
        return false;
    }
    let tag = |t: &str| inference.places.tags(desk).contains(&t);
    match remark {
        "parallel-adds"
        | "other-computer-better"
        | "other-service-better"
        | "traffic-elsewhere"
        | "retransmissions"
        | "without-encryption-better"
        | "other-adapter-better" => told.network(),
        "other-cable-better" | "stalls" => tag("wired"),
        "wired-better" => told.network() && (tag("wireless") || !told.path_told),
        "rebuild-running" => tag("redundant"),
        "one-drive-same" => tag("many-drives"),
        "without-sync-better" => of_desk(inference, desk)
            .any(|h| h.asks.iter().any(|(a, _)| a.direction == Direction::Write)),
        _ => true,
    }
}

fn by_rate(
    ask: &Ask,
    inference: &Inference<'_>,
    looked: &[(&Posterior, usize)],
    posterior: &[Vec<f64>],
    scenarios: &Scenarios<'_>,
) -> Vec<Outlook> {
    looked
        .iter()
        .zip(posterior)
        .map(|((posterior, family), weights)| {
            let mut outcomes = vec![0.0; STEPS];
            if posterior.what == Hypothesis::Other {
                outcomes.fill(1.0 / STEPS as f64);
            } else {
                let effects = inference.effects(&posterior.what);
                let rates = effect::rates(ask, &effects, scenarios).unwrap_or_default();
                for (rate, weight) in rates.iter().zip(weights) {
                    if let Some(outcome) = outcomes.get_mut(step(*rate)) {
                        *outcome += weight;
                    }
                }
            }
            Outlook {
                family: *family,
                probability: posterior.probability,
                outcomes,
            }
        })
        .collect()
}

/// The step of a rate in bytes a second, from ten kilobytes a second up.
fn step(rate: f64) -> usize {
    let above = libm::log((rate / 1e4).max(1.0)) / STEP;
    (above as usize).min(STEPS - 1)
}

fn by_remark(
    remark: &str,
    inference: &Inference<'_>,
    desk: &str,
    looked: &[(&Posterior, usize)],
) -> Vec<Outlook> {
    let most = inference.evidence.most(remark);
    let remark = Noticed {
        id: remark.to_owned(),
        desk: Some(desk.to_owned()),
    };
    let of = |row: usize, desks: Option<&[String]>| {
        let remark = std::slice::from_ref(&remark);
        inference
            .evidence
            .all(remark, &inference.causes[row], desks)
    };
    let candidate = |s: usize| {
        let candidate = &inference.candidates[s];
        of(candidate.cause, Some(&candidate.effect.desks))
    };
    looked
        .iter()
        .map(|(posterior, family)| {
            let share = match posterior.what {
                Hypothesis::Other => inference
                    .evidence
                    .of(&remark.id, "none-of-these", "unknown"),
                Hypothesis::Healthy { row, .. } => of(row, None),
                Hypothesis::One(s) => candidate(s),
                Hypothesis::Two(a, b) => candidate(a).max(candidate(b)),
            };
            let yes = (share / most * inference.weights.shows)
                .clamp(inference.weights.shows_wrongly, inference.weights.shown);
            Outlook {
                family: *family,
                probability: posterior.probability,
                outcomes: vec![yes, 1.0 - yes],
            }
        })
        .collect()
}

fn by_link(inference: &Inference<'_>, desk: &str, looked: &[(&Posterior, usize)]) -> Vec<Outlook> {
    looked
        .iter()
        .map(|(posterior, family)| {
            let effects = inference.effects(&posterior.what);
            let of = |e: &&Effect| e.link.is_some() && e.desks.iter().any(|d| d == desk);
            let yes = if effects.iter().any(of) {
                inference.weights.shown
            } else {
                inference.weights.shows_wrongly
            };
            Outlook {
                family: *family,
                probability: posterior.probability,
                outcomes: vec![yes, 1.0 - yes],
            }
        })
        .collect()
}

/// Mutual information between families and outcomes, in bits.
fn information(outlooks: &[Outlook], families: usize) -> f64 {
    let Some(count) = outlooks.first().map(|o| o.outcomes.len()) else {
        return 0.0;
    };
    let total: f64 = outlooks.iter().map(|o| o.probability).sum();
    if total <= 0.0 {
        return 0.0;
    }
    let mut joint = vec![0.0; families * count];
    for outlook in outlooks {
        for (k, p) in outlook.outcomes.iter().enumerate() {
            joint[outlook.family * count + k] += outlook.probability / total * p;
        }
    }
    let of_family: Vec<f64> = joint.chunks(count).map(|c| c.iter().sum()).collect();
    let of_outcome: Vec<f64> = (0..count)
        .map(|k| joint.chunks(count).map(|c| c[k]).sum())
        .collect();
    let mut bits = 0.0;
    for (f, chunk) in joint.chunks(count).enumerate() {
        for (k, &p) in chunk.iter().enumerate() {
            if p > 0.0 {
                bits += p * libm::log2(p / (of_family[f] * of_outcome[k]));
            }
        }
    }
    bits.max(0.0)
}

/// What each outcome would mean.
fn meanings(test: &TestRow, outlooks: &[Outlook], families: &[String]) -> Vec<Outcome> {
    match test.yields {
        Yields::Reading(..) => rates_mean(outlooks, families),
        Yields::Remark(_) | Yields::LinkRate => {
            let best = |k: usize| {
                let mut of = vec![0.0; families.len()];
                for o in outlooks {
                    of[o.family] += o.probability * o.outcomes.get(k).copied().unwrap_or(0.0);
                }
                let mut best = 0;
                for (f, p) in of.iter().enumerate() {
                    if *p > of[best] {
                        best = f;
                    }
                }
                families.get(best).cloned().into_iter().collect()
            };
            let both = test.shown.iter().enumerate();
            both.map(|(k, words)| Outcome {
                words: words.clone(),
                families: best(k),
            })
            .collect()
        }
    }
}

/// The likeliest families that a number tells apart, each with the middle of its outcomes.
fn rates_mean(outlooks: &[Outlook], families: &[String]) -> Vec<Outcome> {
    let mut of = vec![(0.0, vec![0.0; STEPS]); families.len()];
    for o in outlooks {
        of[o.family].0 += o.probability;
        for (sum, p) in of[o.family].1.iter_mut().zip(&o.outcomes) {
            *sum += o.probability * p;
        }
    }
    let mut order: Vec<usize> = (0..families.len())
        .filter(|f| families[*f] != "unknown")
        .collect();
    order.sort_by(|a, b| of[*b].0.total_cmp(&of[*a].0));
    let mut said: Vec<Outcome> = Vec::new();
    for f in order {
        let (sum, steps) = &of[f];
        let mut half = 0.0;
        let middle = steps.iter().position(|p| {
            half += p;
            half >= sum / 2.0
        });
        let Some(middle) = middle else { continue };
        let rate = libm::exp((middle as f64 + 0.5) * STEP) * 1e4 / 1e6;
        let words = format!("about {} MB/s", three_digits(rate));
        if let Some(known) = said.iter_mut().find(|o| o.words == words) {
            if known.families.len() < 2 {
                known.families.push(families[f].clone());
            }
        } else if said.len() < 3 {
            said.push(Outcome {
                words,
                families: vec![families[f].clone()],
            });
        }
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_test_has_minutes_and_yields_something_known() {
        let all = super::tests().unwrap();
        assert!(all.len() > 15);
        for test in &all {
            assert!(test.minutes > 0.0 && test.source.len() > 4, "{}", test.id);
            let rate = matches!(test.yields, Yields::Reading(..));
            assert!(
                test.shown.iter().all(|s| s.is_empty() == rate),
                "{}",
                test.id
            );
        }
    }

    fn outlook(family: usize, probability: f64, outcomes: &[f64]) -> Outlook {
        Outlook {
            family,
            probability,
            outcomes: outcomes.to_vec(),
        }
    }

    #[test]
    fn a_test_that_parts_two_equal_families_tells_one_bit() {
        let parts = [outlook(0, 0.5, &[1.0, 0.0]), outlook(1, 0.5, &[0.0, 1.0])];
        assert!((information(&parts, 2) - 1.0).abs() < 1e-12);
        let same = [outlook(0, 0.5, &[0.3, 0.7]), outlook(1, 0.5, &[0.3, 0.7])];
        assert!(information(&same, 2).abs() < 1e-12);
        // a binary symmetric channel with one error in ten: 1 - H(0.1) = 0.531 bit
        let noisy = [outlook(0, 0.5, &[0.9, 0.1]), outlook(1, 0.5, &[0.1, 0.9])];
        assert!((information(&noisy, 2) - 0.531_004).abs() < 1e-6);
        assert!(information(&[], 2).abs() < 1e-12);
    }
}
