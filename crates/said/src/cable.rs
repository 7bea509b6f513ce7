//! A run as people say it: `cat 6a, 31 m, loose`.

use super::meaning::{pointed, word};
use narrows_units::catalogue::Catalogue;
use narrows_units::quantity::Length;
use narrows_units::spread::{Bounds, Spread};

/// What was heard of a run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SaidCable {
    /// Word of the cable.
    pub cable: Option<String>,
    /// Length with its unit.
    pub length: Option<String>,
    /// How it lies among its neighbours.
    pub bundle: Option<String>,
    /// Which fibre.
    pub grade: Option<String>,
    /// Words that mean nothing here.
    pub stray: Vec<String>,
}

/// The longest phrase that a kind of cable is said in.
const LONGEST: usize = 3;

/// Words that say nothing of which run it is.
const FILLING: [&str; 8] = [
    "about", "long", "cable", "run", "of", "maybe", "roughly", "circa",
];

/// Reads what somebody says of a run.
pub fn cable(catalogue: &Catalogue, said: &str) -> SaidCable {
    let parts: Vec<String> = said
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';'))
        .filter(|w| !w.is_empty())
        .map(str::to_owned)
        .collect();
    let mut heard = SaidCable::default();
    let mut at = 0;
    while let Some(here) = parts.get(at) {
        let mut taken = 0;
        for length in (1..=LONGEST).rev() {
            let Some(phrase) = parts.get(at..at + length).map(|w| w.join(" ")) else {
                continue;
            };
            if super::is_unknown(catalogue, &phrase) {
                // said, and nothing learnt
            } else if length < 3
                && heard.length.is_none()
                && let Some(long) = length_of(&phrase)
            {
                heard.length = Some(long);
            } else if heard.cable.is_none()
                && let Some(found) = word(catalogue, "cable", &phrase)
            {
                heard.cable = Some(found);
            } else if heard.bundle.is_none()
                && let Some(found) = word(catalogue, "bundle", &phrase)
            {
                heard.bundle = Some(found);
            } else if heard.grade.is_none()
                && let Some(found) = word(catalogue, "grade", &phrase)
            {
                heard.grade = Some(found);
                heard.cable.get_or_insert_with(|| "fibre".to_owned());
            } else {
                continue;
            }
            taken = length;
            break;
        }
        if taken == 0 {
            let lower = here.to_lowercase();
            if !FILLING.contains(&lower.as_str()) {
                heard.stray.push(here.clone());
            }
            taken = 1;
        }
        at += taken;
    }
    heard
}

/// A length with its unit, and a blank between; a decimal comma is taken.
fn length_of(phrase: &str) -> Option<String> {
    let pointed = pointed(phrase);
    let tidy = pointed.trim_end_matches('.');
    if tidy.parse::<f64>().is_ok() || Spread::<Length>::parse(tidy, Bounds::POSITIVE).is_err() {
        return None;
    }
    let cut = tidy.rfind(|c: char| c.is_ascii_digit())? + 1;
    let (number, unit) = tidy.split_at(cut);
    Some(format!("{number} {}", unit.trim()))
}
