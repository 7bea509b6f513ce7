//! Rows of the catalogue as this module needs them.

use narrows_units::catalogue::{Catalogue, CatalogueFault};

/// Scores between the 5th and the 95th percentile of a normal law.
const SCORES_5_TO_95: f64 = 2.0 * 1.6448536269514722;

/// The middle of a row, in the unit of the row.
pub(super) fn likely(catalogue: &Catalogue, id: &str) -> Result<f64, CatalogueFault> {
    Ok(catalogue.number(id)?.likely)
}

/// A normal law behind a row: mean and standard deviation.
#[derive(Clone, Copy, Debug)]
pub(super) struct Normal {
    pub mean: f64,
    pub sigma: f64,
}

pub(super) fn normal(catalogue: &Catalogue, id: &str) -> Result<Normal, CatalogueFault> {
    let row = catalogue.number(id)?;
    Ok(Normal {
        mean: row.likely,
        sigma: (row.high - row.low) / SCORES_5_TO_95,
    })
}
