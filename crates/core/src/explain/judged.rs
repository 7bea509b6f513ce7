//! What is judged of sites and readings before any cause is weighed; rows of data/explaining.csv.

use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::{Information, Length, Measure, Ratio, Time, parse_base};

/// From where on something is so, and how likely runs are to be at fault beside each other.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Judged {
    /// From this share on a core is busy.
    pub core_busy: Ratio,
    /// Up to this share no core is.
    pub core_idle: Ratio,
    /// From so many errors on packets are lost.
    pub errors: f64,
    /// From this round trip on it is far.
    pub far: Time,
    /// From this fill on an array is half full.
    pub half_full: Ratio,
    /// From this fill on it is full.
    pub full: Ratio,
    /// Files below this share of its memory fit into that of the NAS.
    pub fits_memory: Ratio,
    /// From this size on the size of a file is told.
    pub large_file: Information,
    /// How much likelier a metre of cat5 is to be at fault than one of a newer category.
    pub cat5: f64,
    /// The same for cat5e.
    pub cat5e: f64,
    /// The same for fibre and twinax, of plugs and cords only.
    pub clear: f64,
    /// Plugs, jacks and cords of a run are as likely to be at fault as so much of it.
    pub ends: Length,
    /// How likely a run that another computer passes faster is to be at fault beside what it would be.
    pub elsewhere: f64,
    /// Which share of what concerns a whole way is the same for all ways.
    pub alike: f64,
}

impl Judged {
    /// The likely values of the catalogue.
    pub(crate) fn new(catalogue: &Catalogue) -> Result<Self, CatalogueFault> {
        Ok(Self {
            core_busy: likely(catalogue, "explain.core-busy.high")?,
            core_idle: likely(catalogue, "explain.core-busy.low")?,
            errors: likely(catalogue, "explain.errors")?,
            far: likely(catalogue, "explain.tag.far")?,
            half_full: likely(catalogue, "explain.tag.half-full")?,
            full: likely(catalogue, "explain.tag.full")?,
            fits_memory: likely(catalogue, "explain.tag.fits-memory")?,
            large_file: likely(catalogue, "explain.tag.size-told")?,
            cat5: likely(catalogue, "explain.doubt.cat5")?,
            cat5e: likely(catalogue, "explain.doubt.cat5e")?,
            clear: likely(catalogue, "explain.doubt.clear")?,
            ends: likely(catalogue, "explain.doubt.ends")?,
            elsewhere: likely(catalogue, "explain.doubt.elsewhere")?,
            alike: likely(catalogue, "explain.alike")?,
        })
    }
}

/// The likely value of a row, exactly as it stands there.
fn likely<Q: Measure>(catalogue: &Catalogue, id: &str) -> Result<Q, CatalogueFault> {
    let row = catalogue.number(id)?;
    if row.unit.is_empty() {
        return Ok(Q::from_base(row.likely));
    }
    let base = parse_base(Q::KIND, &format!("{} {}", row.likely, row.unit));
    base.map(Q::from_base).map_err(|fault| CatalogueFault {
        place: id.to_owned(),
        problem: fault.to_string(),
    })
}
