//! One value a draw, and its percentiles.

use crate::quantity::Measure;
use crate::spread::ranked;
use std::borrow::Cow;
use std::marker::PhantomData;
use std::sync::Arc;

/// One value a draw, or one value for all of them.
#[derive(Clone, Debug)]
pub struct Column<Q> {
    pub(super) values: Values,
    pub(super) step: Option<usize>,
    quantity: PhantomData<Q>,
}

#[derive(Clone, Debug)]
pub(super) enum Values {
    Same(f64),
    Each(Arc<[f64]>),
}

impl<Q: Measure> Column<Q> {
    /// A column outside any sheet, for a value that needs no working.
    pub fn same(value: Q) -> Self {
        Self::of(Values::Same(value.base()))
    }

    /// A column outside any sheet.
    pub fn each(values: impl IntoIterator<Item = Q>) -> Self {
        Self::of(Values::Each(values.into_iter().map(Q::base).collect()))
    }

    pub(super) fn of(values: Values) -> Self {
        Self {
            values,
            step: None,
            quantity: PhantomData,
        }
    }

    /// The value in one draw.
    pub fn at(&self, draw: usize) -> Q {
        Q::from_base(match &self.values {
            Values::Same(value) => *value,
            Values::Each(values) => values.get(draw).copied().unwrap_or(f64::NAN),
        })
    }

    /// The only value, where nothing is unknown.
    pub fn only(&self) -> Option<Q> {
        match &self.values {
            Values::Same(value) => Some(Q::from_base(*value)),
            Values::Each(_) => None,
        }
    }

    /// Base numbers, one a draw.
    pub fn every_base(&self, count: usize) -> Cow<'_, [f64]> {
        match &self.values {
            Values::Same(value) => Cow::Owned(vec![*value; count]),
            Values::Each(values) => Cow::Borrowed(values),
        }
    }

    /// Percentiles of the column.
    pub fn percentiles(&self) -> Percentiles<Q> {
        match &self.values {
            Values::Same(value) => {
                let value = Q::from_base(*value);
                Percentiles {
                    p05: value,
                    p50: value,
                    p95: value,
                }
            }
            Values::Each(values) => percentiles(values),
        }
    }

    /// The 50th percentile of the column.
    pub fn median(&self) -> Q {
        Q::from_base(match &self.values {
            Values::Same(value) => *value,
            Values::Each(values) => middle(values),
        })
    }
}

/// The 5th, 50th and 95th percentile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Percentiles<Q> {
    /// 5th.
    pub p05: Q,
    /// 50th.
    pub p50: Q,
    /// 95th.
    pub p95: Q,
}

/// Percentiles of base numbers.
///
/// With `n` values in order, the percentile at `q` is the one at `q n - 1/2`, rounded: the draws
/// are middles of equally likely slices, so this is the slice that holds `q`.
pub fn percentiles<Q: Measure>(values: &[f64]) -> Percentiles<Q> {
    let [p05, p50, p95] = ranked(values, [0.05, 0.5, 0.95]).map(Q::from_base);
    Percentiles { p05, p50, p95 }
}

/// The 50th percentile of base numbers, as in [`percentiles`].
pub fn middle(values: &[f64]) -> f64 {
    let [p50] = ranked(values, [0.5]);
    p50
}
