//! A text put together out of cells of a list.

use std::ops::Range;

/// A text put together out of cells, with the places of the parts.
#[derive(Default)]
pub(super) struct Sentence {
    pub(super) text: String,
    parts: Vec<(Range<usize>, Range<usize>)>,
}

impl Sentence {
    /// Adds what a cell says.
    pub(super) fn add(&mut self, text: &str, cell: Range<usize>) {
        if !self.text.is_empty() && text != "/s" {
            self.text.push(' ');
        }
        let start = self.text.len();
        self.text.push_str(text);
        self.parts.push((start..self.text.len(), cell));
    }

    /// Where a place of the text lies in the file.
    pub(super) fn place(
        &self,
        span: &Range<usize>,
        whole: &Range<usize>,
        file: &str,
    ) -> Range<usize> {
        let mut touched = self
            .parts
            .iter()
            .filter(|(part, _)| part.start < span.end.max(span.start + 1) && span.start < part.end);
        let (Some((part, cell)), None) = (touched.next(), touched.next()) else {
            let first = self.parts.iter().find(|(part, _)| part.end > span.start);
            return first.map_or(whole.clone(), |(_, cell)| cell.clone());
        };
        // a cell in quotes may hold other letters than it is written with
        if file.get(cell.clone()) != self.text.get(part.clone()) {
            return cell.clone();
        }
        let at = |place: usize| cell.start + place.clamp(part.start, part.end) - part.start;
        at(span.start)..at(span.end)
    }
}
