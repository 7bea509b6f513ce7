use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Information, Kind, Measure, Time, UnitFault, parse};

/// How much a job is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Sized {
    pub size: Information,
    /// The rate at which it plays, where that is told.
    pub plays_at: Option<DataRate>,
}

/// An amount of data (`512 GB`), or a rate or codec by the hour (`880 Mb/s x 2 h`).
pub(super) fn read(text: &str, _catalogue: &Catalogue) -> Result<Sized, UnitFault> {
    let Some((rate, time)) = by_the_hour(text) else {
        let size = parse::<Information>(text)
            .map_err(|fault| also(fault, ", or a rate or codec by the hour: 880 Mb/s x 2 h"))?;
        return above_zero(text, size).map(|size| Sized {
            size,
            plays_at: None,
        });
    };
    let time = parse::<Time>(time)?;
    let rate = parse::<DataRate>(rate)?;
    above_zero(text, rate * time).map(|size| Sized {
        size,
        plays_at: Some(rate),
    })
}

/// What stands before and behind the last `x`, if a time stands behind it.
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

fn above_zero(text: &str, size: Information) -> Result<Information, UnitFault> {
    if size.base() > 0.0 && size.base().is_finite() {
        return Ok(size);
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
