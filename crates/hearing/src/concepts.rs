//! Concepts: what words are about, by the rows of data/speech/concepts.csv.

use crate::words::words;
use std::collections::{BTreeSet, HashMap};

/// One way to name a concept.
#[derive(Clone, Debug)]
struct Form {
    words: Vec<String>,
    /// Whether the last word may go on.
    open: bool,
    concept: usize,
}

/// All of them.
#[derive(Clone, Debug)]
pub struct Concepts {
    names: Vec<String>,
    /// By the first word; of one open word by its first letter.
    by_word: HashMap<String, Vec<Form>>,
    open: HashMap<char, Vec<Form>>,
    /// Words that a slip is mended to, by their first letter.
    known: HashMap<char, BTreeSet<String>>,
}

/// A concept in a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seen {
    /// Place among the names.
    pub concept: usize,
    /// First word.
    pub from: usize,
    /// How many words.
    pub length: usize,
}

impl Concepts {
    /// Reads rows: a name, and its forms parted by strokes.
    ///
    /// # Errors
    /// With the row that is broken.
    pub fn read(text: &str) -> Result<Self, String> {
        let mut found = Self {
            names: Vec::new(),
            by_word: HashMap::new(),
            open: HashMap::new(),
            known: HashMap::new(),
        };
        let rows = text.lines().filter(|line| !line.starts_with('#')).skip(1);
        for row in rows {
            let Some((name, forms)) = row.split_once(',') else {
                return Err(format!("'{row}' has no forms"));
            };
            if found.names.iter().any(|known| known == name) {
                return Err(format!("'{name}' stands here twice"));
            }
            let concept = found.names.len();
            found.names.push(name.to_owned());
            for form in forms.split('|') {
                found.form(form, concept)?;
            }
        }
        Ok(found)
    }

    fn form(&mut self, form: &str, concept: usize) -> Result<(), String> {
        let open = form.ends_with('*');
        let all: Vec<String> = words(form.trim_end_matches('*'))
            .into_iter()
            .map(|word| word.text)
            .collect();
        let Some(first) = all.first().cloned() else {
            return Err(format!("'{form}' has no words"));
        };
        for word in &all {
            self.knows(word);
        }
        let lone = all.len() == 1;
        let form = Form {
            words: all,
            open,
            concept,
        };
        match first.chars().next() {
            Some(letter) if open && lone => self.open.entry(letter).or_default().push(form),
            _ => self.by_word.entry(first).or_default().push(form),
        }
        Ok(())
    }

    /// Takes a word for one that is no slip.
    pub(crate) fn knows(&mut self, word: &str) {
        if let Some(letter) = word.chars().next() {
            self.known
                .entry(letter)
                .or_default()
                .insert(word.to_owned());
        }
    }

    /// The name of a concept.
    pub fn name(&self, concept: usize) -> &str {
        self.names.get(concept).map_or("", String::as_str)
    }

    /// The place of a name.
    pub(crate) fn number(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|known| known == name)
    }

    /// The word that two letters were changed about in, which makes no other word of it.
    pub(crate) fn swapped(&self, word: &str) -> Option<String> {
        let all = self.known.get(&word.chars().next()?)?;
        if all.contains(word) || word.chars().count() < SHORTEST {
            return None;
        }
        let letters = |word: &str| {
            let mut all: Vec<char> = word.chars().collect();
            all.sort_unstable();
            all
        };
        let own = letters(word);
        let near = |known: &&String| {
            known.len() == word.len()
                && strsim::osa_distance(known, word) == 1
                && letters(known) == own
        };
        all.iter().find(near).cloned()
    }

    /// The word that a slip was meant for: the nearest with one slip, or two in a long word.
    pub(crate) fn mend(&self, word: &str) -> Option<&str> {
        let count = word.chars().count();
        let letter = word.chars().next()?;
        if count < SHORTEST || !word.chars().all(char::is_alphabetic) {
            return None;
        }
        let all = self.known.get(&letter)?;
        let open = self.open.get(&letter);
        let goes_on = |form: &Form| {
            form.words
                .first()
                .is_some_and(|w| word.starts_with(w.as_str()))
        };
        if all.contains(word) || open.is_some_and(|forms| forms.iter().any(goes_on)) {
            return None;
        }
        let most = if count >= LONG { 2 } else { 1 };
        let near =
            |known: &&String| known.chars().count().abs_diff(count) <= most && known.len() > 3;
        all.iter()
            .filter(near)
            .map(|known| (strsim::damerau_levenshtein(word, known), known.as_str()))
            .filter(|(distance, _)| *distance <= most)
            .min_by_key(|(distance, _)| *distance)
            .map(|(_, known)| known)
    }

    /// The concepts of words, in their order.
    pub(crate) fn seen(&self, all: &[String]) -> Vec<Seen> {
        let mut found: Vec<Seen> = Vec::new();
        for (from, word) in all.iter().enumerate() {
            let closed = self.by_word.get(word).into_iter().flatten();
            let letter = word.chars().next().unwrap_or(' ');
            let open = self.open.get(&letter).into_iter().flatten();
            for form in closed.chain(open) {
                let length = form.words.len();
                let here = all.get(from..from + length).is_some_and(|here| {
                    let last = length - 1;
                    here.iter().zip(&form.words).enumerate().all(|(i, (a, b))| {
                        a == b || (form.open && i == last && a.starts_with(b.as_str()))
                    })
                });
                if !here {
                    continue;
                }
                let seen = Seen {
                    concept: form.concept,
                    from,
                    length,
                };
                // of one concept the longest
                let same = |s: &Seen| s.concept == seen.concept && s.from + s.length > from;
                match found.iter_mut().rev().find(|s| same(s)) {
                    Some(known) if known.length < length => *known = seen,
                    Some(_) => {}
                    None => found.push(seen),
                }
            }
        }
        found
    }
}

/// A shorter word is not mended.
const SHORTEST: usize = 4;

/// From here on two slips are mended.
const LONG: usize = 8;
