//! What of a sentence a weight may stand on.

use crate::concepts::{Concepts, Seen};
use crate::words::{Word, stem, words};

/// A sentence, ready to be weighed.
#[derive(Clone, Debug)]
pub struct Sentence {
    /// Its words with their places.
    pub words: Vec<Word>,
    /// The same with slips mended.
    pub mended: Vec<String>,
    /// Its concepts.
    pub concepts: Vec<Seen>,
}

impl Sentence {
    /// Takes a text apart.
    pub fn new(text: &str, concepts: &Concepts) -> Self {
        let words = words(text);
        let mixed = text.contains(char::is_lowercase);
        let mended: Vec<String> = words
            .iter()
            .map(|word| {
                // letters that stand for something are no slip
                let capital = |c: char| c.is_uppercase() || c.is_ascii_digit();
                let short = text
                    .get(word.span.clone())
                    .is_some_and(|w| w.chars().all(capital));
                let mended = concepts.mend(&word.text).filter(|_| !(short && mixed));
                mended.unwrap_or(&word.text).to_owned()
            })
            .collect();
        let seen = concepts.seen(&mended);
        Self {
            words,
            mended,
            concepts: seen,
        }
    }

    /// Whether it may say how something compares: it has a word or a number for that, or is long enough to tell a story.
    pub(crate) fn compares(&self, concepts: &Concepts) -> bool {
        let number = |w: &Word| w.text.starts_with(|c: char| c.is_ascii_digit());
        self.words.len() > STORY
            || self.words.iter().any(number)
            || self
                .concepts
                .iter()
                .any(|seen| HOW.contains(&concepts.name(seen.concept)))
    }

    /// The feature of a word.
    pub(crate) fn word_feature(mended: &str) -> String {
        format!("w:{}", plain(mended))
    }

    /// Its features with their strength; each once, the whole of length one.
    pub fn features(&self, concepts: &Concepts, mix: &Mix) -> Vec<(String, f32)> {
        let mut all: Vec<(String, f32)> = Vec::new();
        let stems: Vec<String> = self.mended.iter().map(|w| plain(w)).collect();
        for (i, word) in stems.iter().enumerate() {
            all.push((format!("w:{word}"), mix.word));
            if let Some(next) = stems.get(i + 1) {
                all.push((format!("b:{word} {next}"), mix.pair));
            }
            if word.chars().count() >= 5 && mix.piece > 0.0 {
                let letters: Vec<char> = word.chars().collect();
                for piece in letters.windows(4) {
                    let piece: String = piece.iter().collect();
                    all.push((format!("g:{piece}"), mix.piece));
                }
            }
        }
        let name = |seen: &Seen| concepts.name(seen.concept);
        for (i, seen) in self.concepts.iter().enumerate() {
            all.push((format!("c:{}", name(seen)), mix.concept));
            let negated = self
                .concepts
                .iter()
                .any(|n| name(n) == "negation" && n.from < seen.from && seen.from - n.from <= 4);
            if negated {
                all.push((format!("n:{}", name(seen)), mix.negated));
            }
            for other in self.concepts.iter().skip(i + 1) {
                if other.from >= seen.from + seen.length
                    && other.from <= seen.from + seen.length + 3
                {
                    all.push((format!("d:{} {}", name(seen), name(other)), mix.near));
                }
                let (a, b) = (name(seen), name(other));
                if a != b && mix.both > 0.0 {
                    let (a, b) = if a < b { (a, b) } else { (b, a) };
                    all.push((format!("p:{a} {b}"), mix.both));
                }
            }
        }
        self.comparisons(concepts, mix, &mut all);
        self.sides(concepts, mix, &mut all);
        amounts(&self.words, mix.amount, &mut all);
        all.sort_by(|a, b| a.0.cmp(&b.0));
        all.dedup_by(|a, b| a.0 == b.0);
        let length = all.iter().map(|(_, s)| s * s).sum::<f32>().sqrt();
        if length > 0.0 {
            for (_, strength) in &mut all {
                *strength /= length;
            }
        }
        all
    }
}

impl Sentence {
    /// What stands on either side of a comparison: "a single disk beats the whole raid".
    fn comparisons(&self, concepts: &Concepts, mix: &Mix, all: &mut Vec<(String, f32)>) {
        if mix.compared <= 0.0 {
            return;
        }
        let name = |seen: &Seen| concepts.name(seen.concept);
        for how in self.concepts.iter().filter(|s| HOW.contains(&name(s))) {
            let negated = self
                .mended
                .get(how.from.saturating_sub(4)..how.from)
                .is_some_and(|before| {
                    before.iter().any(|w| {
                        ["not", "no", "never", "hardly", "nowhere", "without"].contains(&w.as_str())
                    })
                });
            let sign = if negated { "not " } else { "" };
            let before = self.concepts.iter().filter(|s| {
                THINGS.contains(&name(s)) && s.from + s.length <= how.from && how.from - s.from <= 7
            });
            let after = self.concepts.iter().filter(|s| {
                THINGS.contains(&name(s))
                    && s.from >= how.from + how.length
                    && s.from - how.from <= 7
            });
            let how = name(how);
            for a in before.clone() {
                all.push((format!("l:{} {sign}{how}", name(a)), mix.compared));
                for b in after.clone() {
                    all.push((
                        format!("t:{} {sign}{how} {}", name(a), name(b)),
                        mix.compared,
                    ));
                }
            }
            for b in after {
                all.push((format!("r:{sign}{how} {}", name(b)), mix.compared));
            }
        }
    }

    /// Which of two numbers stands beside what: "single disk 210, whole raid 230".
    fn sides(&self, concepts: &Concepts, mix: &Mix, all: &mut Vec<(String, f32)>) {
        if mix.compared <= 0.0 {
            return;
        }
        let name = |seen: &Seen| concepts.name(seen.concept);
        let mut numbers: Vec<(usize, f64)> = Vec::new();
        for (i, word) in self.words.iter().enumerate() {
            let digits = word
                .text
                .bytes()
                .take_while(|b| b.is_ascii_digit() || *b == b'.' || *b == b',')
                .count();
            let (number, tail) = word.text.split_at(digits);
            let Ok(value) = number.replace(',', "").parse::<f64>() else {
                continue;
            };
            let unit = if tail.is_empty() {
                self.words.get(i + 1).map_or("", |w| w.text.as_str())
            } else {
                tail
            };
            let (factor, rate) = match unit {
                "gb" | "gbit" | "gbps" | "gigabit" => (1000.0, true),
                "mb" | "mbit" | "mbps" | "megs" | "meg" | "megabytes" | "mib" => (1.0, true),
                "m" | "metre" | "metres" | "km" | "ms" | "s" | "sec" | "seconds" | "min"
                | "minutes" | "minute" | "hours" | "tb" | "kb" | "kib" | "g" | "k" | "%"
                | "disks" | "streams" | "copies" | "gigs" | "gig" => (1.0, false),
                _ => (
                    1.0,
                    value > 20.0 && ![1500.0, 9000.0, 1400.0, 9014.0].contains(&value),
                ),
            };
            if rate {
                numbers.push((i, value * factor));
            }
        }
        let (Some(first), Some(last)) = (numbers.first(), numbers.get(1)) else {
            return;
        };
        let ratio = last.1 / first.1.max(1e-9);
        let words = if ratio > 1.15 {
            ["lo", "hi"]
        } else if ratio < 0.87 {
            ["hi", "lo"]
        } else {
            ["eq", "eq"]
        };
        all.push((
            format!("a:sides {}", if words[0] == "eq" { "eq" } else { "ne" }),
            mix.compared,
        ));
        for seen in &self.concepts {
            if !THINGS.contains(&name(seen)) {
                continue;
            }
            let [to_first, to_last] = [first.0, last.0].map(|at| at.abs_diff(seen.from));
            let side = if to_first <= to_last {
                words[0]
            } else {
                words[1]
            };
            all.push((format!("s:{side} {}", name(seen)), mix.compared));
        }
    }
}

/// A longer sentence tells a story.
const STORY: usize = 4;

/// Concepts that say how things compare.
const HOW: &[&str] = &["better", "slow", "same"];

/// Concepts of things that are compared.
const THINGS: &[&str] = &[
    "computer",
    "mine",
    "somebody",
    "other",
    "second",
    "fresh",
    "oldthing",
    "cable",
    "port",
    "adapter",
    "slot",
    "wireless",
    "wired",
    "protocolname",
    "service",
    "share",
    "tool",
    "disk",
    "array",
    "single",
    "every",
    "whole",
    "parallel",
    "frames",
    "larger",
    "smaller",
    "encrypt",
    "synchronous",
    "off",
    "on",
    "readway",
    "writeway",
    "restart",
    "idlerest",
    "before",
    "nowadays",
    "update",
    "since",
    "slowerpath",
    "rewrite",
    "fragment",
    "need",
    "rest",
    "cpu",
    "beginning",
    "afterwards",
];

/// How strong each kind of feature is.
#[derive(Clone, Copy, Debug)]
pub struct Mix {
    /// A word.
    pub word: f32,
    /// Two words in a row.
    pub pair: f32,
    /// Four letters in a row.
    pub piece: f32,
    /// A concept.
    pub concept: f32,
    /// A concept behind a negation.
    pub negated: f32,
    /// Two concepts, one soon after the other.
    pub near: f32,
    /// Two concepts anywhere.
    pub both: f32,
    /// An amount.
    pub amount: f32,
    /// What stands on either side of a comparison.
    pub compared: f32,
}

impl Default for Mix {
    fn default() -> Self {
        Self {
            word: 1.0,
            pair: 0.6,
            piece: 0.3,
            concept: 1.2,
            negated: 0.8,
            near: 0.8,
            both: 0.3,
            amount: 0.8,
            compared: 0.6,
        }
    }
}

/// A word without its endings; numbers are all the same.
fn plain(word: &str) -> String {
    if word.starts_with(|c: char| c.is_ascii_digit()) {
        return word
            .trim_start_matches(|c: char| c.is_ascii_digit() || c == '.' || c == ',')
            .chars()
            .fold("#".to_owned(), |mut s, c| {
                s.push(c);
                s
            });
    }
    stem(word).to_owned()
}

/// What numbers with their units say.
fn amounts(words: &[Word], strength: f32, all: &mut Vec<(String, f32)>) {
    let mut rates: Vec<f64> = Vec::new();
    let mut put = |name: &str| all.push((format!("a:{name}"), strength));
    for (i, word) in words.iter().enumerate() {
        let digits = word
            .text
            .bytes()
            .take_while(|b| b.is_ascii_digit() || *b == b'.' || *b == b',')
            .count();
        if digits == 0 {
            continue;
        }
        let (number, tail) = word.text.split_at(digits);
        let value: f64 = number.replace(',', "").parse().unwrap_or(0.0);
        let next = words.get(i + 1).map_or("", |w| w.text.as_str());
        let after = words.get(i + 2).map_or("", |w| w.text.as_str());
        let (unit, after) = if tail.is_empty() {
            (next, after)
        } else {
            (tail, next)
        };
        let second = ["s", "sec", "second"].contains(&after) || after == "per" || after == "a";
        match unit {
            "mb" | "mib" | "megabytes" | "megs" | "meg" | "mbps" | "mbit" | "gbit" | "gbps"
            | "gb" | "gib" | "gigabit" | "gigabits" | "megabit" | "megabits" | "mbits"
                if second || unit.ends_with("ps") || unit.contains("bit") =>
            {
                put("rate");
                rates.push(if unit.starts_with('g') {
                    value * 1000.0
                } else {
                    value
                });
            }
            "gb" | "tb" | "gigs" | "gig" | "gigabytes" | "gib" | "tib" | "mb" | "go" | "to"
            | "terabytes" => put("size"),
            "kb" | "kib" | "k" | "bytes" | "b" => put("small"),
            "ms" | "milliseconds" => put("ms"),
            "s" | "sec" | "seconds" | "min" | "minutes" | "minute" | "h" | "hours" | "hour" => {
                put("time");
            }
            "km" | "miles" => put("way"),
            "%" | "percent" => put(if value >= 80.0 {
                "most"
            } else if value <= 30.0 {
                "little"
            } else {
                "share"
            }),
            _ => put("bare"),
        }
    }
    if let (Some(first), Some(last)) = (rates.first(), rates.get(1)) {
        let ratio = last / first.max(1e-9);
        put("two rates");
        put(if ratio > 1.25 {
            "rise"
        } else if ratio < 0.8 {
            "fall"
        } else {
            "alike"
        });
    }
}
