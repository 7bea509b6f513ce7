//! How much a job is: an amount of data, or material by the hour.

use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Information, Kind, Measure, Time, UnitFault, parse};
use crate::spread::Spread;
use crate::work::footage::rate_of;

/// How much a job is.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Amount {
    pub size: Spread<Information>,
    /// The rate at which it plays, where that is told.
    pub plays_at: Option<Spread<DataRate>>,
}

/// An amount of data (`512 GB`), or a rate or material by the hour (`880 Mb/s x 2 h`,
/// `ProRes 422 HQ UHD 25 fps x 2 h`).
pub(super) fn read(text: &str, catalogue: &Catalogue) -> Result<Amount, UnitFault> {
    let Some((rate, time)) = by_the_hour(text) else {
        let size = parse::<Information>(text)
            .map_err(|fault| also(fault, ", or a rate or codec by the hour: 880 Mb/s x 2 h"))?;
        return above_zero(text, Spread::exact(size), None);
    };
    let time = parse::<Time>(time)?;
    let rate = rate_of(rate, catalogue)?;
    let size = Spread::from_law(rate.law().times(time.base()));
    above_zero(text, size, Some(rate))
}

/// What stands before and behind the last cross, if something stands on both sides.
fn by_the_hour(text: &str) -> Option<(&str, &str)> {
    let (at, cross) = text
        .char_indices()
        .rev()
        .find(|(at, c)| matches!(c, '\u{d7}' | '*') || *c == 'x' && apart(text, *at))?;
    let (before, behind) = (text.get(..at)?, text.get(at + cross.len_utf8()..)?);
    Some((before.trim(), behind.trim()))
}

/// Whether an `x` stands between blanks, and so belongs to no word and no raster.
fn apart(text: &str, at: usize) -> bool {
    let before = text.get(..at).is_some_and(|t| t.ends_with(' '));
    let behind = text.get(at + 1..).is_some_and(|t| t.starts_with(' '));
    before && behind
}

fn above_zero(
    text: &str,
    size: Spread<Information>,
    plays_at: Option<Spread<DataRate>>,
) -> Result<Amount, UnitFault> {
    let (low, _, high) = size.law().knots();
    if low > 0.0 && high.is_finite() {
        return Ok(Amount { size, plays_at });
    }
    Err(UnitFault {
        span: 0..text.len(),
        found: "there is nothing to move".to_owned(),
        help: format!("write {} above zero", Kind::Information.noun()),
        instead: None,
    })
}

fn also(mut fault: UnitFault, more: &str) -> UnitFault {
    fault.help.push_str(more);
    fault
}
