use super::cause::Change;
use super::effect::Effect;
use super::found::{CauseFound, RuledOut, Verdict};
use super::heard::Heard;
use super::places::Places;
use super::posterior::{Belief, Court, Held};
use super::ways::World;
use super::{Told, effect, suspects};
use crate::quantity::{DataRate, Measure, in_megabytes_per_second, three_digits};
use crate::working::percentiles;

/// How many times likelier, or less likely, a remark must be to be named.
const TELLING: f64 = 3.0;

/// A cause with less than this is no longer in question.
const NEGLIGIBLE: f64 = 0.002;

/// A cause that predicts the numbers so much worse than the best is ruled out.
const CANNOT: f64 = 0.01;

/// A range of rates as people say it.
fn range([low, _, high]: [DataRate; 3]) -> String {
    let (low, high) = (
        three_digits(in_megabytes_per_second(low)),
        three_digits(in_megabytes_per_second(high)),
    );
    if low == high {
        format!("{low} MB/s")
    } else {
        format!("{low} to {high} MB/s")
    }
}

fn of(rates: &[f64]) -> [DataRate; 3] {
    let p = percentiles::<DataRate>(rates);
    [p.p05, p.p50, p.p95]
}

fn effects<'a>(court: &'a Court<'_>, held: &Held) -> Vec<&'a Effect> {
    let one = |s: usize| &court.suspects[s].effect;
    match held {
        Held::One(s) => vec![one(*s)],
        Held::Two(a, b) => vec![one(*a), one(*b)],
        Held::Healthy { .. } | Held::Other => Vec::new(),
    }
}

/// Percentiles of a reading under some effects, of the first way that it may be of.
pub(crate) fn predicted(
    heard: &Heard,
    effects: &[&Effect],
    world: &World<'_>,
) -> Option<[DataRate; 3]> {
    let (ask, _) = heard.asks.first()?;
    let columns = world.made(ask)?;
    let touching: Vec<&Effect> = effects
        .iter()
        .copied()
        .filter(|e| e.touches(ask.what, ask.direction))
        .collect();
    let rates: Vec<f64> = (0..world.count())
        .map(|d| effect::rate(columns, &touching, heard.streams, d))
        .collect();
    Some(of(&rates))
}

/// A belief as it is reported.
pub(crate) fn cause(
    told: &Told,
    court: &Court<'_>,
    belief: &Belief,
    places: &Places,
    world: &World<'_>,
) -> Option<CauseFound> {
    let (row, hits) = match belief.what {
        Held::Healthy { row, .. } => (row, None),
        Held::One(s) | Held::Two(s, _) => (court.suspects[s].cause, court.suspects[s].effect.hits),
        Held::Other => return None,
    };
    let cause = &court.causes[row];
    let (place, words) = places.place(cause.at, &cause.id);
    let mut sentence = cause.words.replace("{place}", &words);
    if let Some(way) = suspects::way(hits, cause) {
        sentence = format!("{sentence} ({way})");
    }
    let also_fallen = matches!(belief.what, Held::One(_)) && belief.fallen > super::HALF;
    if also_fallen && cause.family != super::FALLEN {
        let (_, run) = places.place(super::cause::At::Run, "limit-fallen");
        sentence = format!("{sentence}, and {run} came up slower than its ends know");
    }
    let effects = effects(court, &belief.what);
    let (mut speaks_for, mut speaks_against) = (Vec::new(), Vec::new());
    for heard in court.heard {
        let reading = &told.readings[heard.index];
        let touched = heard
            .asks
            .iter()
            .any(|(a, _)| effects.iter().any(|e| e.touches(a.what, a.direction)));
        let slip = effects.iter().any(|e| e.change == Change::Slip);
        if slip || (!touched && !effects.is_empty()) {
            continue;
        }
        let Some(expected) = predicted(heard, &effects, world) else {
            continue;
        };
        let measured = heard.likeliest();
        let inside = measured >= expected[0].base() * 0.9 && measured <= expected[2].base() * 1.1;
        let text = format!("{}: it would give {}", reading.text, range(expected));
        if inside {
            &mut speaks_for
        } else {
            &mut speaks_against
        }
        .push(text);
    }
    for remark in &told.remarks {
        let usual = court.evidence.of(&remark.id, "", "*");
        let here = court.evidence.of(&remark.id, &cause.id, &cause.family);
        if here >= usual * TELLING {
            speaks_for.push(remark.text.clone());
        } else if here * TELLING <= usual {
            speaks_against.push(remark.text.clone());
        }
    }
    Some(CauseFound {
        id: cause.id.clone(),
        family: cause.family.clone(),
        place,
        probability: belief.probability,
        words: sentence,
        speaks_for,
        speaks_against,
        remedy: cause.remedy.clone(),
        once_fixed: once_fixed(court, &belief.what, world),
        together_with: match belief.what {
            Held::Two(_, b) => Some(court.causes[court.suspects[b].cause].id.clone()),
            _ if also_fallen && cause.family != super::FALLEN => Some("limit-fallen".to_owned()),
            _ => None,
        },
    })
}

/// The reading that people mean: a copy, where there is one.
pub(crate) fn main_reading<'a>(court: &'a Court<'_>) -> Option<&'a Heard> {
    use super::reading::What;
    court
        .heard
        .iter()
        .find(|h| matches!(h.what, What::Copy | What::ManyFiles))
        .or_else(|| court.heard.first())
}

/// What the main reading becomes without the fault, or with the limit lifted.
fn once_fixed(court: &Court<'_>, held: &Held, world: &World<'_>) -> Option<[DataRate; 3]> {
    let heard = main_reading(court)?;
    let Held::Healthy { limit, .. } = held else {
        return predicted(heard, &[], world);
    };
    let (ask, _) = heard.asks.first()?;
    let columns = world.made(ask)?.without(*limit);
    let rates: Vec<f64> = (0..world.count())
        .map(|d| effect::rate(&columns, &[], heard.streams, d))
        .collect();
    rates.iter().all(|r| r.is_finite()).then(|| of(&rates))
}

/// Causes that cannot have made the numbers, the commonest first.
pub(crate) fn ruled_out(
    told: &Told,
    court: &Court<'_>,
    beliefs: &[Belief],
    places: &Places,
    world: &World<'_>,
) -> Vec<RuledOut> {
    let mut found: Vec<(f64, RuledOut)> = Vec::new();
    for (row, cause) in court.causes.iter().enumerate() {
        let own = |held: &Held| match held {
            Held::One(s) => court.suspects[*s].cause == row,
            Held::Two(a, b) => [a, b].into_iter().any(|s| court.suspects[*s].cause == row),
            _ => false,
        };
        let mut mine = beliefs.iter().filter(|b| own(&b.what)).peekable();
        if mine.peek().is_none() || cause.change == Change::Slip {
            continue;
        }
        let (mut sum, mut fits, mut prior) = (0.0, 0.0f64, 0.0);
        let mut best: Option<usize> = None;
        for belief in mine {
            sum += belief.probability;
            if let Held::One(s) = belief.what {
                prior += court.suspects[s].prior;
                if best.is_none() || belief.fits > fits {
                    best = Some(s);
                }
                fits = fits.max(belief.fits);
            }
        }
        if sum >= NEGLIGIBLE || fits >= CANNOT {
            continue;
        }
        let Some(best) = best else { continue };
        let (_, words) = places.place(cause.at, &cause.id);
        let effect = &court.suspects[best].effect;
        if let Some(why) = why_not(told, court, effect, world) {
            let what = cause.words.replace("{place}", &words);
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
fn why_not(told: &Told, court: &Court<'_>, effect: &Effect, world: &World<'_>) -> Option<String> {
    let mut worst: Option<(f64, String)> = None;
    for heard in court.heard {
        let touched = heard
            .asks
            .iter()
            .any(|(a, _)| effect.touches(a.what, a.direction));
        let list: &[&Effect] = if touched { &[effect] } else { &[] };
        let Some(expected) = predicted(heard, list, world) else {
            continue;
        };
        let measured = heard.likeliest().max(1.0);
        let off = (measured / expected[2].base()).max(expected[0].base() / measured);
        if worst.as_ref().is_none_or(|(w, _)| off > *w) {
            let text = &told.readings[heard.index].text;
            let why = if touched {
                format!("it would give {}, not \"{text}\"", range(expected))
            } else {
                format!(
                    "it does not touch \"{text}\", where {} is right",
                    range(expected)
                )
            };
            worst = Some((off, why));
        }
    }
    // what lies inside the range on every reading is unlikely, not impossible
    worst.filter(|(off, _)| *off > 1.02).map(|(_, why)| why)
}

/// The first line.
pub(crate) fn first_line(
    told: &Told,
    court: &Court<'_>,
    verdict: Verdict,
    causes: &[CauseFound],
    world: &World<'_>,
) -> String {
    let heard = main_reading(court);
    let expected = heard.and_then(|h| predicted(h, &[], world)).map(range);
    let measured = heard.map(|h| told.readings[h.index].text.clone());
    let first = causes.first();
    let percent = |c: &CauseFound| format!("{} %", (c.probability * 100.0).round());
    let (Some(expected), Some(measured)) = (expected, measured) else {
        return "No rate was told, so nothing can be said about one.".to_owned();
    };
    match (verdict, first) {
        (Verdict::Normal, Some(c)) => {
            format!(
                "Normal: {} ({}). Expected: {expected}.",
                c.words,
                percent(c)
            )
        }
        (Verdict::Slow, Some(c)) => format!(
            "Not as it should be: {expected} are expected. Likeliest: {} ({}).",
            c.words,
            percent(c)
        ),
        (Verdict::TooFast, Some(c)) => format!(
            "Too fast to be the way itself, which gives {expected}. Likeliest: {} ({}).",
            c.words,
            percent(c)
        ),
        (_, Some(c)) => format!(
            "Unclear: {expected} are expected. Likeliest: {} ({}).",
            c.words,
            percent(c)
        ),
        (_, None) => format!("No cause known here gives \"{measured}\"; {expected} are expected."),
    }
}
