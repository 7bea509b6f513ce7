//! A step of a working, and what is not known in it.

use crate::spread::Parts;
use std::sync::Arc;

/// What a step does, in words and as a formula.
#[derive(Clone, Copy, Debug)]
pub struct How {
    /// What comes out, for example "payload of the link".
    pub name: &'static str,
    /// The formula in the symbols below.
    pub formula: &'static str,
    /// One symbol for each input, in order.
    pub symbols: &'static [&'static str],
    /// Clause, section or paper.
    pub source: &'static str,
}

/// One recorded step.
#[derive(Clone, Debug)]
pub struct Step {
    /// What comes out.
    pub name: String,
    /// The formula; empty for an input.
    pub formula: String,
    /// Symbol and step of each input.
    pub inputs: Vec<(String, usize)>,
    /// Where the value or formula comes from.
    pub source: String,
    /// The median and, where something is unknown, the range, as shown.
    pub result: String,
    /// Site path of an input.
    pub id: Option<String>,
}

/// What is not known and played a part.
#[derive(Clone, Debug)]
pub struct Unknown {
    /// Site path and field, or a model's name.
    pub id: String,
    /// The range or choice as it would be written.
    pub text: String,
    /// In which part of its range each draw lies, or which option it picked.
    pub parts: Parts,
    /// What each part is called, where the parts are options.
    pub options: Vec<String>,
    /// Whether a person can find it out: a fact of the site, not a model's own error.
    pub can_be_found_out: bool,
}

/// One option a draw.
#[derive(Clone, Debug)]
pub struct Pick {
    pub(super) picked: Arc<[u8]>,
    pub(super) same: Option<u8>,
}

impl Pick {
    /// The position of the option in one draw.
    pub fn at(&self, draw: usize) -> usize {
        usize::from(
            self.same
                .unwrap_or_else(|| self.picked.get(draw).copied().unwrap_or(0)),
        )
    }

    /// For each draw, what belongs to the option that it picked.
    pub fn each<T: Copy>(&self, options: &[T], count: usize) -> Vec<T> {
        match self.same {
            Some(same) => options
                .get(usize::from(same))
                .map_or_else(Vec::new, |&only| vec![only; count]),
            None => self
                .picked
                .iter()
                .filter_map(|&i| options.get(usize::from(i)).copied())
                .collect(),
        }
    }

    /// The only option, where nothing is open.
    pub fn only(&self) -> Option<usize> {
        self.same.map(usize::from)
    }
}
