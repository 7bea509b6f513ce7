use super::cause::{Cause, Change};
use super::effect::Effect;
use super::evidence::Noticed;
use super::found::{CauseFound, LeftOut, OneWay, RuledOut, Verdict};
use super::heard::Heard;
use super::posterior::{Belief, Court, Held};
use super::reading::What;
use super::suspects::{SpotOf, Suspect};
use super::ways::{Ask, World};
use super::{Told, effect, suspects};
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
fn range(ways: &[OneWay]) -> String {
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

/// What a reading would be under some effects, each way that it may be of.
pub(crate) fn predicted(heard: &Heard, effects: &[&Effect], world: &World<'_>) -> Vec<OneWay> {
    let one = |ask: &Ask| {
        let columns = world.made(ask)?;
        let touching: Vec<&Effect> = effects.iter().copied().filter(|e| e.touches(ask)).collect();
        let rates: Vec<f64> = (0..world.count())
            .map(|d| effect::rate(columns, &touching, heard.streams, d))
            .collect();
        Some(of(ask.direction, &rates))
    };
    heard.asks.iter().filter_map(|(ask, _)| one(ask)).collect()
}

/// A belief as it is reported: once for each place that it may be at.
pub(crate) fn causes(
    told: &Told,
    court: &Court<'_>,
    belief: &Belief,
    world: &World<'_>,
) -> Vec<CauseFound> {
    let found = |row: usize| found(told, court, belief, row, world);
    match &belief.what {
        Held::Other => Vec::new(),
        Held::Healthy { row, desk, .. } => {
            let cause = &court.causes[*row];
            let own = std::slice::from_ref(desk);
            let (place, words) = court.places.limit(desk, cause);
            let words = in_words(cause, &words, None, whose(court, cause, own).as_deref());
            let here = CauseFound {
                place,
                words,
                ..found(*row)
            };
            // of its own way the row says what limits it
            let others = if cause.weighs == Verdict::Slow {
                fallen(court, belief, own)
            } else {
                Vec::new()
            };
            vec![and_fallen(here, &others)]
        }
        Held::One(s) => {
            let suspect = &court.suspects[*s];
            let found = found(suspect.cause);
            // a cable that came up slow is no second one beside itself
            let own = match found.family.as_str() {
                super::FALLEN => suspect.effect.desks.as_slice(),
                _ => &[],
            };
            let fallen = fallen(court, belief, own);
            let at = |spot: &SpotOf| {
                let here = CauseFound {
                    place: spot.path.clone(),
                    probability: belief.probability * spot.share,
                    words: sentence(court, suspect, &spot.words),
                    ..found.clone()
                };
                and_fallen(here, &fallen)
            };
            suspect.spots.iter().map(at).collect()
        }
        Held::Two(a, b) => {
            let (one, two) = (&court.suspects[*a], &court.suspects[*b]);
            let found = found(one.cause);
            let pairs = one.spots.iter().flat_map(|first| {
                let others = two.spots.iter();
                others.map(move |second| (first, second))
            });
            let at = |(first, second): (&SpotOf, &SpotOf)| CauseFound {
                place: first.path.clone(),
                probability: belief.probability * first.share * second.share,
                words: format!(
                    "{}, and {}",
                    sentence(court, one, &first.words),
                    sentence(court, two, &second.words)
                ),
                together_with: Some(court.causes[two.cause].id.clone()),
                together_at: Some(second.path.clone()),
                ..found.clone()
            };
            pairs.map(at).collect()
        }
    }
}

/// Runs that came up slow besides in more draws than not, but for those of some desks: path and
/// words.
fn fallen(court: &Court<'_>, belief: &Belief, but: &[String]) -> Vec<(String, String)> {
    let Some(row) = court.causes.iter().find(|c| c.id == "limit-fallen") else {
        return Vec::new();
    };
    let mut found: Vec<(String, String)> = Vec::new();
    for (desk, share) in &belief.fallen {
        let run = court.places.limit(desk, row);
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

/// A suspect at a place, as a sentence.
fn sentence(court: &Court<'_>, suspect: &Suspect, place: &str) -> String {
    let cause = &court.causes[suspect.cause];
    let whose = whose(court, cause, &suspect.effect.desks);
    let way = suspects::way(suspect.effect.hits, cause);
    in_words(cause, place, way, whose.as_deref())
}

/// Whose it is, where more than one desk was told of, the sentence names no place, and not
/// everybody has it.
fn whose(court: &Court<'_>, cause: &Cause, desks: &[String]) -> Option<String> {
    let all = court.places.count();
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

/// What is found of a belief wherever it is.
fn found(
    told: &Told,
    court: &Court<'_>,
    belief: &Belief,
    row: usize,
    world: &World<'_>,
) -> CauseFound {
    let cause = &court.causes[row];
    let effects = court.effects(&belief.what);
    let (mut speaks_for, mut speaks_against) = (Vec::new(), Vec::new());
    for heard in court.heard {
        let reading = &told.readings[heard.index];
        let touching: Vec<&&Effect> = effects.iter().filter(|e| touches(e, heard)).collect();
        let slip = touching.iter().any(|e| e.change == Change::Slip);
        if slip || (touching.is_empty() && !effects.is_empty()) {
            continue;
        }
        let expected = predicted(heard, &effects, world);
        let measured = heard.likeliest();
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
        let usual = court.evidence.of(&remark.id, "", "*");
        let here = court.evidence.of(&remark.id, &cause.id, &cause.family);
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
        probability: belief.probability,
        words: String::new(),
        speaks_for,
        speaks_against,
        remedy: cause.remedy.clone(),
        once_fixed: once_fixed(court, &belief.what, world),
        together_with: None,
        together_at: None,
    }
}

fn touches(effect: &Effect, heard: &Heard) -> bool {
    heard.asks.iter().any(|(ask, _)| effect.touches(ask))
}

/// The reading that people mean: a copy, where there is one.
pub(crate) fn main_reading<'a>(court: &'a Court<'_>) -> Option<&'a Heard> {
    main_of(court.heard.iter())
}

/// The reading that is spoken of with a belief: of those that it touches, or of the desk whose way
/// it limits.
pub(crate) fn reading_of<'a>(court: &'a Court<'_>, held: &Held) -> Option<&'a Heard> {
    let effects = court.effects(held);
    let own = court.heard.iter().filter(|heard| match held {
        Held::Healthy { desk, .. } => heard.desk == *desk,
        // of two the first, as in what is said of them
        _ => effects.first().is_some_and(|e| touches(e, heard)),
    });
    main_of(own).or_else(|| main_reading(court))
}

fn main_of<'a>(mut all: impl Iterator<Item = &'a Heard> + Clone) -> Option<&'a Heard> {
    let first = all.clone().next();
    all.find(|h| matches!(h.what, What::Copy | What::ManyFiles))
        .or(first)
}

/// What the reading that is spoken of becomes without the fault, or with the limit lifted.
fn once_fixed(court: &Court<'_>, held: &Held, world: &World<'_>) -> Vec<OneWay> {
    let Some(heard) = reading_of(court, held) else {
        return Vec::new();
    };
    let Held::Healthy { limit, .. } = held else {
        return predicted(heard, &[], world);
    };
    let one = |ask: &Ask| {
        let columns = world.made(ask)?.without(*limit);
        let rates: Vec<f64> = (0..world.count())
            .map(|d| effect::rate(&columns, &[], heard.streams, d))
            .collect();
        let ends = rates.iter().all(|r| r.is_finite());
        ends.then(|| of(ask.direction, &rates))
    };
    heard.asks.iter().filter_map(|(ask, _)| one(ask)).collect()
}

/// Causes that cannot have made the numbers, the commonest first.
pub(crate) fn ruled_out(
    told: &Told,
    court: &Court<'_>,
    beliefs: &[Belief],
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
        let suspect = &court.suspects[best];
        if let Some(why) = why_not(told, court, &suspect.effect, world) {
            let likeliest = suspect.spots.first().map_or("", |s| s.words.as_str());
            let what = sentence(court, suspect, likeliest);
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
        let touched = touches(effect, heard);
        let list: &[&Effect] = if touched { &[effect] } else { &[] };
        let expected = predicted(heard, list, world);
        let measured = heard.likeliest().max(1.0);
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
            let text = &told.readings[heard.index].text;
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

/// The first line; it speaks of what is likeliest.
pub(crate) fn first_line(
    told: &Told,
    court: &Court<'_>,
    verdict: Verdict,
    (likeliest, cause): (Option<&Belief>, Option<&CauseFound>),
    left_out: &[(usize, LeftOut)],
    world: &World<'_>,
) -> String {
    let heard = likeliest.map_or_else(|| main_reading(court), |b| reading_of(court, &b.what));
    let expected = heard.map(|h| range(&predicted(h, &[], world)));
    let measured = heard.map(|h| told.readings[h.index].text.clone());
    let percent = |c: &CauseFound| format!("{} %", (c.probability * 100.0).round());
    let (Some(expected), Some(measured)) = (expected, measured) else {
        return match left_out {
            [(index, why), ..] => format!(
                "Nothing can be said about \"{}\": {}.",
                told.readings[*index].text,
                why.words()
            ),
            [] => "No rate was told, so nothing can be said about one.".to_owned(),
        };
    };
    let of = if court.places.several() {
        format!(" for \"{measured}\"")
    } else {
        String::new()
    };
    match (verdict, cause) {
        (Verdict::Normal, Some(c)) => {
            format!(
                "Normal: {} ({}). Expected{of}: {expected}.",
                c.words,
                percent(c)
            )
        }
        (Verdict::Slow, Some(c)) => format!(
            "Not as it should be: {expected} are expected{of}. Likeliest: {} ({}).",
            c.words,
            percent(c)
        ),
        (Verdict::TooFast, Some(c)) => format!(
            "Too fast to be the way itself, which gives {expected}{of}. Likeliest: {} ({}).",
            c.words,
            percent(c)
        ),
        (_, Some(c)) => format!(
            "Unclear: {expected} are expected{of}. Likeliest: {} ({}).",
            c.words,
            percent(c)
        ),
        (_, None) => format!("No cause known here gives \"{measured}\"; {expected} are expected."),
    }
}
