//! What a list of jacks says beside the cable: where each jack leads.

use std::ops::Range;

/// What a cell says, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Noted {
    /// Its text, with single blanks.
    pub text: String,
    /// Its place in the list.
    pub span: Range<usize>,
}

impl Noted {
    pub(super) fn new(text: &str, span: Range<usize>) -> Self {
        Self {
            text: text.to_owned(),
            span,
        }
    }
}

/// One row of a list of jacks, without its cable. What is empty or `unknown` is not told.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct JackRecord {
    /// What to call it: its label, or the number of its row.
    pub label: String,
    /// The label that is printed at the socket.
    pub jack: Option<Noted>,
    /// The port of the patch panel where its cable ends.
    pub panel: Option<Noted>,
    /// The room that it is in.
    pub room: Option<Noted>,
    /// The desk that is plugged in.
    pub desk: Option<Noted>,
    /// The switch that its panel is next to.
    pub switch: Option<Noted>,
    /// How sure it is that jack and panel port belong together.
    pub traced: Option<Noted>,
    /// The place of its cable among the runs; none where that could not be read.
    pub run: Option<usize>,
}
