//! Processors as people say them: `4 cores, 2.2 GHz`, `quad core`, `small`.

use super::drives::count_word;
use super::meaning::word;
use narrows_units::catalogue::Catalogue;
use std::fmt::Write;

/// Classes, from slow to fast.
const CLASSES: [&str; 4] = ["tiny", "small", "medium", "large"];

/// A class below this share is not worth a word.
const LEAST_SHARE: f64 = 0.05;

/// A processor in its long form, `small 70 %, medium 30 %, 4 cores`; nothing where a word means nothing.
///
/// Where a clock is given and no class, the class is weighed: how many machines have it (choice `cpu`),
/// times how well clock and cores fit what the class has (rows `cpu.CLASS.clock` and `cpu.CLASS.cores`), as
/// normal curves that are split between the percentiles.
pub fn cpu(catalogue: &Catalogue, said: &str) -> Option<String> {
    let lower = said.to_lowercase().replace("ghz", " ghz ");
    let lower = lower.replace("-core", " core");
    let words: Vec<&str> = lower
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '(' | ')' | '/' | '@'))
        .filter(|w| !w.is_empty())
        .collect();
    let (mut cores, mut clock, mut class) = (None, None, None);
    let mut at = 0;
    while let Some(&here) = words.get(at) {
        let next = words.get(at + 1).copied().unwrap_or_default();
        let many = match here {
            "single" => Some(1),
            "dual" => Some(2),
            "quad" => Some(4),
            "hexa" => Some(6),
            "octa" => Some(8),
            other => count_word(other),
        };
        if let (Some(count), "core" | "cores") = (many, next) {
            cores = Some(count);
            at += 2;
        } else if let (Ok(number), "ghz") = (here.parse::<f64>(), next) {
            clock = Some(number);
            at += 2;
        } else if let Some(found) = word(catalogue, "cpu", here) {
            class = Some(found);
            at += 1;
        } else if matches!(here, "processor" | "cpu" | "with" | "box" | "a" | "at") {
            at += 1;
        } else {
            return None;
        }
    }
    let mut long = class.or_else(|| {
        clock.map(|clock| weighed(catalogue, clock, cores).unwrap_or_else(|| "unknown".to_owned()))
    });
    if let Some(cores) = cores {
        let text = long.get_or_insert_with(|| "unknown".to_owned());
        let _ = write!(text, ", {cores} cores");
    }
    long
}

/// The classes that a processor may be of, by clock and cores.
fn weighed(catalogue: &Catalogue, clock: f64, cores: Option<usize>) -> Option<String> {
    let mut shares = Vec::new();
    for class in CLASSES {
        let prior = catalogue
            .weights()
            .iter()
            .find(|w| w.id == "cpu" && w.word == class)?
            .percent;
        let mut weight = prior * fit(catalogue, &format!("cpu.{class}.clock"), clock)?;
        if let Some(cores) = cores {
            weight *= fit(catalogue, &format!("cpu.{class}.cores"), cores as f64)?;
        }
        shares.push(weight);
    }
    let sum: f64 = shares.iter().sum();
    let kept: Vec<(&str, f64)> = CLASSES
        .into_iter()
        .zip(shares.iter().map(|s| s / sum))
        .filter(|(_, s)| *s >= LEAST_SHARE)
        .collect();
    if let [(only, _)] = kept[..] {
        return Some(only.to_owned());
    }
    // whole percentages that add up to a hundred; what rounding leaves goes to the first
    let sum: f64 = kept.iter().map(|(_, s)| s).sum();
    let mut percents: Vec<i64> = kept
        .iter()
        .map(|(_, s)| libm::round(s / sum * 100.0) as i64)
        .collect();
    let rest = 100 - percents.iter().sum::<i64>();
    *percents.first_mut()? += rest;
    let words: Vec<String> = kept
        .iter()
        .zip(percents)
        .map(|((class, _), percent)| format!("{class} {percent} %"))
        .collect();
    Some(words.join(", "))
}

/// Height of a row's split normal curve at a number.
fn fit(catalogue: &Catalogue, row: &str, at: f64) -> Option<f64> {
    // standard normal score of the 95th percentile
    const NINETY_FIFTH: f64 = 1.645;
    let row = catalogue.number(row).ok()?;
    let half = if at < row.likely {
        row.likely - row.low
    } else {
        row.high - row.likely
    };
    // a row whose bound is its middle still has neighbours: half of one unit
    let sigma = (half / NINETY_FIFTH).max(0.5 / NINETY_FIFTH);
    let score = (at - row.likely) / sigma;
    // never impossible: somebody may have misread a label
    Some(libm::exp(-0.5 * score * score).max(1e-6))
}
