//! Answers as programs read them, and the one choice of a form.

use crate::arguments::Format;
use crate::render::table::Table;
use narrows_core::budget::Warning;
use narrows_core::plan::Stopped;
use narrows_core::quantity::{
    DataRate, Information, Measure, Money, Ratio, Time, in_megabytes_per_second, six_digits,
};
use narrows_core::site::{Assumption, Understood};
use serde::Serialize;
use std::borrow::Cow;
use std::io::Result;

/// An answer in the form that was asked for; the others are not made.
pub(crate) fn printed<T: IntoIterator<Item = Table>>(
    format: Format,
    json: impl FnOnce() -> Result<String>,
    tables: impl FnOnce() -> T,
    text: impl FnOnce() -> String,
) -> Result<String> {
    match format {
        Format::Json => json(),
        Format::Csv => tables().into_iter().map(|table| table.csv()).collect(),
        Format::Markdown => Ok(tables().into_iter().map(|table| table.markdown()).collect()),
        Format::Text => Ok(text()),
    }
}

/// The one envelope around every answer. What a command never has to say has no key. Keys are a contract: see
/// docs/json.md.
#[derive(Serialize)]
pub(crate) struct Document<'a, A = ()> {
    version: &'static str,
    command: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    site: Option<Named<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    understood: Option<&'a [Understood]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    warnings: Option<&'a [Warning]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    assumptions: Option<Vec<&'a Assumption>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cautions: Option<Vec<Cow<'a, str>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    answer: Option<A>,
}

/// The name of a site, which may be null where a question can be asked without one.
#[derive(Serialize)]
#[serde(transparent)]
struct Named<'a>(Option<&'a str>);

impl<'a, A: Serialize> Document<'a, A> {
    pub(crate) fn of(command: &'static str) -> Self {
        Self {
            version: env!("CARGO_PKG_VERSION"),
            command,
            site: None,
            understood: None,
            warnings: None,
            assumptions: None,
            cautions: None,
            answer: None,
        }
    }

    pub(crate) fn site(self, name: impl Into<Option<&'a str>>) -> Self {
        Self {
            site: Some(Named(name.into())),
            ..self
        }
    }

    pub(crate) fn understood(self, all: &'a [Understood]) -> Self {
        Self {
            understood: Some(all),
            ..self
        }
    }

    pub(crate) fn warnings(self, all: &'a [Warning]) -> Self {
        Self {
            warnings: Some(all),
            ..self
        }
    }

    pub(crate) fn assumptions(self, all: impl IntoIterator<Item = &'a Assumption>) -> Self {
        Self {
            assumptions: Some(all.into_iter().collect()),
            ..self
        }
    }

    pub(crate) fn cautions(self, all: impl IntoIterator<Item: Into<Cow<'a, str>>>) -> Self {
        Self {
            cautions: Some(all.into_iter().map(Into::into).collect()),
            ..self
        }
    }

    pub(crate) fn answer(self, answer: A) -> Self {
        Self {
            answer: Some(answer),
            ..self
        }
    }

    pub(crate) fn text(&self) -> Result<String> {
        pretty(self)
    }
}

/// A document as text, with an end of its last line.
pub(crate) fn pretty(document: &impl Serialize) -> Result<String> {
    let mut text = serde_json::to_string_pretty(document).map_err(std::io::Error::other)?;
    text.push('\n');
    Ok(text)
}

/// A part of one.
pub(crate) fn share(value: Ratio) -> f64 {
    six_digits(value.base())
}

pub(crate) fn seconds(value: Time) -> f64 {
    six_digits(value.base())
}

pub(crate) fn bytes(value: Information) -> f64 {
    six_digits(value.base())
}

pub(crate) fn megabytes(rate: DataRate) -> f64 {
    six_digits(in_megabytes_per_second(rate))
}

#[derive(Serialize)]
pub(crate) struct Price {
    hundredths: i64,
    currency: String,
}

impl Price {
    pub(crate) fn of(money: &Money) -> Self {
        Self {
            hundredths: money.hundredths,
            currency: money.currency.clone(),
        }
    }
}

/// What was assumed of the parts whose ids begin with one of the words.
pub(crate) fn assumed<'a>(all: &'a [Assumption], words: &[&str]) -> Vec<&'a Assumption> {
    let concerns = |a: &&Assumption| words.iter().any(|word| a.id.starts_with(word));
    all.iter().filter(concerns).collect()
}

/// How far a search came that somebody stopped.
#[derive(Serialize)]
pub(crate) struct Known {
    done: usize,
    of: usize,
}

impl Known {
    pub(crate) fn of(stopped: Stopped) -> Self {
        Self {
            done: stopped.done,
            of: stopped.all,
        }
    }
}
