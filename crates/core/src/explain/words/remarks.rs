//! Remarks: things noticed beside the numbers, found by the patterns of data/remarks.csv.
//!
//! A pattern is a row of words in the order in which people say them. `a/b` is any of several
//! words, `[..]` may be missing, `drop*` is any word that begins so, and `RATE`, `SIZE`, `TIME` and
//! `COUNT` and `STREAMS` stand for amounts, `ANY` for one that is not kept, `GAIN` for a better rate. Small words are
//! left out.

use super::items::{Amount, Item, Unit};
use crate::catalogue::{CatalogueFault, Row, each_row};

/// A row of data/remarks.csv.
#[derive(Clone, Debug)]
pub struct RemarkRow {
    /// Its name.
    pub id: String,
    /// As somebody says it.
    pub example: String,
    /// The ways in which people say it, as they are written in the file.
    pub patterns: Vec<String>,
    /// Which remark it is if its rate is lower than what was read, about the same, or higher.
    pub compared: Option<[String; 3]>,
    /// Whether it holds a better figure for the same hardware.
    pub better: bool,
    /// What it means.
    pub meaning: String,
    /// Where it comes from.
    pub source: String,
    compiled: Vec<Vec<Part>>,
}

/// All rows.
#[derive(Clone, Debug)]
pub struct Remarks {
    rows: Vec<RemarkRow>,
}

/// Words that carry nothing in a remark.
const SMALL: &[&str] = &[
    "a", "an", "the", "is", "are", "was", "were", "be", "been", "it", "its", "it's", "i", "we",
    "you", "he", "she", "they", "my", "our", "your", "this", "that", "these", "there", "there's",
    "then", "so", "but", "and", "or", "at", "on", "in", "of", "to", "with", "for", "by", "from",
    "when", "if", "as", "do", "does", "did", "has", "have", "had", "get", "gets", "got", "getting",
    "give", "gives", "goes", "go", "just", "only", "very", "some", "still", "also", "too", "which",
    "what", "now", "will", "would", "about", "me", "us", "any", "all", "much", "lot", "really",
    "quite", "even", "already", "make", "makes", "made", "became", "becomes",
];

/// What `GAIN` stands for: that it is better, with its rate or without, or the rate alone.
const GAINS: [&str; 2] = ["BETTER [RATE]", "RATE"];

/// Words that patterns name together.
const CLASSES: &[(&str, &str)] = &[
    (
        "BETTER",
        "better/faster/quicker/fine/fast/ok/okay/good/well/normal/full/double/higher/works",
    ),
    (
        "SLOW",
        "slow/slower/poor/poorer/bad/worse/low/lower/terrible/crawls/half",
    ),
    (
        "OTHER",
        "other/another/different/second/2nd/next/colleague's/neighbour's",
    ),
    (
        "COMPUTER",
        "computer/machine/desk/pc/client/laptop/workstation",
    ),
];

/// One part of a pattern.
#[derive(Clone, Debug, PartialEq)]
enum Part {
    /// Any of these; `true` where only the beginning has to fit.
    Word(Vec<(String, bool)>),
    Maybe(Vec<Part>),
    Rate,
    Size,
    Time,
    Count,
    Streams,
    Any,
}

/// What a pattern took out of a text.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Caught {
    pub rate: Option<Amount>,
    pub size: Option<Amount>,
    pub time: Option<Amount>,
}

impl Remarks {
    /// The rows that come with the program.
    ///
    /// # Errors
    /// Only where the embedded file is broken, which a test rules out.
    pub fn embedded() -> Result<Self, CatalogueFault> {
        let (file, text) = narrows_data::REMARKS;
        Self::read(file, text)
    }

    pub(super) fn read(file: &str, text: &str) -> Result<Self, CatalogueFault> {
        let mut rows: Vec<RemarkRow> = Vec::new();
        each_row(file, text, |row| {
            let id = row.text(0)?;
            if rows.iter().any(|known| known.id == id) {
                return Err(row.fault(format!("'{id}' stands here twice")));
            }
            let patterns: Vec<String> = row
                .text(2)?
                .split('|')
                .map(|pattern| pattern.split_whitespace().collect::<Vec<_>>().join(" "))
                .collect();
            let compiled: Result<Vec<_>, _> = patterns
                .iter()
                .flat_map(|pattern| GAINS.map(|gain| pattern.replace("GAIN", gain)))
                .map(|pattern| parts(&pattern).map_err(|problem| row.fault(problem)))
                .collect();
            let compared = [3, 4, 5].map(|at| row.optional(at));
            let told = compared.iter().filter(|id| !id.is_empty()).count();
            if told != 0 && told != compared.len() {
                return Err(row.fault("all three of lower, like and higher, or none".to_owned()));
            }
            rows.push(RemarkRow {
                id,
                example: row.text(1)?,
                patterns,
                compared: (told > 0).then_some(compared),
                better: is_better(row)?,
                meaning: row.text(7)?,
                source: row.text(8)?,
                compiled: compiled?,
            });
            Ok(())
        })?;
        let known = |id: &String| id == NOTHING || rows.iter().any(|row| row.id == *id);
        for row in &rows {
            if let Some(stranger) = row.compared.iter().flatten().find(|id| !known(id)) {
                return Err(CatalogueFault {
                    place: format!("{file}, {}", row.id),
                    problem: format!("'{stranger}' is no remark"),
                });
            }
        }
        Ok(Self { rows })
    }

    /// All rows.
    pub fn rows(&self) -> &[RemarkRow] {
        &self.rows
    }

    /// Every word of every pattern.
    pub(super) fn vocabulary(&self) -> impl Iterator<Item = &str> {
        let parts = self.rows.iter().flat_map(|row| &row.compiled).flatten();
        parts
            .flat_map(|part| {
                let inner: &[Part] = match part {
                    Part::Maybe(inner) => inner,
                    other => std::slice::from_ref(other),
                };
                inner.iter().flat_map(|part| match part {
                    Part::Word(words) => words.as_slice(),
                    _ => &[],
                })
            })
            .map(|(word, _)| word.as_str())
    }

    /// Whether a word stands in a pattern, or is one that says nothing.
    pub(super) fn knows(&self, word: &str) -> bool {
        let all = self.rows.iter().flat_map(|row| &row.compiled).flatten();
        let inside = |part: &Part| matches!(part, Part::Word(options) if is_one_of(options, word));
        SMALL.contains(&word)
            || all.clone().any(|part| match part {
                Part::Maybe(inner) => inner.iter().any(inside),
                other => inside(other),
            })
    }

    /// The remark that says exactly this, with what belongs to it.
    pub(super) fn find(&self, items: &[Item]) -> Option<(&RemarkRow, Caught)> {
        if let Some(found) = self.by_id(items) {
            return Some(found);
        }
        let large = without_small(items);
        if large.is_empty() {
            return None;
        }
        self.rows.iter().find_map(|row| {
            row.compiled.iter().find_map(|parts| {
                let mut caught = Caught::default();
                fits(parts, &[], &large, &mut caught).then_some((row, caught))
            })
        })
    }

    /// A remark by its name, with amounts behind it.
    fn by_id(&self, items: &[Item]) -> Option<(&RemarkRow, Caught)> {
        let (first, rest) = items.split_first()?;
        let row = self.rows.iter().find(|row| first.word() == Some(&row.id))?;
        let mut caught = Caught::default();
        for item in rest {
            let Item::Amount(amount) = item else {
                return None;
            };
            let taken = match amount.unit {
                Unit::Time(_) => caught.time.replace(amount.clone()),
                Unit::Data(written) if !written.a_second && !amount.may_be_rate() => {
                    caught.size.replace(amount.clone())
                }
                Unit::Data(_) => caught.rate.replace(amount.clone()),
                // a bare number behind a name is a count: retransmissions 40
                _ => return None,
            };
            if taken.is_some() {
                return None;
            }
        }
        Some((row, caught))
    }

    /// The remark that has most words in common with a text, if there are enough.
    pub(super) fn nearest(&self, items: &[Item]) -> Option<&RemarkRow> {
        let words: Vec<&str> = without_small(items)
            .iter()
            .filter_map(|i| i.word())
            .collect();
        let mut best: Option<(f64, &RemarkRow)> = None;
        for row in &self.rows {
            for parts in &row.compiled {
                let all = parts.iter().filter_map(|part| match part {
                    Part::Word(words) => Some(words),
                    _ => None,
                });
                let (mut known, mut count) = (0.0, 0.0);
                for options in all {
                    count += 1.0;
                    known += f64::from(words.iter().any(|word| is_one_of(options, word)));
                }
                // a word of the text that the pattern lacks tells against it as well
                let share = known / f64::max(count, words.len() as f64);
                if known >= 2.0 && share >= NEAR && best.is_none_or(|(most, _)| share > most) {
                    best = Some((share, row));
                }
            }
        }
        best.map(|(_, row)| row)
    }
}

/// Names of the remarks that hold a better figure for the same hardware.
pub(crate) fn better() -> Result<Vec<String>, CatalogueFault> {
    let (file, text) = narrows_data::REMARKS;
    let mut found = Vec::new();
    each_row(file, text, |row| {
        if is_better(row)? {
            found.push(row.text(0)?);
        }
        Ok(())
    })?;
    Ok(found)
}

fn is_better(row: &Row<'_>) -> Result<bool, CatalogueFault> {
    match row.optional(6).as_str() {
        "yes" => Ok(true),
        "" => Ok(false),
        other => Err(row.fault(format!("'{other}' is neither yes nor empty"))),
    }
}

/// In place of a remark that a comparison does not make.
pub(crate) const NOTHING: &str = "nothing";

/// Share of words in common from which a pattern is offered.
const NEAR: f64 = 0.4;

fn without_small(items: &[Item]) -> Vec<&Item> {
    let large = |item: &&Item| item.word().is_none_or(|word| !SMALL.contains(&word));
    items.iter().filter(large).collect()
}

fn is_one_of(options: &[(String, bool)], word: &str) -> bool {
    options.iter().any(|(option, start)| {
        if *start {
            word.starts_with(option.as_str())
        } else {
            word == option
        }
    })
}

/// Whether parts, and those behind them, take all of the items.
fn fits(parts: &[Part], behind: &[Part], items: &[&Item], caught: &mut Caught) -> bool {
    let Some((part, rest)) = parts.split_first() else {
        return if behind.is_empty() {
            items.is_empty()
        } else {
            fits(behind, &[], items, caught)
        };
    };
    if let Part::Maybe(inner) = part {
        let after: Vec<Part> = rest.iter().chain(behind).cloned().collect();
        let mut with = caught.clone();
        if fits(inner, &after, items, &mut with) {
            *caught = with;
            return true;
        }
        return fits(rest, behind, items, caught);
    }
    let Some((item, left)) = items.split_first() else {
        return false;
    };
    let taken = match (part, item) {
        (Part::Word(options), Item::Word(token)) => is_one_of(options, &token.lower),
        (Part::Any, Item::Amount(_)) => true,
        (Part::Rate, Item::Amount(amount)) => {
            let told = match amount.unit {
                Unit::Bare => true,
                Unit::Data(written) => written.a_second,
                _ => false,
            };
            // a second rate would leave open which of them is meant
            let rate = told && caught.rate.is_none();
            if rate {
                caught.rate = Some(amount.clone());
            }
            rate
        }
        (Part::Size, Item::Amount(amount)) => {
            let size = matches!(amount.unit, Unit::Data(written) if !written.a_second);
            if size {
                caught.size = Some(amount.clone());
            }
            size
        }
        (Part::Time, Item::Amount(amount)) => {
            let time = matches!(amount.unit, Unit::Time(_));
            if time {
                caught.time = Some(amount.clone());
            }
            time
        }
        (Part::Count, Item::Amount(amount)) => matches!(amount.unit, Unit::Bare | Unit::Percent),
        (Part::Streams, Item::Amount(amount)) => amount.unit == Unit::Streams,
        _ => false,
    };
    taken && fits(rest, behind, left, caught)
}

/// The words that a name in capital letters stands for, or the word itself.
fn class(option: &str) -> &str {
    CLASSES
        .iter()
        .find(|(name, _)| *name == option)
        .map_or(option, |(_, words)| *words)
}

/// The parts of a pattern.
fn parts(pattern: &str) -> Result<Vec<Part>, String> {
    let mut all = Vec::new();
    let mut inner: Option<Vec<Part>> = None;
    for word in pattern.split(' ') {
        let opened = word.strip_prefix('[');
        let word = opened.unwrap_or(word);
        if opened.is_some() && inner.replace(Vec::new()).is_some() {
            return Err(format!("'{pattern}' has a bracket inside a bracket"));
        }
        let closed = word.strip_suffix(']');
        let word = closed.unwrap_or(word);
        let part = match word {
            "RATE" => Some(Part::Rate),
            "SIZE" => Some(Part::Size),
            "TIME" => Some(Part::Time),
            "COUNT" => Some(Part::Count),
            "STREAMS" => Some(Part::Streams),
            "ANY" => Some(Part::Any),
            word if word.split('/').any(|option| SMALL.contains(&option)) => {
                return Err(format!("'{word}' is left out of what people say"));
            }
            "" => return Err(format!("'{pattern}' has an empty part")),
            word => Some(Part::Word(
                word.split('/')
                    .flat_map(|option| class(option).split('/'))
                    .map(|option| match option.strip_suffix('*') {
                        Some(start) => (start.to_owned(), true),
                        None => (option.to_owned(), false),
                    })
                    .collect(),
            )),
        };
        match &mut inner {
            Some(list) => list.extend(part),
            None => all.extend(part),
        }
        if closed.is_some() {
            match inner.take() {
                Some(list) if !list.is_empty() => all.push(Part::Maybe(list)),
                Some(_) => {}
                None => return Err(format!("'{pattern}' closes a bracket that is not open")),
            }
        }
    }
    if inner.is_some() {
        return Err(format!("'{pattern}' leaves a bracket open"));
    }
    let only_amounts = !all.iter().any(|part| matches!(part, Part::Word(_)));
    if only_amounts {
        return Err(format!("'{pattern}' has no word that has to be there"));
    }
    Ok(all)
}
