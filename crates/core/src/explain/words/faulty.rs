//! Faults of one text, collected while it is read.

use crate::nearest::nearest;
use crate::site::{Fault, FaultSource, Faults, Place};
use std::ops::Range;

/// A text and what is wrong with it so far.
pub(super) struct Faulty<'a> {
    pub text: &'a str,
    source: FaultSource,
    faults: Vec<Fault>,
    /// Whether it has words that neither a reading nor a remark knows.
    pub(super) unread: bool,
}

impl<'a> Faulty<'a> {
    /// For a text of the command line.
    pub(super) fn argument(text: &'a str) -> Self {
        Self::new(text, FaultSource::Argument(text.to_owned()))
    }

    pub(super) fn new(text: &'a str, source: FaultSource) -> Self {
        Self {
            text,
            source,
            faults: Vec::new(),
            unread: false,
        }
    }

    /// What stands at a place.
    pub(super) fn at(&self, span: &Range<usize>) -> &'a str {
        self.text.get(span.clone()).unwrap_or_default()
    }

    pub(super) fn add(
        &mut self,
        span: Range<usize>,
        title: impl Into<String>,
        found: impl Into<String>,
        help: impl Into<String>,
    ) {
        let place = Place {
            source: self.source.clone(),
            span,
        };
        self.faults.push(Fault::new(place, title, found, help));
    }

    /// Faults of the same text that somebody else found.
    pub(super) fn extend(&mut self, faults: impl IntoIterator<Item = Fault>) {
        self.faults.extend(faults);
    }

    pub(super) fn any(&self) -> bool {
        !self.faults.is_empty()
    }

    /// Where they are.
    pub(super) fn spans(&self) -> impl Iterator<Item = Range<usize>> {
        self.faults.iter().map(|fault| fault.span.clone())
    }

    /// Takes back everything: the text was understood after all.
    pub(super) fn forget(&mut self) {
        self.faults.clear();
    }

    pub(super) fn count(&self) -> usize {
        self.faults.len()
    }

    /// Takes over faults of another text, each with its place in this one.
    pub(super) fn take(
        &mut self,
        other: Faulty<'_>,
        place: impl Fn(&Range<usize>) -> Range<usize>,
    ) {
        for mut fault in other.faults {
            fault.span = place(&fault.span);
            fault.source = self.source.clone();
            self.faults.push(fault);
        }
    }

    /// All of them by place.
    pub(super) fn done(self) -> Faults {
        Faults::ordered(self.faults)
    }
}

/// The end of a message that offers the nearest of several words.
pub(super) fn meant<'w>(word: &str, words: impl Iterator<Item = &'w str>) -> String {
    nearest(word, words)
        .map(|near| format!("; did you mean '{near}'?"))
        .unwrap_or_default()
}
