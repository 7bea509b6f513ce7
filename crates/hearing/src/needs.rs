//! What a sentence has to speak of before weights may take it for a remark.

use crate::concepts::Concepts;
use crate::features::Sentence;
use std::collections::HashMap;

/// Rows of data/speech/needs.csv: of each remark the groups of concepts of which one each has to be there.
#[derive(Clone, Debug, Default)]
pub(crate) struct Needs {
    rows: HashMap<String, Vec<Vec<Need>>>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Need {
    Concept(usize),
    Number,
}

/// Stands for any number.
const NUMBER: &str = "number";

impl Needs {
    /// Reads rows: a remark, its groups, and where that comes from.
    ///
    /// # Errors
    /// With the row that is broken.
    pub(crate) fn read(text: &str, concepts: &Concepts) -> Result<Self, String> {
        let mut rows = HashMap::new();
        for row in text.lines().filter(|line| !line.starts_with('#')).skip(1) {
            let [remark, needs, source] = row.split(',').collect::<Vec<_>>()[..] else {
                return Err(format!("'{row}' has not three columns"));
            };
            let need = |name: &str| match (name.trim(), concepts.number(name.trim())) {
                (NUMBER, _) => Ok(Need::Number),
                (_, Some(concept)) => Ok(Need::Concept(concept)),
                (name, None) => Err(format!("'{row}' speaks of '{name}', which is no concept")),
            };
            let groups = needs
                .split('&')
                .map(|group| group.split('|').map(need).collect())
                .collect::<Result<Vec<Vec<Need>>, String>>()?;
            if source.is_empty() || rows.insert(remark.to_owned(), groups).is_some() {
                return Err(format!(
                    "'{row}' lacks a source, or its remark stands here twice"
                ));
            }
        }
        Ok(Self { rows })
    }

    /// Whether a sentence has what a remark needs; one without a row needs nothing, and a long one says how it does in some way.
    pub(crate) fn met(&self, remark: &str, sentence: &Sentence) -> bool {
        let groups = self.rows.get(remark);
        let long = sentence.words.len() > DESCRIBED;
        long || groups.is_none_or(|groups| all(groups, sentence))
    }

    /// Whether a row says what a remark needs, and a sentence has it, however long it is.
    pub(crate) fn told(&self, remark: &str, sentence: &Sentence) -> bool {
        let groups = self.rows.get(remark);
        groups.is_some_and(|groups| all(groups, sentence))
    }
}

/// Whether a sentence has one of each group.
fn all(groups: &[Vec<Need>], sentence: &Sentence) -> bool {
    let number = |text: &str| text.starts_with(|c: char| c.is_ascii_digit());
    let has = |need: &Need| match need {
        Need::Number => sentence.words.iter().any(|word| number(&word.text)),
        Need::Concept(concept) => sentence.concepts.iter().any(|s| s.concept == *concept),
    };
    groups.iter().all(|group| group.iter().any(has))
}

/// More words are no mere description of a part.
const DESCRIBED: usize = 7;

#[cfg(test)]
mod tests {
    use super::*;

    fn concepts() -> Concepts {
        Concepts::read(narrows_data::CONCEPTS.1).unwrap()
    }

    #[test]
    fn a_part_that_is_only_described_is_no_comparison() {
        let concepts = concepts();
        let needs = Needs::read(narrows_data::NEEDS.1, &concepts).unwrap();
        let met = |remark: &str, text: &str| needs.met(remark, &Sentence::new(text, &concepts));
        for (remark, text, there) in [
            ("other-tool-better", "another program is faster", true),
            ("other-tool-better", "another program gets 300", true),
            ("other-tool-better", "a drive without a cache", false),
            ("core-busy-low", "the cores are idle", true),
            ("core-busy-low", "an eight-core server", false),
            ("rebuild-running", "no row asks anything of this one", true),
        ] {
            assert_eq!(met(remark, text), there, "{remark}: {text}");
        }
    }

    #[test]
    fn a_broken_row_is_told() {
        let concepts = concepts();
        for row in [
            "varies,vary",
            "varies,horn,why",
            "varies,vary,",
            "varies,vary,a\nvaries,vary,b",
        ] {
            assert!(
                Needs::read(&format!("head\n{row}"), &concepts).is_err(),
                "{row}"
            );
        }
    }
}
