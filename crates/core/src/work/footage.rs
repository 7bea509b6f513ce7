//! Footage by the hour: what so many hours of material take.

use super::codecs::{CodecFault, look_up};
use super::{FrameRate, Raster};
use crate::array::Bytes;
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Information, Measure, Time, UnitFault, parse, units};
use crate::spread::Spread;

/// What material looks like.
const MATERIAL: &str =
    "write codec, resolution and frame rate, for example: ProRes 422 HQ UHD 25 fps x 2 h";

/// Where all codecs are.
const LISTED: &str = "write a rate, or one of the codecs that this lists: narrows facts codecs";

/// So many hours of something.
#[derive(Clone, Debug, PartialEq)]
pub struct Footage {
    /// How long it plays.
    pub time: Time,
    /// What a stream of it takes, in the middle; pictures only.
    pub rate: DataRate,
    /// What all of it takes: `t r`.
    pub size: Information,
    /// What it is, as it was said.
    pub what: String,
}

impl Footage {
    /// What all of it takes, in whole bytes.
    pub fn bytes(&self) -> Bytes {
        Bytes::new(libm::ceil(self.size.get::<units::information::byte>()) as u64)
    }
}

/// `500 h of ProRes 422 HQ UHD 25 fps`, or `500 h of 880 Mb/s`; nothing where no hours are told.
///
/// `S = t r` with `t` the time and `r` the rate of the codec in the middle, pictures only: sound and
/// container add 0.2 to 2 %. Source: definition of a mean rate. Checked by
/// `validate_hours_of_a_published_rate`.
///
/// # Errors
/// With the part that is wrong.
pub fn footage(text: &str, catalogue: &Catalogue) -> Result<Option<Footage>, UnitFault> {
    let Some((time, what)) = text.split_once(" of ") else {
        return Ok(None);
    };
    let time = parse::<Time>(time.trim())?;
    let at = text.len() - what.len();
    let what = what.trim();
    let rate = rate_of(what, catalogue).map_err(|mut fault| {
        fault.span = at..text.len();
        fault
    })?;
    let rate = rate.median();
    if time.base() <= 0.0 {
        return Err(UnitFault::new(
            0..at,
            "that is no time",
            "write hours above zero, for example 500 h of ProRes 422 HQ UHD 25 fps",
        ));
    }
    Ok(Some(Footage {
        time,
        rate,
        size: rate * time,
        what: what.to_owned(),
    }))
}

/// A rate that is written as one, or that of a codec.
pub(crate) fn rate_of(text: &str, catalogue: &Catalogue) -> Result<Spread<DataRate>, UnitFault> {
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
        let found = format!("'{text}' does not end with a resolution and a frame rate");
        fault(found, MATERIAL)
    };
    let (raster, codec) = words.split_last().ok_or_else(unfinished)?;
    let frames = FrameRate::parse(&frames).map_err(|_| unfinished())?;
    let raster = Raster::parse(raster, catalogue).map_err(|f| fault(f.found, MATERIAL))?;
    match look_up(catalogue, &codec.join(" "), raster, frames) {
        Ok(found) => Ok(found.rate),
        Err(CodecFault::Unknown { name, .. }) if name.is_empty() => Err(fault(
            "no codec stands before the resolution".to_owned(),
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::in_megabytes_per_second;

    #[test]
    fn validate_hours_of_a_published_rate() {
        // 737 Mb/s is the published target of ProRes 422 HQ at 3840x2160, 25 fps
        let catalogue = Catalogue::embedded().unwrap();
        let found = footage("500 h of ProRes 422 HQ UHD 25 fps", &catalogue);
        let found = found.unwrap().unwrap();
        assert!((in_megabytes_per_second(found.rate) - 737.0 / 8.0).abs() < 0.5);
        let size = found.size.get::<units::information::terabyte>();
        // 500 x 3600 s x 737 Mb/s / 8
        assert!((size - 165.8).abs() < 1.0, "{size}");
    }

    #[test]
    fn what_is_no_footage_is_none_or_a_fault() {
        let catalogue = Catalogue::embedded().unwrap();
        assert_eq!(footage("60 TB", &catalogue), Ok(None));
        for text in ["500 h of nothing", "0 h of 880 Mb/s", "many h of 880 Mb/s"] {
            assert!(footage(text, &catalogue).is_err(), "{text}");
        }
    }
}
