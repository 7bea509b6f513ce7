//! A value with its name and where it comes from: stated, or assumed from the catalogue.

use crate::quantity::Measure;
use crate::spread::{Choice, Spread};

/// Where a value comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Origin {
    /// The person said so.
    Stated,
    /// The catalogue stands in; the text names the row's source.
    Assumed(String),
}

/// A value of the site with the name under which it is drawn and reported.
#[derive(Clone, Debug, PartialEq)]
pub struct Known<T> {
    /// Site path and field; of a replaced part, with the part's own name, so that luck is not
    /// carried from one part to another.
    pub id: String,
    /// What is known.
    pub value: T,
    /// Where it comes from.
    pub origin: Origin,
}

impl<T> Known<T> {
    /// A value that the person gave.
    pub fn stated(id: impl Into<String>, value: T) -> Self {
        Self {
            id: id.into(),
            value,
            origin: Origin::Stated,
        }
    }

    /// A value that the catalogue stands in for.
    pub fn assumed(id: impl Into<String>, value: T, source: impl Into<String>) -> Self {
        Self {
            id: id.into(),
            value,
            origin: Origin::Assumed(source.into()),
        }
    }

    /// Whether the catalogue stands in.
    pub fn is_assumed(&self) -> bool {
        matches!(self.origin, Origin::Assumed(_))
    }
}

/// A quantity of the site.
pub type Value<Q> = Known<Spread<Q>>;
/// A choice of the site.
pub type Chosen<T> = Known<Choice<T>>;

impl<Q: Measure> Value<Q> {
    /// The middle value.
    pub fn median(&self) -> Q {
        self.value.median()
    }
}
