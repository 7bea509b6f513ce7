use std::ops::Range;

/// Why a text is not the quantity that was asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitFault {
    /// The bytes of the text that are wrong.
    pub span: Range<usize>,
    /// What was found there, and what is wrong with it.
    pub found: String,
    /// What is allowed, and how to fix it.
    pub help: String,
    /// A whole text to write instead, where only one reading is possible.
    pub instead: Option<String>,
}

impl UnitFault {
    /// What was found at a place of the text, and how to put it right.
    pub fn new(span: Range<usize>, found: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            span,
            found: found.into(),
            help: help.into(),
            instead: None,
        }
    }

    /// The same with a whole text to write instead.
    #[must_use]
    pub fn instead(mut self, text: impl Into<String>) -> Self {
        self.instead = Some(text.into());
        self
    }

    /// The same in a longer text, in which this one begins `by` bytes later.
    #[must_use]
    pub fn shifted(mut self, by: usize) -> Self {
        self.span = self.span.start + by..self.span.end + by;
        self
    }
}

impl std::fmt::Display for UnitFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}; {}", self.found, self.help)
    }
}

impl std::error::Error for UnitFault {}
