//! The one way in which a word that somebody said becomes a word of a list.
//!
//! In this order: as it is; in another spelling (case, spaces, hyphens, dots, plural); what the trade
//! says for it (data/synonyms.csv); and, for a suggestion only, what differs in few letters. A suggestion is
//! never of another number: see [`narrows_units::nearest`].

use narrows_physics::array::{Level, Placement};
use narrows_units::catalogue::Catalogue;
use narrows_units::nearest::nearest;

/// How a word was understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// It is a word of the list.
    Same,
    /// A word of the list in another spelling, or what the trade says for one; of several words with
    /// percentages it is not told which.
    Means(String),
    /// Perhaps this, with other letters: to be offered, not to be taken.
    Perhaps(String),
    /// Nothing in the list.
    Nothing,
}

/// A word without what does not carry meaning: small letters and digits only.
pub fn plain(text: &str) -> String {
    text.chars()
        .filter(|c| c.is_alphanumeric() || *c == '+')
        .flat_map(char::to_lowercase)
        .collect::<String>()
        .trim_end_matches('+')
        .to_owned()
}

/// Whether two words are the same but for spelling.
fn same(said: &str, word: &str) -> bool {
    let (said, word) = (plain(said), plain(word));
    said == word || said.strip_suffix('s').is_some_and(|one| one == word)
}

/// Whether somebody says that he does not know.
pub fn is_unknown(catalogue: &Catalogue, said: &str) -> bool {
    let said = said.trim();
    let bare = plain(said);
    catalogue
        .synonyms("unknown")
        .any(|s| s.said.eq_ignore_ascii_case(said) || (!bare.is_empty() && bare == plain(&s.said)))
}

/// What a word of a list of the catalogue means.
pub fn meaning(catalogue: &Catalogue, list: &str, said: &str) -> Meaning {
    let words: Vec<&str> = catalogue.words(list).map(|w| w.word.as_str()).collect();
    among(catalogue, list, &words, said)
}

/// As [`meaning`]; the word of the list, where it is one in whatever way.
pub fn word(catalogue: &Catalogue, list: &str, said: &str) -> Option<String> {
    match meaning(catalogue, list, said) {
        Meaning::Same => Some(said.trim().to_owned()),
        Meaning::Means(word) => Some(word),
        Meaning::Perhaps(_) | Meaning::Nothing => None,
    }
}

/// What a word means as the level of an array; RAID 10 with its placement.
pub fn level(catalogue: &Catalogue, said: &str) -> Meaning {
    let words: Vec<String> = Level::ALL.iter().map(Level::to_string).collect();
    let mut words: Vec<&str> = words.iter().map(String::as_str).collect();
    let near = Level::Raid10(Placement::Near);
    let long = format!("{near} near");
    if same(said, &long) {
        return Meaning::Means(near.to_string());
    }
    words.dedup();
    among(catalogue, "layout", &words, said)
}

/// A number with a decimal comma, with a point.
pub fn pointed(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let digit = |i: usize| letters.get(i).is_some_and(char::is_ascii_digit);
    letters
        .iter()
        .enumerate()
        .map(|(i, &c)| {
            let inside = c == ',' && i > 0 && digit(i - 1) && digit(i + 1);
            if inside { '.' } else { c }
        })
        .collect()
}

fn digits(text: &str) -> String {
    text.chars().filter(char::is_ascii_digit).collect()
}

/// What a word means among the words of a list and what is said for them.
pub(crate) fn among(catalogue: &Catalogue, list: &str, words: &[&str], said: &str) -> Meaning {
    let said = said.trim();
    if words.contains(&said) {
        return Meaning::Same;
    }
    if plain(said).is_empty() {
        return Meaning::Nothing;
    }
    if let Some(word) = words.iter().find(|word| same(said, word)) {
        return Meaning::Means((*word).to_owned());
    }
    if let Some(synonym) = catalogue.synonyms(list).find(|s| same(said, &s.said)) {
        return Meaning::Means(synonym.means.clone());
    }
    match nearest(&plain(said), words.iter().copied()) {
        // a word with a digit in it is never a slip of one without
        Some(near) if digits(near) == digits(said) => Meaning::Perhaps(near.to_owned()),
        _ => Meaning::Nothing,
    }
}
