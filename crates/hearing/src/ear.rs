//! What a text means, and how sure that is.

use crate::concepts::Concepts;
use crate::features::{Mix, Sentence};
use crate::measured::{Measured, measured};
use crate::model::Linear;
use crate::needs::Needs;
use crate::outright::{Danger, Sure, Trouble};
use crate::parts::{is_own_number, parts, two, without_doubles};
use crate::ways;
use std::ops::Range;

/// Hears texts.
#[derive(Clone, Debug)]
pub struct Ear {
    concepts: Concepts,
    trouble: Trouble,
    needs: Needs,
    meaning: Linear,
    kind: Linear,
    way: Linear,
}

/// What a text was heard as.
#[derive(Clone, Debug, PartialEq)]
pub struct Heard {
    /// What it is taken for.
    pub sense: Sense,
    /// Remarks that it is beside that: a sentence may say several things.
    pub more: Vec<String>,
    /// Whether a drive may be in trouble, sure or not.
    pub danger: bool,
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
            needs: Needs::read(narrows_data::NEEDS.1, &concepts)?,
            concepts,
            trouble: Trouble::read(narrows_data::DANGER.1, narrows_data::TROUBLE.1)?,
            meaning: next("meaning")?,
            kind: next("kind")?,
            way: next("way")?,
        })
    }

    /// Whether a text speaks of drives in trouble.
    pub fn danger(&self, text: &str) -> Option<Danger> {
        self.trouble.hear(text).filter(|d| d.sure.costs_pictures())
    }

    /// Whether words say outright what a text is, whatever weights say.
    pub fn is_outright(&self, text: &str) -> bool {
        self.trouble.hear(text).is_some()
    }

    /// What a text says.
    pub fn hear(&self, text: &str) -> Heard {
        let (sentence, weighed) = self.weighed(text);
        let outright = self.trouble.hear(text);
        let danger = outright.as_ref().filter(|d| d.sure.costs_pictures());
        let mut remarks: Vec<String> = Vec::new();
        let sure_danger = danger.filter(|danger| danger.sure == Sure::Yes);
        remarks.extend(sure_danger.map(|danger| danger.remark.clone()));
        // weights know drives by their rates: beside trouble they have to be surer
        let least = if sure_danger.is_some() { PART } else { SURE };
        let sure = self
            .sure(&sentence, &weighed)
            .filter(|first| first.probability >= least);
        let mut reading = self.number(text, sure, &weighed);
        // a number beside trouble is a reading of its own
        if sure_danger.is_some() && reading.is_none() {
            reading = self
                .reading(&weighed.features, text)
                .filter(|made| made.measured.is_rate());
        }
        if reading.is_none() || sure.is_some() {
            remarks.extend(sure.map(|first| first.id.clone()));
        }
        // a number of another thing is no reading of this one
        let parts = parts(text);
        if remarks.is_empty()
            && let Some(figure) = outright.as_ref().filter(|d| d.sure == Sure::Figure)
            && !parts.iter().any(|part| is_own_number(part))
        {
            remarks.push(figure.remark.clone());
            reading = None;
        }
        if remarks.is_empty() {
            remarks.extend(reading.as_ref().and_then(as_remark).map(str::to_owned));
        }
        if parts.len() > 1 {
            self.several(&parts, &mut remarks, &mut reading);
        }
        if remarks.is_empty() && reading.is_none() {
            let plain = outright.as_ref().filter(|d| d.sure == Sure::Plain);
            remarks.extend(plain.map(|plain| plain.remark.clone()));
        }
        remarks = without_doubles(remarks);
        let feared = danger.filter(|danger| danger.sure == Sure::No);
        let choices = choices(&weighed.choices, feared);
        let mut remarks = remarks.into_iter();
        let sense = match (remarks.next(), &reading) {
            (Some(first), _) => Sense::Remark(first),
            (None, Some(_)) => Sense::Reading,
            (None, None) if feared.is_some() => Sense::Choices,
            (None, None) if weighed.nothing >= NOTHING || choices.is_empty() => Sense::Nothing,
            (None, None) => Sense::Choices,
        };
        let (used, unused) = self.parts(&sentence);
        Heard {
            sense,
            more: remarks.collect(),
            danger: danger.is_some(),
            choices,
            reading,
            used,
            unused,
        }
    }

    /// What weights say of a text.
    fn weighed(&self, text: &str) -> (Sentence, Weighed) {
        let sentence = Sentence::new(text, &self.concepts);
        let features = sentence.features(&self.concepts, &Mix::default());
        let all = self.meaning.weigh(&features, SHARP);
        let of = |id: &str| {
            all.iter()
                .find(|(class, _)| *class == id)
                .map_or(0.0, |(_, p)| *p)
        };
        let weighed = Weighed {
            reading: of("reading"),
            nothing: of("none"),
            choices: all
                .iter()
                .filter(|(class, p)| *class != "reading" && *class != "none" && *p >= NEAR)
                .take(OFFERED)
                .map(|(class, p)| Choice {
                    id: (*class).to_owned(),
                    probability: *p,
                })
                .collect(),
            features,
        };
        (sentence, weighed)
    }

    /// The remark that a text is taken for.
    fn sure<'w>(&self, sentence: &Sentence, weighed: &'w Weighed) -> Option<&'w Choice> {
        weighed.choices.first().filter(|first| {
            first.probability >= SURE
                && (!compares(&first.id) || sentence.compares(&self.concepts))
                && self.needs.met(&first.id, sentence)
        })
    }

    /// What was measured, where a text is taken for that.
    fn number(&self, text: &str, sure: Option<&Choice>, weighed: &Weighed) -> Option<Reading> {
        let made = || self.reading(&weighed.features, text);
        match sure {
            Some(first) => made().filter(|made| says_both(&first.id, made)),
            None if weighed.reading >= READ => made(),
            None if weighed.reading >= OUTRIGHT_READ && ways::kind(text).is_some() => {
                made().filter(|made| made.measured.fits(&made.kind))
            }
            None => None,
        }
    }

    /// What the parts of a sentence say, each by itself, where that is more than one thing.
    fn several(&self, parts: &[&str], remarks: &mut Vec<String>, reading: &mut Option<Reading>) {
        let mut found: Vec<String> = Vec::new();
        let mut number = None;
        let mut lone: Vec<Reading> = Vec::new();
        // what the whole is taken for says most; its parts have to be surer then
        let free = remarks.is_empty();
        for part in parts {
            let (sentence, weighed) = self.weighed(part);
            let sure = self.sure(&sentence, &weighed);
            let plain = sure.is_none() && only_a_number(&sentence);
            let rate = plain.then(|| self.reading(&weighed.features, part));
            let rate = rate.flatten().filter(|made| made.measured.is_rate());
            lone.extend(rate.clone());
            match sure {
                Some(first) if self.part_is(first, &sentence, free) => found.push(first.id.clone()),
                None if number.is_none() => {
                    let made = self.number(part, None, &weighed);
                    number = made.map_or(rate, |made| made.measured.is_rate().then_some(made));
                }
                _ => {}
            }
        }
        // the one number of a sentence that stands by itself is not what a remark beside it uses
        let uses = |id: &String| compares(id) || (EARLIER.contains(&id.as_str()) && two(parts));
        if !free && reading.is_none() && lone.len() == 1 && !remarks.iter().any(uses) {
            *reading = lone.pop();
        }
        let found = without_doubles(found);
        // a number and a remark are two things; one remark is what the whole says, or does not
        let numbered = free && (reading.is_some() || number.is_some());
        let least = 2 - usize::from(numbered);
        // what the whole says has to be among them
        let whole = remarks.iter().all(|id| found.contains(id));
        if found.len() < least || !whole {
            return;
        }
        remarks.extend(found);
        if reading.is_none() {
            *reading = number;
        }
    }

    /// Whether a part of a sentence is a remark: it has fewer words to be sure by, so it has to have what the remark needs.
    fn part_is(&self, first: &Choice, sentence: &Sentence, free: bool) -> bool {
        let least = if free && self.needs.told(&first.id, sentence) {
            TOLD_PART
        } else {
            PART
        };
        first.probability >= least && sentence.words.len() >= REMARKED
    }

    fn reading(&self, features: &[(String, f32)], text: &str) -> Option<Reading> {
        let kinds = self.kind.weigh(features, 1.0);
        let (first, sure) = kinds.first()?;
        let kind = match ways::kind(text) {
            Some(outright) if *sure < OUTRIGHT => outright.to_owned(),
            Some(_) => (*first).to_owned(),
            None => match ways::by_amounts(first, text) {
                "" => (*first).to_owned(),
                other => other.to_owned(),
            },
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

/// What weights say of a text.
struct Weighed {
    features: Vec<(String, f32)>,
    reading: f64,
    nothing: f64,
    choices: Vec<Choice>,
}

/// A part with fewer words is no remark.
const REMARKED: usize = 4;

/// A part of a sentence is taken for a remark from here on: it has fewer words to be sure by.
const PART: f64 = 0.98;

/// As [`PART`], where a row says what the remark needs, and the part has it.
const TOLD_PART: f64 = 0.8;

/// Whether a part is a number and hardly more: "40 MB/s", "I get 40 MB/s".
fn only_a_number(sentence: &Sentence) -> bool {
    sentence.words.len() <= NUMBERED
}

/// Remarks that hold a number of now against one of then.
const EARLIER: [&str; 2] = ["better-before", "after-update"];

/// Words of a part that is a number, at most.
const NUMBERED: usize = 6;

/// What may be meant; what may be trouble stands first, with an even chance.
fn choices(all: &[Choice], feared: Option<&Danger>) -> Vec<Choice> {
    let Some(feared) = feared else {
        return all.to_vec();
    };
    let first = Choice {
        id: feared.remark.clone(),
        probability: EVEN,
    };
    let rest = all.iter().filter(|choice| choice.id != feared.remark);
    let mut found = vec![first];
    found.extend(rest.take(OFFERED - 1).map(|choice| Choice {
        id: choice.id.clone(),
        probability: choice.probability * (1.0 - EVEN),
    }));
    found
}

/// The chance of what may be trouble.
const EVEN: f64 = 0.5;

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

/// The remark that a counted number is: a core at its end, or without work, and no error at all.
fn as_remark(reading: &Reading) -> Option<&'static str> {
    let (low, high) = (reading.measured.low?, reading.measured.high?);
    match reading.kind.as_str() {
        "core-busy" if low >= FULL => Some("core-busy-high"),
        "core-busy" if high <= IDLE => Some("core-busy-low"),
        "errors" if high <= 0.0 => Some("no-retransmissions"),
        _ => None,
    }
}

/// Hundredths from which on a core has all that it can do.
const FULL: f64 = 90.0;

/// Hundredths at which the busiest core has little to do.
const IDLE: f64 = 30.0;

/// Adds a part; two that only a space parts are one.
fn join(parts: &mut Vec<Range<usize>>, part: Range<usize>) {
    match parts.last_mut() {
        Some(last) if part.start <= last.end + 1 => last.end = last.end.max(part.end),
        _ => parts.push(part),
    }
}
