//! Columns of draws for questions about keeping, and how answers are written.

use narrows_core::budget::BudgetFault;
use narrows_core::catalogue::{Catalogue, CatalogueFault};
use narrows_core::quantity::{DataRate, Information, Measure, Power, Time, six_digits, units};
use narrows_core::site::{Chosen, Value};
use narrows_core::spread::{Draws, Spread};
use narrows_core::working::percentiles;
use serde::{Serialize, Serializer};

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum KeepingFault {
    /// The catalogue lacks a row.
    Catalogue(CatalogueFault),
    /// The site's rates cannot be worked out.
    Budget(BudgetFault),
    /// The site does not describe what was asked about.
    Missing {
        /// What is missing.
        what: &'static str,
        /// What to write.
        help: &'static str,
    },
    /// A name that was asked for is not there.
    NoSuch {
        /// What kind of thing.
        noun: &'static str,
        /// The name.
        name: String,
        /// All names.
        known: Vec<String>,
    },
}

impl From<CatalogueFault> for KeepingFault {
    fn from(fault: CatalogueFault) -> Self {
        Self::Catalogue(fault)
    }
}

impl From<BudgetFault> for KeepingFault {
    fn from(fault: BudgetFault) -> Self {
        Self::Budget(fault)
    }
}

impl std::fmt::Display for KeepingFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Catalogue(fault) => write!(f, "{fault}"),
            Self::Budget(fault) => write!(f, "{fault}"),
            Self::Missing { what, .. } => write!(f, "the site describes no {what}"),
            Self::NoSuch { noun, name, known } => {
                write!(
                    f,
                    "no {noun} is called '{name}'; there are {}",
                    known.join(", ")
                )
            }
        }
    }
}

impl std::error::Error for KeepingFault {}

impl KeepingFault {
    /// What to do about it.
    pub fn help(&self) -> &'static str {
        match self {
            Self::Missing { help, .. } => help,
            _ => "check the site first: narrows check SITE",
        }
    }
}

/// Draws of one question.
pub(crate) struct Samples<'a> {
    pub catalogue: &'a Catalogue,
    pub draws: &'a mut Draws,
}

impl Samples<'_> {
    pub(crate) fn count(&self) -> usize {
        self.draws.count()
    }

    /// A row of the catalogue, drawn under its own name.
    pub(crate) fn row<Q: Measure>(&mut self, id: &str) -> Result<Vec<Q>, CatalogueFault> {
        self.row_for(id, id)
    }

    /// A row of the catalogue, drawn under the name of what it belongs to.
    pub(crate) fn row_for<Q: Measure>(
        &mut self,
        name: &str,
        id: &str,
    ) -> Result<Vec<Q>, CatalogueFault> {
        let spread = self.catalogue.spread::<Q>(id)?;
        Ok(self.spread(name, &spread))
    }

    /// A spread, drawn under a name.
    pub(crate) fn spread<Q: Measure>(&mut self, name: &str, spread: &Spread<Q>) -> Vec<Q> {
        let values = self.draws.values(name, spread.law());
        values.iter().map(|v| Q::from_base(*v)).collect()
    }

    /// A value of the site.
    pub(crate) fn value<Q: Measure>(&mut self, value: &Value<Q>) -> Vec<Q> {
        self.spread(&value.id, &value.value)
    }

    /// A choice of the site.
    pub(crate) fn choice<T: Clone + PartialEq>(&mut self, choice: &Chosen<T>) -> Vec<T> {
        let count = self.count() as f64;
        let strata = self.draws.strata(&choice.id);
        strata
            .iter()
            .map(|s| {
                let at = choice.value.position((f64::from(*s) + 0.5) / count);
                let options = choice.value.options();
                options.get(at).map_or_else(
                    || choice.value.likeliest().clone(),
                    |(value, _)| value.clone(),
                )
            })
            .collect()
    }
}

/// The 5th, 50th and 95th percentile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range<Q> {
    /// 5th.
    pub p05: Q,
    /// Median.
    pub p50: Q,
    /// 95th.
    pub p95: Q,
}

impl<Q: Measure> Range<Q> {
    /// Percentiles of one value a draw.
    pub(crate) fn of(values: &[Q]) -> Self {
        let bases: Vec<f64> = values.iter().map(|v| v.base()).collect();
        let found = percentiles::<Q>(&bases);
        Self {
            p05: found.p05,
            p50: found.p50,
            p95: found.p95,
        }
    }

    fn written<S: Serializer>(
        &self,
        serializer: S,
        unit: impl Fn(Q) -> f64,
    ) -> Result<S::Ok, S::Error> {
        Written {
            p05: six_digits(unit(self.p05)),
            p50: six_digits(unit(self.p50)),
            p95: six_digits(unit(self.p95)),
        }
        .serialize(serializer)
    }
}

#[derive(Serialize)]
#[allow(clippy::struct_field_names)] // keys of the contract
struct Written {
    p05: f64,
    p50: f64,
    p95: f64,
}

/// A plain number has the unit that its key names.
impl Serialize for Range<f64> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.written(serializer, |x| x)
    }
}

/// Power is written in watts.
impl Serialize for Range<Power> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.written(serializer, |p| p.get::<units::power::watt>())
    }
}

/// Durations are written in seconds.
impl Serialize for Range<Time> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.written(serializer, Measure::base)
    }
}

/// Sizes are written in bytes.
impl Serialize for Range<Information> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.written(serializer, Measure::base)
    }
}

/// Rates are written in megabytes a second.
impl Serialize for Range<DataRate> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.written(serializer, |r| {
            r.get::<units::data_rate::megabyte_per_second>()
        })
    }
}

/// A number at six digits.
#[allow(clippy::trivially_copy_pass_by_ref)] // the signature that serde calls
pub(crate) fn digits<S: Serializer>(value: &f64, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(six_digits(*value))
}

/// Any quantity in its base unit: seconds, bytes, watts.
#[allow(clippy::trivially_copy_pass_by_ref)] // the signature that serde calls
pub(crate) fn base<Q: Measure, S: Serializer>(value: &Q, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(six_digits(value.base()))
}

/// As [`base`], or nothing.
#[allow(clippy::ref_option)] // the signature that serde calls
pub(crate) fn maybe<Q: Measure, S: Serializer>(
    value: &Option<Q>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    value.map(|v| six_digits(v.base())).serialize(serializer)
}

/// The share of draws for which something holds.
pub(crate) fn share_of(count: usize, holds: impl Fn(usize) -> bool) -> f64 {
    let held = (0..count).filter(|i| holds(*i)).count();
    held as f64 / count.max(1) as f64
}

/// The mean of one value a draw.
pub(crate) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}
