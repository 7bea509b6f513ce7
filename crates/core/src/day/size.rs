//! How much a job is: an amount of data, or material by the hour.

use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Information, Kind, Measure, Time, UnitFault, parse};
use crate::spread::Spread;
use crate::work::codecs::{CodecFault, look_up};
use crate::work::{FrameRate, Raster};

/// How much a job is.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Amount {
    pub size: Spread<Information>,
    /// The rate at which it plays, where that is told.
    pub plays_at: Option<Spread<DataRate>>,
}

/// What material looks like.
const MATERIAL: &str =
    "write codec, raster and frame rate, for example: ProRes 422 HQ UHD 25 fps x 2 h";

/// Where all codecs are.
const LISTED: &str = "write a rate, or one of the codecs that this lists: narrows facts codecs";

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

/// A rate that is written as one, or that of a codec.
fn rate_of(text: &str, catalogue: &Catalogue) -> Result<Spread<DataRate>, UnitFault> {
    if text.starts_with(|c: char| c.is_ascii_digit()) {
        return parse::<DataRate>(text).map(Spread::exact);
    }
    let words: Vec<&str> = text.split([' ', ',']).filter(|w| !w.is_empty()).collect();
    let (words, frames) = match words.as_slice() {
        [rest @ .., number, unit] if FrameRate::parse(unit).is_err() && number_of(number) => {
            (rest, format!("{number} {unit}"))
        }
        [rest @ .., number] if number_of(number) => (rest, format!("{number} fps")),
        [rest @ .., frames] => (rest, (*frames).to_owned()),
        [] => (&[][..], String::new()),
    };
    let fault = |found: String, help: &str| UnitFault {
        span: 0..text.len(),
        found,
        help: help.to_owned(),
        instead: None,
    };
    let unfinished = || {
        let found = format!("'{text}' does not end with a raster and a frame rate");
        fault(found, MATERIAL)
    };
    let (raster, codec) = words.split_last().ok_or_else(unfinished)?;
    let frames = FrameRate::parse(&frames).map_err(|_| unfinished())?;
    let raster = Raster::parse(raster, catalogue).map_err(|f| fault(f.found, MATERIAL))?;
    match look_up(catalogue, &codec.join(" "), raster, frames) {
        Ok(found) => Ok(found.rate),
        Err(CodecFault::Unknown { name, .. }) if name.is_empty() => Err(fault(
            "no codec stands before the raster".to_owned(),
            MATERIAL,
        )),
        Err(unknown) => Err(fault(unknown.to_string(), LISTED)),
    }
}

/// Whether a word is a plain number, as a frame rate may be.
fn number_of(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_digit())
        && word
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, '.' | '/'))
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
