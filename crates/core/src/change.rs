//! A change: an edit to a site, written as a person would on the command line.
//!
//! ```
//! use narrows_core::change::Edit;
//! let edit = Edit::parse(r#"run.2.cable="cat6a""#, 0).unwrap();
//! assert_eq!(edit.path(), "run.2.cable");
//! assert!(!edit.removes());
//! // quotes may be left out, as a shell eats them
//! assert!(Edit::parse("nas.store.port.a.rate=10 Gb/s", 0).is_ok());
//! // nothing behind the sign removes the field
//! assert!(Edit::parse("desk.cut-1.disk=", 0).unwrap().removes());
//! ```

pub(crate) mod state;

use crate::site::{Fault, FaultSource, Faults, Place};
use std::ops::Range;

/// The longest edit: one part written whole fits many times over.
const LONGEST: usize = 4096;

/// One change to a site: a path and what stands there afterwards.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    text: String,
    steps: Vec<Step>,
    value: Range<usize>,
}

/// One name of a path, and where it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Step {
    pub(crate) name: String,
    pub(crate) span: Range<usize>,
}

impl Edit {
    /// Reads `path=value`. The path has dots between its names, which may be in quotes; runs go
    /// by number. The value is written as in a site file; plain text may go without quotes.
    /// Nothing behind the sign removes what is there.
    ///
    /// `index` is the place of the edit among all edits, from 0; faults name it.
    ///
    /// # Errors
    /// With the part of the text that is no path. Whether the path exists shows when the edit
    /// is made.
    pub fn parse(text: &str, index: usize) -> Result<Self, Faults> {
        let fault = |span: Range<usize>, title: &str, found: &str| -> Faults {
            Fault::new(
                Place {
                    source: FaultSource::Edit(index),
                    span,
                },
                title,
                found,
                "write path=value, for example run.2.length=\"30 m\"",
            )
            .into()
        };
        if text.len() > LONGEST {
            return Err(fault(
                0..0,
                "this edit is too long",
                "no part of a site is so long",
            ));
        }
        if let Some(at) = text.find(crate::letters::is_hidden) {
            let end = text
                .get(at..)
                .map_or(at, |t| at + t.chars().next().map_or(0, char::len_utf8));
            return Err(fault(
                at..end,
                "this edit cannot be read",
                "an invisible letter",
            ));
        }
        let Some(sign) = outside_quotes(text, '=') else {
            return Err(fault(
                0..text.len(),
                "this is not an edit",
                "there is no '=' in it",
            ));
        };
        let path = text.get(..sign).unwrap_or_default();
        let mut steps = Vec::new();
        let mut at = 0;
        loop {
            let rest = path.get(at..).unwrap_or_default();
            let end = outside_quotes(rest, '.').map_or(path.len(), |dot| at + dot);
            let written = path.get(at..end).unwrap_or_default();
            let lead = written.len() - written.trim_start().len();
            let span = at + lead..at + lead + written.trim().len();
            let name = unquoted(written.trim());
            if name.is_empty() {
                return Err(fault(
                    at..end,
                    "this edit has no path",
                    "a name is missing here",
                ));
            }
            steps.push(Step {
                name: name.to_owned(),
                span,
            });
            if end >= path.len() {
                break;
            }
            at = end + 1;
        }
        let value = text.get(sign + 1..).unwrap_or_default();
        let start = sign + 1 + value.len() - value.trim_start().len();
        Ok(Self {
            value: start..start + value.trim().len(),
            text: text.to_owned(),
            steps,
        })
    }

    /// Reads several edits.
    ///
    /// # Errors
    /// With the faults of all of them.
    pub fn parse_all<T: AsRef<str>>(texts: &[T]) -> Result<Vec<Self>, Faults> {
        let mut edits = Vec::new();
        let mut faults = Vec::new();
        for (index, text) in texts.iter().enumerate() {
            match Self::parse(text.as_ref(), index) {
                Ok(edit) => edits.push(edit),
                Err(more) => faults.extend(more.iter().cloned()),
            }
        }
        if faults.is_empty() {
            Ok(edits)
        } else {
            Err(Faults::ordered(faults))
        }
    }

    /// As it was written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The path, with dots.
    pub fn path(&self) -> String {
        self.steps
            .iter()
            .map(|s| s.name.as_str())
            .collect::<Vec<_>>()
            .join(".")
    }

    /// Whether it removes what is there.
    pub fn removes(&self) -> bool {
        self.value.is_empty()
    }

    pub(crate) fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// What stands behind the sign, and where.
    pub(crate) fn value(&self) -> (Range<usize>, &str) {
        let text = self.text.get(self.value.clone()).unwrap_or_default();
        (self.value.clone(), text)
    }
}

impl std::fmt::Display for Edit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.text)
    }
}

/// Where a sign first stands outside quotes.
fn outside_quotes(text: &str, sign: char) -> Option<usize> {
    let mut quote = None;
    for (at, c) in text.char_indices() {
        match quote {
            Some(q) if c == q => quote = None,
            None if c == '"' || c == '\'' => quote = Some(c),
            None if c == sign => return Some(at),
            _ => {}
        }
    }
    None
}

fn unquoted(name: &str) -> &str {
    ['"', '\'']
        .into_iter()
        .find_map(|q| name.strip_prefix(q)?.strip_suffix(q))
        .unwrap_or(name)
}
