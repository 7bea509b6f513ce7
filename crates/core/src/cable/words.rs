//! The words of a run: each is understood where it stands, and what is not is a located fault.

use super::power::PowerAsked;
use crate::copper::{
    Bundle, Category, Celsius, Conductor, FibreGrade, Gauge, LengthBasis, Pairs, Screen,
    Surroundings,
};
use crate::quantity::{Length, LinkRate, Power, UnitFault, parse};
use crate::site::{Fault, FaultSource, Place};
use crate::spread::Spread;
use std::ops::Range;

/// A value and the bytes that say it.
pub(super) type At<T> = Option<(T, Range<usize>)>;

/// What the cable is, as far as it is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Pair(Category),
    UnknownPair,
    Fibre(Option<FibreGrade>),
    Twinax,
}

/// Everything that was said of a run.
#[derive(Clone, Debug, Default)]
pub(super) struct Said {
    pub kind: At<Kind>,
    pub length: At<Spread<Length>>,
    pub basis: At<LengthBasis>,
    pub bundle: At<Bundle>,
    pub beside_first: At<Length>,
    pub untied: At<Length>,
    pub neighbours: Vec<(u32, Option<LinkRate>, Range<usize>)>,
    /// Of neighbours whose own rate is not told.
    pub neighbour_rate: At<LinkRate>,
    pub connections: At<u32>,
    pub splices: At<u32>,
    pub cords: At<Length>,
    pub cord_gauge: At<Gauge>,
    pub cord_grade: At<FibreGrade>,
    pub gauge: At<Gauge>,
    pub temperature: At<Celsius>,
    pub certified: At<bool>,
    pub screen: At<Screen>,
    pub pairs: At<Pairs>,
    pub conductor: At<Conductor>,
    pub module: At<Length>,
    pub ports: At<LinkRate>,
    pub class: At<u8>,
    pub load: At<Power>,
    pub powered: At<u32>,
    pub surroundings: At<Surroundings>,
}

/// Reads words out of one text and keeps their faults.
pub(super) struct Words<'a> {
    /// The whole text that places point into.
    text: &'a str,
    pub(super) source: FaultSource,
    /// Words that are left, with their places; none stands for a comma.
    pub(super) left: std::collections::VecDeque<Option<Range<usize>>>,
    pub faults: Vec<Fault>,
}

impl<'a> Words<'a> {
    pub(super) fn new(text: &'a str, source: FaultSource) -> Self {
        Self {
            text,
            source,
            left: std::collections::VecDeque::new(),
            faults: Vec::new(),
        }
    }

    /// The text that faults point into.
    pub(super) fn at(&self, span: &Range<usize>) -> &'a str {
        self.text.get(span.clone()).unwrap_or_default()
    }

    pub(super) fn fault(
        &mut self,
        span: Range<usize>,
        title: &str,
        found: impl Into<String>,
        help: impl Into<String>,
    ) {
        let place = Place {
            source: self.source.clone(),
            span,
        };
        self.faults.push(Fault::new(place, title, found, help));
    }

    pub(super) fn unit(&mut self, span: &Range<usize>, title: &str, fault: UnitFault) {
        let fault = fault.shifted(span.start);
        let inside = fault.span.start.min(span.end)..fault.span.end.min(span.end);
        self.fault(inside, title, fault.found, fault.help);
    }

    /// Keeps what was said, unless it was said before.
    pub(super) fn keep<T>(&mut self, slot: &mut At<T>, value: T, span: Range<usize>, what: &str) {
        if slot.is_some() {
            let found = format!("{what} stands here twice");
            self.fault(span, "said twice", found, "leave one of the two out");
        } else {
            *slot = Some((value, span));
        }
    }

    /// Takes the parts of a piece of the text into what was said.
    pub(super) fn take(&mut self, span: Range<usize>, said: &mut Said) {
        self.split(span);
        while let Some(word) = self.left.pop_front() {
            if let Some(word) = word {
                self.part(word, said);
            }
        }
    }

    fn split(&mut self, span: Range<usize>) {
        let mut begin = None;
        let text = self.text;
        let body = text.get(span.clone()).unwrap_or_default();
        let mut end_word = |begin: &mut Option<usize>, end: usize| {
            if let Some(from) = begin.take() {
                self.left.push_back(Some(from..end));
            }
        };
        let mut commas = Vec::new();
        for (i, c) in body.char_indices() {
            let at = span.start + i;
            let decimal = c == ','
                && begin.is_some_and(|from: usize| {
                    let before = text.get(from..at).unwrap_or_default();
                    !before.is_empty() && before.bytes().all(|b| b.is_ascii_digit())
                })
                && body.as_bytes().get(i + 1).is_some_and(u8::is_ascii_digit);
            if c == ',' && !decimal {
                end_word(&mut begin, at);
                commas.push(at);
            } else if c.is_whitespace() {
                end_word(&mut begin, at);
            } else if begin.is_none() {
                begin = Some(at);
            }
        }
        end_word(&mut begin, span.end);
        for at in commas {
            let place = self
                .left
                .iter()
                .position(|w| w.as_ref().is_some_and(|w| w.start > at));
            match place {
                Some(place) => self.left.insert(place, None),
                None => self.left.push_back(None),
            }
        }
    }

    pub(super) fn peek(&self) -> Option<(String, Range<usize>)> {
        let span = self.left.front()?.clone()?;
        Some((self.at(&span).to_lowercase(), span))
    }

    /// Takes the next word if it is one of these and no comma lies before it.
    pub(super) fn next_of(&mut self, words: &[&str]) -> Option<Range<usize>> {
        let (word, span) = self.peek()?;
        if words.contains(&word.as_str()) {
            self.left.pop_front();
            Some(span)
        } else {
            None
        }
    }

    /// A number with its unit, both in one word or in two.
    pub(super) fn amount(&mut self, first: Range<usize>) -> Range<usize> {
        let word = self.at(&first);
        let bare = word
            .bytes()
            .all(|b| b.is_ascii_digit() || b == b'.' || b == b',' || b == b'-');
        if bare && let Some((_, next)) = self.peek() {
            self.left.pop_front();
            return first.start..next.end;
        }
        first
    }

    /// The quantity that follows a word.
    pub(super) fn following<Q: crate::quantity::Measure>(
        &mut self,
        word: &Range<usize>,
        title: &str,
    ) -> Option<(Q, Range<usize>)> {
        let Some((_, first)) = self.peek() else {
            let found = format!("nothing follows '{}'", self.at(word));
            let help = format!(
                "write {} behind it, for example {}",
                Q::KIND.noun(),
                Q::KIND.examples()
            );
            self.fault(word.clone(), title, found, help);
            return None;
        };
        self.left.pop_front();
        let span = self.amount(first);
        match parse::<Q>(self.at(&span)) {
            Ok(value) => Some((value, word.start..span.end)),
            Err(fault) => {
                self.unit(&span, title, fault);
                None
            }
        }
    }
}

impl Said {
    /// Power that was asked for, if any.
    pub(super) fn power(&self) -> Option<PowerAsked> {
        let class = self.class.as_ref().map(|(class, _)| *class);
        let load = self.load.as_ref().map(|(load, _)| *load);
        (class.is_some() || load.is_some()).then(|| PowerAsked {
            class,
            load,
            cables: self.powered.as_ref().map(|(count, _)| *count),
            surroundings: self
                .surroundings
                .as_ref()
                .map_or(Surroundings::Open, |(s, _)| *s),
        })
    }
}
