use super::candidates::{Candidate, SpotOf};
use super::cause::{Cause, Change};
use super::effect::Effect;
use super::evidence::Noticed;
use super::found::{CauseFound, OneWay, RuledOut, Verdict};
use super::inference::{Hypothesis, Inference, Posterior};
use super::observed::Observed;
use super::reading::What;
use super::scenarios::{Ask, Scenarios};
use super::{Observations, candidates, effect};
use crate::quantity::{DataRate, Measure, in_megabytes_per_second, three_digits};
use crate::work::Direction;
use crate::working::percentiles;

/// How many times likelier, or less likely, a remark must be to be named.
const TELLING: f64 = 3.0;

/// A cause with less than this is no longer in question.
const NEGLIGIBLE: f64 = 0.002;

/// A cause that predicts the numbers so much worse than the best is ruled out.
const CANNOT: f64 = 0.01;

/// Ranges of rates as people say them; of both directions where the direction is not told.
pub(crate) fn range(ways: &[OneWay]) -> String {
    let one = |way: &OneWay| {
        let [low, _, high] = way.rates.map(|r| three_digits(in_megabytes_per_second(r)));
        if low == high {
            format!("{low} MB/s")
        } else {
            format!("{low} to {high} MB/s")
        }
    };
    let said = |way: &OneWay| match way.direction {
        Direction::Read => format!("{} reading", one(way)),
        Direction::Write => format!("{} writing", one(way)),
    };
    match ways {
        [first, rest @ ..] if rest.iter().all(|way| one(way) == one(first)) => one(first),
        _ => ways.iter().map(said).collect::<Vec<_>>().join(" or "),
    }
}

fn of(direction: Direction, rates: &[f64]) -> OneWay {
    let p = percentiles::<DataRate>(rates);
    OneWay {
        direction,
        rates: [p.p05, p.p50, p.p95],
    }
}

/// What a reading is expected to be where nothing is at fault, each way that it may be of.
pub(crate) fn expected(observed: &Observed, scenarios: &Scenarios<'_>) -> Vec<OneWay> {
    let one = |(ask, _): &(Ask, f64)| {
        Some(OneWay {
            direction: ask.direction,
            rates: scenarios.expected(ask)?.range(),
        })
    };
    observed.asks.iter().filter_map(one).collect()
}

/// What a reading would be under some effects, each way that it may be of.
pub(crate) fn predicted(
    observed: &Observed,
    effects: &[&Effect],
    scenarios: &Scenarios<'_>,
) -> Vec<OneWay> {
    if effects.is_empty() {
        return expected(observed, scenarios);
    }
    let one = |ask: &Ask| {
        let rates = effect::rates(ask, effects, scenarios)?;
        Some(of(ask.direction, &rates))
    };
    observed
        .asks
        .iter()
        .filter_map(|(ask, _)| one(ask))
        .collect()
}

/// A posterior as it is reported: once for each place that it may be at.
pub(crate) fn causes(
    told: &Observations,
    inference: &Inference<'_>,
    posterior: &Posterior,
    scenarios: &Scenarios<'_>,
) -> Vec<CauseFound> {
    let found = |row: usize| found(told, inference, posterior, row, scenarios);
    match &posterior.what {
        Hypothesis::Other => Vec::new(),
        Hypothesis::Healthy { row, desk, .. } => {
            let cause = &inference.causes[*row];
            let own = std::slice::from_ref(desk);
            let (place, words) = inference.places.limit(desk, cause);
            let words = in_words(cause, &words, None, whose(inference, cause, own).as_deref());
            let here = CauseFound {
                place,
                words,
                ..found(*row)
            };
            // of its own way the row says what limits it
            let others = if cause.weighs == Verdict::Slow {
                fallen(inference, posterior, own)
            } else {
                Vec::new()
            };
            vec![and_fallen(here, &others)]
        }
        Hypothesis::One(s) => {
            let candidate = &inference.candidates[*s];
            let found = found(candidate.cause);
            // a cable that came up slow is no second one beside itself
            let own = match found.family.as_str() {
                super::FALLEN => candidate.effect.desks.as_slice(),
                _ => &[],
            };
            let fallen = fallen(inference, posterior, own);
            let at = |spot: &SpotOf| {
                let here = CauseFound {
                    place: spot.path.clone(),
                    probability: posterior.probability * spot.share,
                    words: sentence(inference, candidate, &spot.words),
                    ..found.clone()
                };
                and_fallen(here, &fallen)
            };
            candidate.spots.iter().map(at).collect()
        }
        Hypothesis::Two(a, b) => {
            let (one, two) = (&inference.candidates[*a], &inference.candidates[*b]);
            let found = found(one.cause);
            let pairs = one.spots.iter().flat_map(|first| {
                let others = two.spots.iter();
                others.map(move |second| (first, second))
            });
            let at = |(first, second): (&SpotOf, &SpotOf)| CauseFound {
                place: first.path.clone(),
                probability: posterior.probability * first.share * second.share,
                words: format!(
                    "{}, and {}",
                    sentence(inference, one, &first.words),
                    sentence(inference, two, &second.words)
                ),
                together_with: Some(inference.causes[two.cause].id.clone()),
                together_at: Some(second.path.clone()),
                ..found.clone()
            };
            pairs.map(at).collect()
        }
    }
}

/// Runs that came up slow besides in more draws than not, but for those of some desks: path and
/// words.
fn fallen(
    inference: &Inference<'_>,
    posterior: &Posterior,
    but: &[String],
) -> Vec<(String, String)> {
    let Some(row) = inference.causes.iter().find(|c| c.id == "limit-fallen") else {
        return Vec::new();
    };
    let mut found: Vec<(String, String)> = Vec::new();
    for (desk, share) in &posterior.fallen {
        let run = inference.places.limit(desk, row);
        if *share > super::HALF && !but.contains(desk) && !found.contains(&run) {
            found.push(run);
        }
    }
    found
}

fn and_fallen(mut cause: CauseFound, runs: &[(String, String)]) -> CauseFound {
    for (_, run) in runs {
        cause.words = format!(
            "{}, and {run} came up slower than its ends know",
            cause.words
        );
    }
    if let Some((path, _)) = runs.first() {
        cause.together_with = Some("limit-fallen".to_owned());
        cause.together_at = Some(path.clone());
    }
    cause
}

/// A candidate at a place, as a sentence.
fn sentence(inference: &Inference<'_>, candidate: &Candidate, place: &str) -> String {
    let cause = &inference.causes[candidate.cause];
    let whose = whose(inference, cause, &candidate.effect.desks);
    let way = candidates::way(candidate.effect.hits, cause);
    in_words(cause, place, way, whose.as_deref())
}

/// Whose it is, where more than one desk was told of, the sentence names no place, and not
/// everybody has it.
fn whose(inference: &Inference<'_>, cause: &Cause, desks: &[String]) -> Option<String> {
    let all = inference.places.count();
    let told = all > 1 && desks.len() < all && !cause.words.contains("{place}");
    told.then(|| desks.join(" and "))
}

fn in_words(cause: &Cause, place: &str, way: Option<&str>, whose: Option<&str>) -> String {
    let sentence = cause.words.replace("{place}", place);
    let more: Vec<&str> = [whose, way].into_iter().flatten().collect();
    if more.is_empty() {
        sentence
    } else {
        format!("{sentence} ({})", more.join(", "))
    }
}

/// What is found of a posterior wherever it is.
fn found(
    told: &Observations,
    inference: &Inference<'_>,
    posterior: &Posterior,
    row: usize,
    scenarios: &Scenarios<'_>,
) -> CauseFound {
    let cause = &inference.causes[row];
    let effects = inference.effects(&posterior.what);
    let (mut speaks_for, mut speaks_against) = (Vec::new(), Vec::new());
    for observed in inference.observed {
        let reading = &told.readings[observed.index];
        let touching: Vec<&&Effect> = effects.iter().filter(|e| touches(e, observed)).collect();
        let slip = touching.iter().any(|e| e.change == Change::Slip);
        if slip || (touching.is_empty() && !effects.is_empty()) {
            continue;
        }
        let expected = predicted(observed, &effects, scenarios);
        let measured = observed.likeliest();
        let inside = expected.iter().any(|way| {
            let [low, _, high] = way.rates.map(Measure::base);
            measured >= low * 0.9 && measured <= high * 1.1
        });
        let text = format!("{}: it would give {}", reading.text, range(&expected));
        if inside {
            &mut speaks_for
        } else {
            &mut speaks_against
        }
        .push(text);
    }
    // of two the first: it is the one whose evidence is named
    let desks = effects.first().map(|e| e.desks.as_slice());
    for remark in &told.remarks {
        let noticed = Noticed {
            id: remark.id.clone(),
            desk: remark.desk.clone(),
        };
        if !noticed.concerns(desks) {
            continue;
        }
        let usual = inference.evidence.of(&remark.id, "", "*");
        let here = inference.evidence.of(&remark.id, &cause.id, &cause.family);
        if here >= usual * TELLING {
            speaks_for.push(remark.text.clone());
        } else if here * TELLING <= usual {
            speaks_against.push(remark.text.clone());
        }
    }
    CauseFound {
        id: cause.id.clone(),
        family: cause.family.clone(),
        place: String::new(),
        probability: posterior.probability,
        words: String::new(),
        speaks_for,
        speaks_against,
        remedy: cause.remedy.clone(),
        once_fixed: once_fixed(inference, &posterior.what, scenarios),
        together_with: None,
        together_at: None,
    }
}

fn touches(effect: &Effect, observed: &Observed) -> bool {
    observed.asks.iter().any(|(ask, _)| effect.touches(ask))
}

/// The reading that people mean: a copy, where there is one.
pub(crate) fn main_reading<'a>(inference: &'a Inference<'_>) -> Option<&'a Observed> {
    main_of(inference.observed.iter())
}

/// The reading that is spoken of with a posterior: of those that it touches, or of the desk whose way
/// it limits.
pub(crate) fn reading_of<'a>(
    inference: &'a Inference<'_>,
    hypothesis: &Hypothesis,
) -> Option<&'a Observed> {
    let own = inference
        .observed
        .iter()
        .filter(|observed| touched_by(inference, hypothesis, observed));
    main_of(own).or_else(|| main_reading(inference))
}

/// Whether a posterior says anything of a reading: that it touches it, or that it limits its desk's way.
pub(crate) fn touched_by(
    inference: &Inference<'_>,
    hypothesis: &Hypothesis,
    observed: &Observed,
) -> bool {
    if let Hypothesis::Healthy { desk, .. } = hypothesis {
        return observed.desk == *desk;
    }
    // of two the first, as in what is said of them
    let effects = inference.effects(hypothesis);
    effects.first().is_some_and(|e| touches(e, observed))
}

fn main_of<'a>(mut all: impl Iterator<Item = &'a Observed> + Clone) -> Option<&'a Observed> {
    let first = all.clone().next();
    all.find(|h| matches!(h.what, What::Copy | What::ManyFiles))
        .or(first)
}

/// What the reading that is spoken of becomes without the fault, or with the limit lifted.
fn once_fixed(
    inference: &Inference<'_>,
    hypothesis: &Hypothesis,
    scenarios: &Scenarios<'_>,
) -> Vec<OneWay> {
    let Some(observed) = reading_of(inference, hypothesis) else {
        return Vec::new();
    };
    let Hypothesis::Healthy { limit, .. } = hypothesis else {
        return predicted(observed, &[], scenarios);
    };
    let one = |ask: &Ask| {
        let rates = scenarios.made(ask)?.without(*limit);
        let ends = rates.iter().all(|r| r.is_finite());
        ends.then(|| of(ask.direction, &rates))
    };
    observed
        .asks
        .iter()
        .filter_map(|(ask, _)| one(ask))
        .collect()
}

/// Causes that cannot have made the numbers, the commonest first.
pub(crate) fn ruled_out(
    told: &Observations,
    inference: &Inference<'_>,
    posteriors: &[Posterior],
    scenarios: &Scenarios<'_>,
) -> Vec<RuledOut> {
    let mut found: Vec<(f64, RuledOut)> = Vec::new();
    for (row, cause) in inference.causes.iter().enumerate() {
        let own = |hypothesis: &Hypothesis| match hypothesis {
            Hypothesis::One(s) => inference.candidates[*s].cause == row,
            Hypothesis::Two(a, b) => [a, b]
                .into_iter()
                .any(|s| inference.candidates[*s].cause == row),
            _ => false,
        };
        let mut mine = posteriors.iter().filter(|b| own(&b.what)).peekable();
        if mine.peek().is_none() || cause.change == Change::Slip {
            continue;
        }
        let (mut sum, mut fits, mut prior) = (0.0, 0.0f64, 0.0);
        let mut best: Option<usize> = None;
        for posterior in mine {
            sum += posterior.probability;
            if let Hypothesis::One(s) = posterior.what {
                prior += inference.candidates[s].prior;
                if best.is_none() || posterior.fits > fits {
                    best = Some(s);
                }
                fits = fits.max(posterior.fits);
            }
        }
        if sum >= NEGLIGIBLE || fits >= CANNOT {
            continue;
        }
        let Some(best) = best else { continue };
        let candidate = &inference.candidates[best];
        if let Some(why) = why_not(told, inference, &candidate.effect, scenarios) {
            let likeliest = candidate.spots.first().map_or("", |s| s.words.as_str());
            let what = sentence(inference, candidate, likeliest);
            found.push((
                prior,
                RuledOut {
                    id: cause.id.clone(),
                    family: cause.family.clone(),
                    why: format!("{what}: {why}"),
                },
            ));
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().map(|(_, r)| r).collect()
}

/// The reading that a cause is furthest from.
fn why_not(
    told: &Observations,
    inference: &Inference<'_>,
    effect: &Effect,
    scenarios: &Scenarios<'_>,
) -> Option<String> {
    let mut worst: Option<(f64, String)> = None;
    for observed in inference.observed {
        let touched = touches(effect, observed);
        let list: &[&Effect] = if touched { &[effect] } else { &[] };
        let expected = predicted(observed, list, scenarios);
        let measured = observed.likeliest().max(1.0);
        let off = expected.iter().map(|way| {
            let [low, _, high] = way.rates.map(Measure::base);
            (measured / high).max(low / measured)
        });
        // of two directions the one that fits better
        let off = off.fold(f64::INFINITY, f64::min);
        if expected.is_empty() {
            continue;
        }
        if worst.as_ref().is_none_or(|(w, _)| off > *w) {
            let text = &told.readings[observed.index].text;
            let why = if touched {
                format!("it would give {}, not \"{text}\"", range(&expected))
            } else {
                format!(
                    "it does not touch \"{text}\", where {} is right",
                    range(&expected)
                )
            };
            worst = Some((off, why));
        }
    }
    // what lies inside the range on every reading is unlikely, not impossible
    worst.filter(|(off, _)| *off > 1.02).map(|(_, why)| why)
}
