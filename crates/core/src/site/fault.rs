//! What is wrong with a description, where, and how to put it right. Plain data: whoever shows
//! it to a person draws it.

use std::ops::Range;

/// Which text a place lies in.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FaultSource {
    /// The site file.
    File,
    /// The file of tasks.
    Tasks,
    /// The edit with this position in the list of edits, from 0.
    Edit(usize),
    /// A part of the command line; the text is the part itself.
    Argument(String),
}

/// Some bytes of one of the texts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Which text.
    pub source: FaultSource,
    /// Which bytes of it.
    pub span: Range<usize>,
}

impl Place {
    /// A place in the site file.
    pub fn file(span: Range<usize>) -> Self {
        Self {
            source: FaultSource::File,
            span,
        }
    }

    /// The start of the site file, for what is wrong with it as a whole.
    pub fn top() -> Self {
        Self::file(0..0)
    }
}

/// A second place that a person has to see to understand the first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Also {
    /// Where.
    pub place: Place,
    /// What is there.
    pub label: String,
}

/// A fix that is certain: these bytes become this text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Replacement {
    /// The bytes that go, in the text of the fault.
    pub span: Range<usize>,
    /// What stands there instead.
    pub text: String,
}

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Which text is wrong.
    pub source: FaultSource,
    /// The bytes of it that are wrong.
    pub span: Range<usize>,
    /// What is wrong, in short.
    pub title: String,
    /// What was found at the place.
    pub found: String,
    /// What is allowed, and how to put it right.
    pub help: String,
    /// A second place, for example the first definition of a name that is defined twice.
    pub also: Option<Also>,
    /// A fix that is certain, where there is one.
    pub replacement: Option<Replacement>,
    /// What a text that says nothing known may have meant, the likeliest first.
    pub near: Vec<Near>,
}

/// A meaning that is near.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Near {
    /// Its id.
    pub id: String,
    /// In words.
    pub meaning: String,
    /// How likely, in thousandths.
    pub thousandths: u32,
}

impl Fault {
    /// A fault without a second place and without a certain fix.
    pub fn new(
        place: Place,
        title: impl Into<String>,
        found: impl Into<String>,
        help: impl Into<String>,
    ) -> Self {
        Self {
            source: place.source,
            span: place.span,
            title: title.into(),
            found: found.into(),
            help: help.into(),
            also: None,
            replacement: None,
            near: Vec::new(),
        }
    }

    /// The same with a second place.
    #[must_use]
    pub fn also(mut self, place: Place, label: impl Into<String>) -> Self {
        self.also = Some(Also {
            place,
            label: label.into(),
        });
        self
    }

    /// The same with a certain fix for some bytes of the same text.
    #[must_use]
    pub fn fixed(mut self, span: Range<usize>, text: impl Into<String>) -> Self {
        self.replacement = Some(Replacement {
            span,
            text: text.into(),
        });
        self
    }
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}; {}", self.title, self.found, self.help)
    }
}

impl std::error::Error for Fault {}

/// Everything that is wrong, by position; at least one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Faults(Vec<Fault>);

impl Faults {
    /// Puts faults into the order of their places: the file first, then the edits.
    pub fn ordered(mut faults: Vec<Fault>) -> Self {
        faults.sort_by(|a, b| {
            (&a.source, a.span.start, a.span.end).cmp(&(&b.source, b.span.start, b.span.end))
        });
        faults.dedup();
        for fault in &mut faults {
            for text in [&mut fault.title, &mut fault.found, &mut fault.help] {
                *text = harmless(text);
            }
        }
        Self(faults)
    }

    /// Faults of several texts in the order of the texts; none where there are none.
    pub fn together(parts: impl IntoIterator<Item = Self>) -> Option<Self> {
        let all: Vec<Fault> = parts.into_iter().flat_map(|part| part.0).collect();
        (!all.is_empty()).then_some(Self(all))
    }

    /// The same with what a text that says nothing known may have meant.
    #[must_use]
    pub fn near(mut self, near: Vec<Near>) -> Self {
        if let Some(first) = self.0.first_mut() {
            first.near = near;
        }
        self
    }

    /// The faults by position.
    pub fn iter(&self) -> std::slice::Iter<'_, Fault> {
        self.0.iter()
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.0.len()
    }
}

/// A text that quotes a file, without what a terminal would obey.
fn harmless(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect()
}

impl From<Fault> for Faults {
    fn from(fault: Fault) -> Self {
        Self::ordered(vec![fault])
    }
}

impl<'a> IntoIterator for &'a Faults {
    type Item = &'a Fault;
    type IntoIter = std::slice::Iter<'a, Fault>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl std::fmt::Display for Faults {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for (i, fault) in self.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}
