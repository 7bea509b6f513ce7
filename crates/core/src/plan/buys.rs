//! One sentence a row on what it buys.

use super::front::{Criterion, Merits};
use super::row::Row;
use crate::quantity::Money;

/// Gains that are told of a row that is best in nothing.
const MOST_GAINS: usize = 2;
/// Credits that are told; more would be a list, not a sentence.
const MOST_CREDITS: usize = 3;

/// Writes the sentence of each row. Rows come in their order, the cheapest first; the first of those
/// that are best in a criterion gets the credit for it. A row that is best in nothing is compared with the
/// one above it, which is no dearer and does not beat it: something is always better.
pub(super) fn describe(rows: &mut [Row], merits: &[Merits], streams: usize) {
    let criteria: Vec<(usize, Criterion)> = Criterion::ALL
        .into_iter()
        .enumerate()
        .filter(|(_, c)| {
            let together = matches!(c, Criterion::ReadTogether | Criterion::WriteTogether);
            streams > 1 || !together
        })
        .collect();
    let mut credits: Vec<Vec<Criterion>> = vec![Vec::new(); rows.len()];
    for &(at, criterion) in &criteria {
        let rank = |i: usize| merits.get(i).map_or(i64::MIN, |m| m[at]);
        let best = (0..rows.len()).map(rank).max();
        let first = (0..rows.len()).find(|&i| Some(rank(i)) == best);
        // where all are equal there is nothing to tell
        let differs = (0..rows.len()).any(|i| Some(rank(i)) != best);
        if let (Some(first), true) = (first, differs || criterion == Criterion::Price)
            && let Some(credits) = credits.get_mut(first)
        {
            credits.push(criterion);
        }
    }
    let before: Vec<Option<Row>> = std::iter::once(None)
        .chain(rows.iter().cloned().map(Some))
        .collect();
    for (i, ((row, credits), above)) in rows.iter_mut().zip(credits).zip(before).enumerate() {
        let told: Vec<String> = credits
            .iter()
            .take(MOST_CREDITS)
            .map(|&c| credit(c, row.price.is_some(), streams))
            .collect();
        let mut sentence = listed(&told);
        if let Some(above) = above {
            if told.is_empty() {
                let gains = compared(row, &above, &criteria, streams, true);
                sentence = format!(
                    "{} than row {i}",
                    listed(&gains[..gains.len().min(MOST_GAINS)])
                );
            }
            let losses = compared(row, &above, &criteria, streams, false);
            if let Some(loss) = losses.first().filter(|_| told.is_empty()) {
                sentence.push_str(", but ");
                sentence.push_str(loss);
            }
            sentence.push_str("; ");
            sentence.push_str(&difference(row, &above, i));
        }
        sentence.push('.');
        row.buys = capital(&sentence);
    }
}

fn credit(criterion: Criterion, priced: bool, streams: usize) -> String {
    match criterion {
        Criterion::Price if priced => "the cheapest".to_owned(),
        Criterion::Price => "the fewest drives".to_owned(),
        Criterion::Usable => "the most space".to_owned(),
        Criterion::Loss => "the least likely to be lost".to_owned(),
        Criterion::Read => "the fastest reading alone".to_owned(),
        Criterion::Write => "the fastest writing alone".to_owned(),
        Criterion::ReadTogether => format!("the fastest reading with {streams} streams"),
        Criterion::WriteTogether => format!("the fastest writing with {streams} streams"),
        Criterion::Degraded => "the fastest reading with a drive missing".to_owned(),
        Criterion::Rebuild => "the shortest rebuild".to_owned(),
        Criterion::RandomRead => "the most small reads".to_owned(),
        Criterion::RandomWrite => "the most small writes".to_owned(),
    }
}

/// What is better than in another row, or worse, the largest difference first. The price is told
/// apart.
fn compared(
    row: &Row,
    other: &Row,
    criteria: &[(usize, Criterion)],
    streams: usize,
    better: bool,
) -> Vec<String> {
    let (mine, theirs) = (row.merits(), other.merits());
    let survivor = row.survives_any > 0 && other.survives_any > 0;
    let mut found: Vec<(f64, String)> = criteria
        .iter()
        .filter(|(at, criterion)| {
            let rebuilt = matches!(criterion, Criterion::Degraded | Criterion::Rebuild);
            let differs = if better {
                mine[*at] > theirs[*at]
            } else {
                mine[*at] < theirs[*at]
            };
            differs && *criterion != Criterion::Price && (survivor || !rebuilt)
        })
        .map(|&(_, criterion)| {
            let (new, old) = (row.value(criterion), other.value(criterion));
            let larger = new.max(old) / new.min(old) - 1.0;
            let by = (new / old - 1.0).abs();
            (larger, difference_in(criterion, by, streams, better))
        })
        .collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut told: Vec<String> = found.into_iter().map(|(_, text)| text).collect();
    match (row.survives_any > 0, other.survives_any > 0, better) {
        (true, false, true) => told.insert(0, "safer: it survives a failed drive,".to_owned()),
        (false, true, false) => told.insert(0, "it does not survive a failed drive".to_owned()),
        _ => {}
    }
    told
}

fn difference_in(criterion: Criterion, by: f64, streams: usize, better: bool) -> String {
    let percent = format!("{:.0} %", (by * 100.0).max(1.0));
    let (more, less) = match criterion {
        Criterion::Price => ("cheaper", "dearer"),
        Criterion::Usable => ("more space", "less space"),
        Criterion::Loss => ("less likely to be lost", "more likely to be lost"),
        Criterion::Rebuild => ("shorter rebuild", "longer rebuild"),
        Criterion::RandomRead => ("more small reads", "fewer small reads"),
        Criterion::RandomWrite => ("more small writes", "fewer small writes"),
        _ => ("faster", "slower"),
    };
    let word = if better { more } else { less };
    // beyond that a percentage is no longer read
    let small = matches!(criterion, Criterion::RandomRead | Criterion::RandomWrite);
    if small && better && by >= 2.0 {
        let noun = word.trim_start_matches("more ");
        return format!("{:.0} times the {noun}", by + 1.0);
    }
    let what = match criterion {
        Criterion::Read => " reading alone".to_owned(),
        Criterion::Write => " writing alone".to_owned(),
        Criterion::ReadTogether => format!(" reading with {streams} streams"),
        Criterion::WriteTogether => format!(" writing with {streams} streams"),
        Criterion::Degraded => " reading with a drive missing".to_owned(),
        _ => String::new(),
    };
    format!("{percent} {word}{what}")
}

/// What a row costs more than the one above it.
fn difference(row: &Row, above: &Row, number: usize) -> String {
    match (&row.price, &above.price) {
        (Some(price), Some(other)) if price.hundredths == other.hundredths => {
            "the same price".to_owned()
        }
        (Some(price), Some(other)) => {
            let more = Money {
                hundredths: price.hundredths - other.hundredths,
                currency: price.currency.clone(),
            };
            format!("{more} more than row {number}")
        }
        _ => match row.layout.all_drives() - above.layout.all_drives() {
            0 => "as many drives".to_owned(),
            1 => format!("1 drive more than row {number}"),
            n => format!("{n} drives more than row {number}"),
        },
    }
}

fn listed(parts: &[String]) -> String {
    match parts {
        [] => "another balance".to_owned(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first: String = letters
        .next()
        .map(|c| c.to_uppercase().collect())
        .unwrap_or_default();
    format!("{first}{}", letters.as_str())
}
