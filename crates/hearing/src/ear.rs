//! What a text means, and how sure that is.

use crate::concepts::Concepts;
use crate::features::{Mix, Sentence};
use crate::measured::{Counted, Measured, measured};
use crate::model::Linear;
use crate::outright::Trouble;
use crate::ways;
use std::ops::Range;

/// Hears texts.
#[derive(Clone, Debug)]
pub struct Ear {
    concepts: Concepts,
    trouble: Trouble,
    meaning: Linear,
    kind: Linear,
    way: Linear,
}

/// What a text was heard as.
#[derive(Clone, Debug, PartialEq)]
pub struct Heard {
    /// What it is taken for.
    pub sense: Sense,
    /// Remarks that it may be, the likeliest first.
    pub choices: Vec<Choice>,
    /// What was measured, where it is taken for that, or beside a remark that has its number.
    pub reading: Option<Reading>,
    /// Parts that were understood.
    pub used: Vec<Range<usize>>,
    /// Parts that nothing was made of.
    pub unused: Vec<Range<usize>>,
}

/// What a text is taken for.
#[derive(Clone, Debug, PartialEq)]
pub enum Sense {
    /// A remark, by its id.
    Remark(String),
    /// Something measured.
    Reading,
    /// One of several; whoever said it has to choose.
    Choices,
    /// Nothing that is known.
    Nothing,
}

/// Something measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// What it is of.
    pub kind: String,
    /// `read`, `write` or `unknown`.
    pub way: String,
    /// The number.
    pub measured: Measured,
}

/// A remark that may be meant.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// Its id.
    pub id: String,
    /// How likely.
    pub probability: f64,
}

/// How much the sums of weights count, so that of what is heard with a probability so many are right; by a writer left out.
const SHARP: f64 = 1.5;

/// Less is not taken for anything: an even chance is the least, and a mistake costs more than a question.
const SURE: f64 = 0.7;

/// A reading is taken from here: its number has to be there too.
const READ: f64 = 0.65;

/// A reading whose kind words say outright, with a number that only such a kind has.
const OUTRIGHT_READ: f64 = 0.2;

/// What words say outright counts more than weights that are less sure.
const OUTRIGHT: f64 = 0.97;

/// Weights alone tell a way from here.
const ONE_WAY: f64 = 0.85;

/// A remark that is less likely is not offered.
const NEAR: f64 = 0.005;

/// How many are offered.
const OFFERED: usize = 3;

/// Above this a text means nothing, and nothing is offered.
const NOTHING: f64 = 0.85;

impl Ear {
    /// With the words and weights that come with the program.
    ///
    /// # Errors
    /// Only where a file of the data directory is broken, which a test rules out.
    pub fn embedded() -> Result<Self, String> {
        Self::read(narrows_data::CONCEPTS.1, narrows_data::WEIGHTS.1)
    }

    /// With words and weights of somebody's own.
    ///
    /// # Errors
    /// With the row that is broken.
    pub fn read(concepts: &str, weights: &str) -> Result<Self, String> {
        let concepts = Concepts::read(concepts)?;
        let mut heads = Linear::heads(weights)?.into_iter();
        let mut next = |name: &str| match heads.next() {
            Some((known, head)) if known == name => Ok(head),
            _ => Err(format!("no weights for '{name}'")),
        };
        Ok(Self {
            concepts,
            trouble: Trouble::read(narrows_data::TROUBLE.1)?,
            meaning: next("meaning")?,
            kind: next("kind")?,
            way: next("way")?,
        })
    }

    /// What a text says.
    pub fn hear(&self, text: &str) -> Heard {
        let sentence = Sentence::new(text, &self.concepts);
        let features = sentence.features(&self.concepts, &Mix::default());
        let all = self.meaning.weigh(&features, SHARP);
        let of = |id: &str| {
            all.iter()
                .find(|(class, _)| *class == id)
                .map_or(0.0, |(_, p)| *p)
        };
        let (reading, nothing) = (of("reading"), of("none"));
        let choices: Vec<Choice> = all
            .iter()
            .filter(|(class, p)| *class != "reading" && *class != "none" && *p >= NEAR)
            .take(OFFERED)
            .map(|(class, p)| Choice {
                id: (*class).to_owned(),
                probability: *p,
            })
            .collect();
        let first = choices.first();
        let sure = first.filter(|first| {
            first.probability >= SURE && (!compares(&first.id) || sentence.compares(&self.concepts))
        });
        let made = || self.reading(&features, text);
        let reading = match sure {
            Some(first) => made().filter(|made| says_both(&first.id, made)),
            None if reading >= READ => made(),
            None if reading >= OUTRIGHT_READ && ways::kind(text).is_some() => {
                made().filter(|made| made.measured.fits(&made.kind))
            }
            None => None,
        };
        let trouble = self.trouble.hear(text);
        // a number beside it is a reading of its own
        let reading = reading.or_else(|| {
            let made = trouble.and_then(|_| made())?;
            (ways::kind(text).is_some()
                || matches!(
                    made.measured.unit,
                    Counted::Rate(_) | Counted::BytesPerSecond
                ))
            .then_some(made)
        });
        let sense = match (sure, &reading) {
            _ if trouble.is_some() => Sense::Remark(trouble.unwrap_or_default().to_owned()),
            (Some(first), _) => Sense::Remark(first.id.clone()),
            (None, Some(_)) => Sense::Reading,
            (None, None) if nothing >= NOTHING || first.is_none() => Sense::Nothing,
            (None, None) => Sense::Choices,
        };
        let (used, unused) = self.parts(&sentence);
        Heard {
            sense,
            choices,
            reading,
            used,
            unused,
        }
    }

    fn reading(&self, features: &[(String, f32)], text: &str) -> Option<Reading> {
        let kinds = self.kind.weigh(features, 1.0);
        let (first, sure) = kinds.first()?;
        let kind = match ways::kind(text) {
            Some(outright) if *sure < OUTRIGHT => outright.to_owned(),
            _ => (*first).to_owned(),
        };
        let way = match kind.as_str() {
            "link-rate" | "ping" | "core-busy" | "errors" => "unknown",
            "playback" => "read",
            _ => match (ways::way(text), self.way.weigh(features, 1.0).first()) {
                (Some(way), _) => way,
                (None, Some((way, sure))) if *sure >= ONE_WAY => way,
                _ => "unknown",
            },
        };
        let way = way.to_owned();
        Some(Reading {
            measured: measured(&kind, text)?,
            kind,
            way,
        })
    }

    /// Which words were understood: those of a concept, and numbers; of the others those that no weight stands on were not.
    fn parts(&self, sentence: &Sentence) -> (Vec<Range<usize>>, Vec<Range<usize>>) {
        let (mut used, mut unused) = (Vec::new(), Vec::new());
        for (i, word) in sentence.words.iter().enumerate() {
            let seen = sentence
                .concepts
                .iter()
                .any(|c| (c.from..c.from + c.length).contains(&i));
            let number = word.text.starts_with(|c: char| c.is_ascii_digit());
            let known = || {
                self.meaning
                    .knows(&Sentence::word_feature(&sentence.mended[i]))
            };
            if seen || number {
                join(&mut used, word.span.clone());
            } else if !known() {
                join(&mut unused, word.span.clone());
            }
        }
        (used, unused)
    }
}

/// Whether a remark says how something compares: a thing that was swapped says nothing by itself.
fn compares(id: &str) -> bool {
    ["-better", "-same", "-worse", "-adds", "-flat"]
        .iter()
        .any(|end| id.ends_with(end))
}

/// Whether a remark and a number are one statement: "core 2 is at 98 % while copying".
fn says_both(id: &str, reading: &Reading) -> bool {
    let kind = reading.kind.as_str();
    match id {
        "core-busy-high" | "core-busy-low" => kind == "core-busy",
        "retransmissions" | "no-retransmissions" => kind == "errors",
        "long-distance" => kind == "ping",
        "varies" => reading.measured.low < reading.measured.high,
        _ => false,
    }
}

/// Adds a part; two that only a space parts are one.
fn join(parts: &mut Vec<Range<usize>>, part: Range<usize>) {
    match parts.last_mut() {
        Some(last) if part.start <= last.end + 1 => last.end = last.end.max(part.end),
        _ => parts.push(part),
    }
}
