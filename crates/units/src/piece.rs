//! Pieces of a text with their places: what every grammar of one line is read with.

use crate::quantity::{Measure, UnitFault, parse};
use std::ops::Range;

/// A piece of a text with its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece<'a> {
    /// Its letters.
    pub text: &'a str,
    /// The byte of the whole text at which it begins.
    pub at: usize,
}

impl<'a> Piece<'a> {
    /// A whole text.
    pub fn of(text: &'a str) -> Self {
        Self { text, at: 0 }
    }

    /// Some of its bytes; nothing where they are no letters of it.
    #[must_use]
    pub fn part(self, bytes: Range<usize>) -> Self {
        Self {
            at: self.at + bytes.start,
            text: self.text.get(bytes).unwrap_or_default(),
        }
    }

    /// Without the white space around it.
    #[must_use]
    pub fn trimmed(self) -> Self {
        let start = self.text.trim_start();
        Self {
            at: self.at + self.text.len() - start.len(),
            text: start.trim_end(),
        }
    }

    /// Its first bytes.
    #[must_use]
    pub fn head(self, bytes: usize) -> Self {
        self.part(0..bytes)
    }

    /// What follows its first bytes, without white space around it.
    #[must_use]
    pub fn after(self, bytes: usize) -> Self {
        self.part(bytes.min(self.text.len())..self.text.len())
            .trimmed()
    }

    /// Cut at every separator outside brackets, each piece without white space around it.
    ///
    /// ```
    /// use narrows_units::piece::Piece;
    /// let cut: Vec<(usize, &str)> = Piece::of("2 x (8 TB, 4 TB), 1 x 4 TB")
    ///     .split(',')
    ///     .map(|piece| (piece.at, piece.text))
    ///     .collect();
    /// assert_eq!(cut, [(0, "2 x (8 TB, 4 TB)"), (18, "1 x 4 TB")]);
    /// ```
    pub fn split(self, separator: char) -> impl Iterator<Item = Self> {
        let mut cuts = Vec::new();
        let (mut from, mut depth) = (0, 0_usize);
        for (i, c) in self.text.char_indices() {
            match c {
                '(' => depth += 1,
                ')' => depth = depth.saturating_sub(1),
                c if c == separator && depth == 0 => {
                    cuts.push(from..i);
                    from = i + c.len_utf8();
                }
                _ => {}
            }
        }
        cuts.push(from..self.text.len());
        cuts.into_iter().map(move |cut| self.part(cut).trimmed())
    }

    /// Cut at the first place where the words stand, without white space around the two.
    pub fn cut(self, between: &str) -> Option<(Self, Self)> {
        let at = self.text.find(between)?;
        Some((self.head(at).trimmed(), self.after(at + between.len())))
    }

    /// Its words.
    pub fn words(self) -> Vec<Self> {
        let mut found = Vec::new();
        let mut from = None;
        for (at, c) in self.text.char_indices().chain([(self.text.len(), ' ')]) {
            match (from, c.is_whitespace()) {
                (None, false) => from = Some(at),
                (Some(start), true) => {
                    found.push(self.part(start..at));
                    from = None;
                }
                _ => {}
            }
        }
        found
    }

    /// The bytes of the whole text that it is.
    pub fn span(self) -> Range<usize> {
        self.at..self.end()
    }

    /// Where it ends in the whole text.
    pub fn end(self) -> usize {
        self.at + self.text.len()
    }

    /// That it is wrong.
    pub fn fault(self, found: impl Into<String>, help: impl Into<String>) -> UnitFault {
        UnitFault::new(self.span(), found, help)
    }

    /// Reads it as a quantity with its unit.
    ///
    /// # Errors
    /// As [`parse`], with the place in the whole text.
    pub fn read<Q: Measure>(self) -> Result<Q, UnitFault> {
        parse::<Q>(self.text).map_err(|fault| fault.shifted(self.at))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{LinkRate, Power};
    use proptest::prelude::*;

    #[test]
    fn what_is_wrong_is_placed_in_the_whole_text() {
        let text = "4 at 1 Gb/s, 2 at quick";
        let last = Piece::of(text).split(',').last().unwrap();
        let (count, rate) = last.cut(" at ").unwrap();
        assert_eq!((count.text, count.at), ("2", 13));
        let fault = rate.read::<Power>().unwrap_err();
        assert_eq!(&text[fault.span], "quick");
        assert_eq!(&text[last.fault("", "").span], "2 at quick");
        assert!(Piece::of("1 Gb/s").read::<LinkRate>().is_ok());
        // nothing is cut within a letter
        assert_eq!(Piece::of("\u{b0}C").part(1..2).text, "");
    }

    proptest! {
        #[test]
        fn property_pieces_stand_where_they_say(text in ".{0,24}[,( )]{0,6}.{0,12}") {
            let whole = Piece::of(&text);
            for piece in whole.split(',').chain(whole.words()).chain([whole.trimmed(), whole.after(1)]) {
                prop_assert_eq!(text.get(piece.span()).unwrap_or(""), piece.text);
            }
        }
    }
}
