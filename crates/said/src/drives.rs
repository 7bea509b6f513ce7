//! Drives as people say them: `eight 14 tb drives in raid 6`, `6x10TB 7200rpm`.

use super::meaning::{Meaning, level, word};
use narrows_units::catalogue::Catalogue;
use narrows_units::quantity::Information;
use narrows_units::spread::{Bounds, Spread};

/// What was heard of a set of drives.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SaidDrives {
    /// How many.
    pub count: Option<usize>,
    /// What one holds, with its unit.
    pub capacity: Option<String>,
    /// The word of its class, or several with percentages.
    pub class: Option<String>,
    /// The level that was named with them.
    pub level: Option<String>,
    /// Drives that wait for one to fail.
    pub spares: Option<usize>,
    /// Words that mean nothing here.
    pub stray: Vec<String>,
}

impl SaidDrives {
    /// The long form, `6 x 10 TB hdd-7200`; nothing where no number and no size was heard.
    pub fn long(&self) -> Option<String> {
        if self.count.is_none() && self.capacity.is_none() && self.class.is_none() {
            return None;
        }
        let mut words = Vec::new();
        if let Some(count) = self.count {
            words.push(format!("{count} x"));
        }
        words.extend(self.capacity.clone());
        words.extend(self.class.clone());
        Some(words.join(" "))
    }
}

const COUNTS: [&str; 13] = [
    "", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve",
];

/// Words that say nothing of which drive it is.
const FILLING: [&str; 29] = [
    "drive",
    "drives",
    "disk",
    "disks",
    "disc",
    "discs",
    "of",
    "each",
    "in",
    "with",
    "and",
    "the",
    "as",
    "a",
    "an",
    "on",
    "configured",
    "array",
    "bay",
    "bays",
    "capacity",
    "around",
    "nas",
    "box",
    "our",
    "has",
    "holds",
    "holding",
    "storage",
];

/// The longest phrase that a class or a level may be said in.
const LONGEST: usize = 4;

/// A number of things in digits or in letters.
pub(super) fn count_word(word: &str) -> Option<usize> {
    match COUNTS.iter().position(|w| !w.is_empty() && *w == word) {
        Some(count) => Some(count),
        None => word.parse().ok().filter(|n| (1..=1024).contains(n)),
    }
}

/// Reads what somebody says of drives.
pub fn drives(catalogue: &Catalogue, said: &str) -> SaidDrives {
    let words = tokens(said);
    let mut heard = SaidDrives::default();
    let mut at = 0;
    while let Some(word_here) = words.get(at) {
        at += step(catalogue, &words, at, word_here, &mut heard);
    }
    heard
}

/// Understands the words from a place on, and says how many were taken.
fn step(
    catalogue: &Catalogue,
    words: &[String],
    at: usize,
    here: &str,
    heard: &mut SaidDrives,
) -> usize {
    let next = |n: usize| words.get(at + n).map(String::as_str);
    // "1 spare", "a hot spare"
    let hot = usize::from(next(1) == Some("hot"));
    if let (Some(count), Some("spare" | "spares")) = (
        count_word(here).or((here == "a").then_some(1)),
        next(1 + hot),
    ) {
        heard.spares = Some(count);
        return 2 + hot;
    }
    if let Some(taken) = size(words, at, heard) {
        return taken;
    }
    for length in (1..=LONGEST).rev() {
        let Some(phrase) = words.get(at..at + length).map(|w| w.join(" ")) else {
            continue;
        };
        if super::is_unknown(catalogue, &phrase) {
            return length;
        }
        if heard.level.is_none()
            && !phrase.chars().all(|c| c.is_ascii_digit())
            && let Some(found) = known_level(catalogue, &phrase)
        {
            heard.level = Some(found);
            return length;
        }
        let is_count = length == 1 && next(1) == Some("x");
        if heard.class.is_none()
            && !is_count
            && !(length == 1 && phrase.len() < 3)
            && let Some(found) = word(catalogue, "drive", &phrase)
        {
            heard.class = Some(found);
            return length;
        }
    }
    if here == "x" || FILLING.contains(&here) {
        return 1;
    }
    if heard.count.is_none()
        && let Some(count) = count_word(here)
    {
        heard.count = Some(count);
        return 1;
    }
    heard.stray.push(here.to_owned());
    1
}

fn known_level(catalogue: &Catalogue, phrase: &str) -> Option<String> {
    match level(catalogue, phrase) {
        Meaning::Same => Some(phrase.to_owned()),
        Meaning::Means(found) => Some(found),
        _ => None,
    }
}

/// A size in one word or two: `14tb`, `8..10 TB`.
fn size(words: &[String], at: usize, heard: &mut SaidDrives) -> Option<usize> {
    if heard.capacity.is_some() {
        return None;
    }
    for length in [2, 1] {
        let Some(phrase) = words.get(at..at + length).map(<[String]>::concat) else {
            continue;
        };
        let unit_apart = words
            .get(at + 1)
            .is_some_and(|w| w.starts_with(char::is_alphabetic));
        if length == 2 && !unit_apart {
            continue;
        }
        let cut = phrase.find(|c: char| c.is_alphabetic())?;
        let (number, unit) = phrase.split_at(cut);
        let unit = match unit {
            "t" | "tb" | "terabyte" | "terabytes" => "TB",
            "g" | "gb" | "gigabyte" | "gigabytes" => "GB",
            "tib" => "TiB",
            "gib" => "GiB",
            _ => continue,
        };
        let text = format!("{number} {unit}");
        if Spread::<Information>::parse(&text, Bounds::POSITIVE).is_ok() {
            heard.capacity = Some(text);
            return Some(length);
        }
    }
    None
}

/// Words in small letters, with counts and sizes apart: `6x10TB` is `6 x 10tb`.
fn tokens(said: &str) -> Vec<String> {
    let mut spaced = String::new();
    let lower = said.to_lowercase().replace(['×', '*'], "x");
    let letters: Vec<char> = lower.chars().collect();
    for (i, &c) in letters.iter().enumerate() {
        let before = i.checked_sub(1).and_then(|b| letters.get(b));
        let after = letters.get(i + 1);
        let digit = |c: Option<&char>| c.is_some_and(char::is_ascii_digit);
        let space = |c: Option<&char>| c.is_none_or(|c| c.is_whitespace());
        match c {
            'x' if digit(before) && (digit(after) || space(after)) => spaced.push_str(" x "),
            'x' if space(before) && digit(after) => spaced.push_str("x "),
            ',' if digit(before) && digit(after) => spaced.push('.'),
            ',' | ';' | '(' | ')' | '+' if !(c == '+' && digit(before) && digit(after)) => {
                spaced.push(' ');
            }
            c => spaced.push(c),
        }
    }
    spaced.split_whitespace().map(str::to_owned).collect()
}
