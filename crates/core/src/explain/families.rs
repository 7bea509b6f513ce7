//! Families of causes as people read them.

use super::found::{CauseFound, NextTest};
use crate::catalogue::{CatalogueFault, each_row};
use std::fmt::Write;

/// The clause of each family.
#[derive(Clone, Debug)]
pub struct Families {
    rows: Vec<(String, String)>,
}

impl Families {
    /// Those of the data directory.
    ///
    /// # Errors
    /// Only where the file is broken, which a test rules out.
    pub fn embedded() -> Result<Self, CatalogueFault> {
        let (file, text) = narrows_data::FAMILIES;
        let mut rows = Vec::new();
        each_row(file, text, |row| {
            row.text(2)?;
            rows.push((row.text(0)?, row.text(1)?));
            Ok(())
        })?;
        Ok(Self { rows })
    }

    /// The clause of a family.
    pub fn words<'a>(&'a self, family: &'a str) -> &'a str {
        let row = self.rows.iter().find(|(known, _)| known == family);
        row.map_or(family, |(_, words)| words)
    }

    /// Several families as one clause.
    pub fn all(&self, families: &[String]) -> String {
        let words: Vec<&str> = families.iter().map(|family| self.words(family)).collect();
        words.join(", or ")
    }

    /// A test with its place, its minutes, and what each outcome means; of the likeliest cause with what to do then.
    pub fn test(&self, test: &NextTest, likeliest: Option<&CauseFound>) -> String {
        let mind = if test.caution.is_empty() {
            String::new()
        } else {
            format!(" Mind: {}.", test.caution)
        };
        let mut out = format!(
            "{} ({:.0} min): {}.{mind}",
            test.place, test.minutes, test.words
        );
        let fault =
            |cause: &&CauseFound| !cause.remedy.is_empty() && !cause.id.starts_with("limit-");
        let mut remedy = likeliest.filter(fault);
        for outcome in &test.outcomes {
            let of = |cause: &&CauseFound| outcome.families.contains(&cause.family);
            let then = match remedy.filter(of) {
                Some(cause) => {
                    remedy = None;
                    format!("; then {}", after(&test.words, &cause.remedy))
                }
                None => String::new(),
            };
            let says = self.all(&outcome.families);
            let _ = write!(out, " {}: {says}{then}.", capital(&outcome.words));
        }
        out
    }
}

/// A remedy without what the test itself was: a first part that begins with the same two words.
fn after<'r>(test: &str, remedy: &'r str) -> &'r str {
    let begin =
        |text: &str| -> Vec<String> { text.split(' ').take(2).map(str::to_owned).collect() };
    match remedy.split_once("; ") {
        Some((first, rest)) if begin(first) == begin(test) => rest,
        _ => remedy,
    }
}

/// A text as it begins a sentence.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::causes;

    #[test]
    fn every_family_has_its_clause_and_every_clause_a_family() {
        let families = Families::embedded().unwrap();
        let causes = causes().unwrap();
        for cause in &causes {
            assert_ne!(families.words(&cause.family), cause.family, "{}", cause.id);
        }
        for (family, words) in &families.rows {
            let known = causes.iter().any(|cause| cause.family == *family);
            assert!(known, "{family}");
            assert!(
                !words.ends_with('.') && words.split(' ').count() <= 16,
                "{words}"
            );
        }
    }
}
