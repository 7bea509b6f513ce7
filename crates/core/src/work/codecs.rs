//! What a codec takes at a raster and a frame rate.
//!
//! A rate that is in print comes first; where none is, the codec's rule gives it and the answer
//! says so. Names are matched without regard to case, spaces and signs.

use super::sizes::{
    dpx_frame, exr_half_frame, frame_at_bits, frame_in_steps_of_4096, packed_10_bit_frame,
    rate_of_frames,
};
use super::{FrameRate, Raster};
use crate::catalogue::{Catalogue, CatalogueFault, CodecRow};
use crate::nearest::nearest;
use crate::quantity::{DataRate, Information, Measure, bytes};
use crate::spread::{Bounds, Law, Spread};

/// A frame rate that is further from every one in print is not taken for it.
const NEAR_ENOUGH: f64 = 1.3;

/// How steady the rate of a codec is within a second or two.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Steadiness {
    /// Every frame has the same size.
    FixedFrame,
    /// A target that is also the ceiling; files lie a little below.
    Target,
    /// Long groups of pictures: bursts above the mean.
    LongGop,
    /// Constant quality: as the scene asks.
    Quality,
}

impl Steadiness {
    const ALL: [Self; 4] = [Self::FixedFrame, Self::Target, Self::LongGop, Self::Quality];

    /// In one word.
    pub fn word(self) -> &'static str {
        match self {
            Self::FixedFrame => "fixed-frame",
            Self::Target => "target",
            Self::LongGop => "long-gop",
            Self::Quality => "quality",
        }
    }

    /// Peak over mean in windows of a second.
    ///
    /// # Errors
    /// Where the catalogue lacks the row.
    pub fn peak_over_mean(self, catalogue: &Catalogue) -> Result<Spread<f64>, CatalogueFault> {
        catalogue.spread(&format!("codec.peak.{}", self.word()))
    }

    /// Mean over the rate that is in print.
    ///
    /// # Errors
    /// Where the catalogue lacks the row.
    pub fn mean_over_printed(self, catalogue: &Catalogue) -> Result<Spread<f64>, CatalogueFault> {
        match self {
            Self::Target => catalogue.spread("codec.mean.target"),
            _ => Ok(Spread::exact(1.0)),
        }
    }
}

/// How the rate of a codec is found where none is in print.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Rule {
    Printed,
    BitsPerPixel,
    StepsOf4096,
    UhdFrame,
    Packed10,
    Dpx10,
    Dpx16,
    ExrHalf,
}

impl Rule {
    fn of(word: &str) -> Option<Self> {
        Some(match word {
            "printed" => Self::Printed,
            "bits-per-pixel" => Self::BitsPerPixel,
            "steps-of-4096" => Self::StepsOf4096,
            "uhd-frame" => Self::UhdFrame,
            "packed-10" => Self::Packed10,
            "dpx-10" => Self::Dpx10,
            "dpx-16" => Self::Dpx16,
            "exr-half" => Self::ExrHalf,
            _ => return None,
        })
    }

    /// Bytes of a frame; none where the rule does not reach.
    fn frame(self, number: f64, raster: Raster) -> Option<Information> {
        Some(match self {
            Self::Printed => return None,
            Self::BitsPerPixel => frame_at_bits(number, raster),
            Self::StepsOf4096 => frame_in_steps_of_4096(number, raster),
            Self::UhdFrame => {
                let uhd = Raster {
                    width: 3840,
                    height: 2160,
                };
                return (raster == uhd).then(|| bytes(number));
            }
            Self::Packed10 => packed_10_bit_frame(raster),
            Self::Dpx10 => dpx_frame(raster, false),
            Self::Dpx16 => dpx_frame(raster, true),
            Self::ExrHalf => exr_half_frame(raster, bytes(number)),
        })
    }

    /// Whether every picture is a file of its own.
    fn is_sequence(self) -> bool {
        matches!(self, Self::Dpx10 | Self::Dpx16 | Self::ExrHalf)
    }
}

/// Where a rate comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// In print for this raster and frame rate.
    Printed,
    /// In print for this raster and the frame rate named here.
    NearestPrinted(FrameRate),
    /// The codec's rule.
    Rule,
}

/// What a codec takes.
#[derive(Clone, Debug, PartialEq)]
pub struct CodecRate {
    /// The word of the codec.
    pub codec: String,
    /// Its name as shown.
    pub name: String,
    /// Pictures only, no sound; the target or mean that is in print, or the rule's.
    pub rate: Spread<DataRate>,
    /// Where that comes from.
    pub basis: Basis,
    /// How steady it is.
    pub steadiness: Steadiness,
    /// Whether every picture is a file of its own.
    pub is_sequence: bool,
    /// Source of the printed rate or of the rule.
    pub source: String,
}

impl CodecRate {
    /// Where the rate comes from, in words.
    pub fn because(&self) -> String {
        match self.basis {
            Basis::Printed => format!("published; {}", self.source),
            Basis::NearestPrinted(frames) => {
                format!("as published for {frames}; {}", self.source)
            }
            Basis::Rule => format!("calculated; {}", self.source),
        }
    }
}

/// Why a codec has no rate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CodecFault {
    /// No codec has that name.
    Unknown {
        /// What was asked for.
        name: String,
        /// The nearest name.
        nearest: Option<String>,
        /// The names that are shown.
        known: Vec<String>,
    },
    /// The codec is in print for other rasters only.
    Raster {
        /// The codec's name.
        name: String,
        /// What was asked for.
        raster: Raster,
        /// Rasters that are in print.
        known: Vec<String>,
    },
    /// The codec is in print for other frame rates only.
    Frames {
        /// The codec's name.
        name: String,
        /// What was asked for.
        frames: FrameRate,
        /// Frame rates that are in print for that raster.
        known: Vec<String>,
    },
    /// A row of the catalogue is broken.
    Catalogue(CatalogueFault),
}

impl From<CatalogueFault> for CodecFault {
    fn from(fault: CatalogueFault) -> Self {
        Self::Catalogue(fault)
    }
}

impl std::fmt::Display for CodecFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Unknown { name, nearest, .. } => {
                write!(f, "'{name}' is no codec that is known here")?;
                match nearest {
                    Some(near) => write!(f, "; did you mean '{near}'?"),
                    None => Ok(()),
                }
            }
            Self::Raster {
                name,
                raster,
                known,
            } => write!(
                f,
                "{name} is known for {} and not for {raster}",
                known.join(", ")
            ),
            Self::Frames {
                name,
                frames,
                known,
            } => write!(
                f,
                "{name} is known for {} fps and not for {frames}",
                known.join(", ")
            ),
            Self::Catalogue(fault) => write!(f, "{fault}"),
        }
    }
}

impl std::error::Error for CodecFault {}

/// A codec by one of its names.
///
/// # Errors
/// With the nearest name.
pub fn by_name<'a>(catalogue: &'a Catalogue, name: &str) -> Result<&'a CodecRow, CodecFault> {
    let wanted = letters(name);
    let rows = catalogue.codecs();
    let found = rows.iter().find(|row| {
        letters(&row.codec) == wanted || row.names.iter().any(|n| letters(n) == wanted)
    });
    found.ok_or_else(|| {
        let names = || rows.iter().flat_map(|row| row.names.iter());
        CodecFault::Unknown {
            name: name.trim().to_owned(),
            nearest: nearest(name.trim(), names().map(String::as_str)).map(str::to_owned),
            known: rows
                .iter()
                .filter_map(|r| r.names.first().cloned())
                .collect(),
        }
    })
}

/// Letters and digits only, in lower case: what counts when names are compared.
fn letters(name: &str) -> String {
    name.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

/// What a codec takes at a raster and a frame rate.
///
/// In print for both: that. Else the codec's rule, if it has one: bits a pixel over the raster
/// (within 0.5 % of the printed targets, see `validate_bits_per_pixel_of_targets`), or bytes a frame.
/// Codecs that are set to one of a few rates have no rule: the printed frame rate that is nearest,
/// within a factor of 1.3. Pictures only; sound and container add 0.2 to 2 %.
///
/// # Errors
/// With the nearest name, or with the rasters and frame rates that are known.
pub fn look_up(
    catalogue: &Catalogue,
    name: &str,
    raster: Raster,
    frames: FrameRate,
) -> Result<CodecRate, CodecFault> {
    let row = by_name(catalogue, name)?;
    let shown = row.names.first().unwrap_or(&row.codec).clone();
    let fault = |problem: &str| CatalogueFault {
        place: format!("codecs.csv: {}", row.codec),
        problem: problem.to_owned(),
    };
    let rule = Rule::of(&row.rule).ok_or_else(|| fault("the rule means nothing"))?;
    let steadiness = Steadiness::ALL
        .into_iter()
        .find(|s| s.word() == row.steadiness)
        .ok_or_else(|| fault("the steadiness means nothing"))?;
    let answer = |rate: Spread<DataRate>, basis: Basis, source: &str| CodecRate {
        codec: row.codec.clone(),
        name: shown.clone(),
        rate,
        basis,
        steadiness,
        is_sequence: rule.is_sequence(),
        source: source.to_owned(),
    };
    let id = |frames: &str| format!("codec.{}.{raster}.{frames}", row.codec);
    let exact = id(&frames.name());
    if let Ok(number) = catalogue.number(&exact) {
        return Ok(answer(
            catalogue.spread(&exact)?,
            Basis::Printed,
            &number.source,
        ));
    }
    let mut ends = [0.0; 3];
    for (end, number) in ends.iter_mut().zip(row.number) {
        let Some(frame) = rule.frame(number, raster) else {
            return nearest_printed(catalogue, row, &shown, (raster, frames)).and_then(|found| {
                let id = id(&found.name());
                let source = catalogue.number(&id)?.source.clone();
                Ok(answer(
                    catalogue.spread(&id)?,
                    Basis::NearestPrinted(found),
                    &source,
                ))
            });
        };
        *end = rate_of_frames(frame, frames).base();
    }
    let [low, likely, high] = ends;
    let law = Law::percentiles(low, Some(likely), high, Bounds::POSITIVE)
        .map_err(|problem| fault(&problem))?;
    Ok(answer(Spread::from_law(law), Basis::Rule, &row.source))
}

/// The frame rate in print that is nearest, for a codec without a rule.
fn nearest_printed(
    catalogue: &Catalogue,
    row: &CodecRow,
    shown: &str,
    (raster, frames): (Raster, FrameRate),
) -> Result<FrameRate, CodecFault> {
    let head = format!("codec.{}.", row.codec);
    // rates in print: raster and frame rate
    let printed: Vec<(&str, &str)> = catalogue
        .numbers()
        .filter_map(|n| n.id.strip_prefix(&head)?.split_once('.'))
        .collect();
    let wanted = raster.to_string();
    let mut known: Vec<(FrameRate, &str)> = printed
        .iter()
        .filter(|(r, _)| *r == wanted)
        .filter_map(|(_, f)| Some((FrameRate::parse(&format!("{f} fps")).ok()?, *f)))
        .collect();
    if known.is_empty() {
        let mut known: Vec<String> = printed.iter().map(|(r, _)| (*r).to_owned()).collect();
        known.dedup();
        if known.is_empty() {
            known.push("3840x2160".to_owned());
        }
        return Err(CodecFault::Raster {
            name: shown.to_owned(),
            raster,
            known,
        });
    }
    known.sort_by(|(a, _), (b, _)| a.frames().base().total_cmp(&b.frames().base()));
    let far = |other: &FrameRate| {
        let (a, b) = (frames.frames().base(), other.frames().base());
        if a > b { a / b } else { b / a }
    };
    let best = known
        .iter()
        .map(|(f, _)| *f)
        .min_by(|a, b| far(a).total_cmp(&far(b)));
    best.filter(|b| far(b) <= NEAR_ENOUGH)
        .ok_or_else(|| CodecFault::Frames {
            name: shown.to_owned(),
            frames,
            known: known.iter().map(|(_, name)| (*name).to_owned()).collect(),
        })
}

#[cfg(test)]
mod tests;
