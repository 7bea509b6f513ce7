//! Rasters and frame rates, as people write them.

use crate::catalogue::Catalogue;
use crate::nearest::nearest;
use crate::quantity::{Frequency, Measure, UnitFault};

/// Sides beyond this are a slip of the pen.
const MOST_PIXELS: u32 = 32_768;

/// Frames a second beyond this are a slip of the pen.
const MOST_FRAMES: f64 = 1000.0;

/// Frame rates of television that are not what they are called: name, then numerator over 1001.
const NEARLY_WHOLE: [(&str, u32); 7] = [
    ("23.976", 24_000),
    ("23.98", 24_000),
    ("29.97", 30_000),
    ("47.952", 48_000),
    ("47.95", 48_000),
    ("59.94", 60_000),
    ("119.88", 120_000),
];

/// How many pixels a picture has each way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Raster {
    /// Pixels in a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
}

impl Raster {
    /// Reads `3840x2160`, or a name of the catalogue such as `UHD`.
    ///
    /// # Errors
    /// With the nearest name, or the side that is out of range.
    pub fn parse(text: &str, catalogue: &Catalogue) -> Result<Self, UnitFault> {
        let word = text.trim();
        let named = catalogue
            .words("raster")
            .find(|w| w.word.eq_ignore_ascii_case(word));
        let numbers = named.map_or(word, |w| w.meaning.as_str());
        if let Some(raster) = Self::of_numbers(numbers) {
            return Ok(raster);
        }
        let names: Vec<&str> = catalogue.words("raster").map(|w| w.word.as_str()).collect();
        let near = nearest(word, names.iter().copied());
        let start = text.find(word).unwrap_or(0);
        Err(UnitFault {
            span: start..start + word.len(),
            found: match near {
                Some(near) => format!("'{word}' is no resolution; did you mean '{near}'?"),
                None => format!("'{word}' is no resolution"),
            },
            help: format!(
                "write pixels a row x rows, for example 3840x2160, or one of {}",
                names.join(", ")
            ),
            instead: near.map(str::to_owned),
        })
    }

    fn of_numbers(text: &str) -> Option<Self> {
        let (width, height) = text.split_once(['x', 'X', '×'])?;
        let side = |text: &str| {
            let pixels = text.trim().parse::<u32>().ok()?;
            (16..=MOST_PIXELS).contains(&pixels).then_some(pixels)
        };
        Some(Self {
            width: side(width)?,
            height: side(height)?,
        })
    }

    /// All pixels of a picture.
    pub fn pixels(self) -> f64 {
        f64::from(self.width) * f64::from(self.height)
    }
}

impl std::fmt::Display for Raster {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}x{}", self.width, self.height)
    }
}

/// Frames a second, as an exact fraction: 23.976 is 24000/1001.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct FrameRate {
    numerator: u32,
    denominator: u32,
}

impl FrameRate {
    /// A whole number of frames a second.
    pub const fn whole(frames: u32) -> Self {
        Self {
            numerator: frames,
            denominator: 1,
        }
    }

    /// A rate of television: so many thousands of frames in 1001 seconds.
    pub const fn over_1001(thousands: u32) -> Self {
        Self {
            numerator: thousands * 1000,
            denominator: 1001,
        }
    }

    /// Reads `25 fps`, `23.976 fps` or `24000/1001 fps`.
    ///
    /// # Errors
    /// Where it is no number, has no unit, or is out of range.
    pub fn parse(text: &str) -> Result<Self, UnitFault> {
        let fault = |found: String, instead: Option<String>| UnitFault {
            span: 0..text.len(),
            found,
            help: "write frames a second, for example 25 fps or 23.976 fps".to_owned(),
            instead,
        };
        let trimmed = text.trim();
        let number = ["fps", "frames/s", "frames a second", "p"]
            .iter()
            .find_map(|unit| trimmed.strip_suffix(unit))
            .map(str::trim_end);
        let rate = Self::of_number(number.unwrap_or(trimmed));
        match (rate, number) {
            (Some(rate), Some(_)) => Ok(rate),
            (Some(_), None) => Err(fault(
                format!("'{trimmed}' has no unit"),
                Some(format!("{trimmed} fps")),
            )),
            (None, _) => Err(fault(format!("'{trimmed}' is no frame rate"), None)),
        }
    }

    fn of_number(text: &str) -> Option<Self> {
        if let Some((_, numerator)) = NEARLY_WHOLE.iter().find(|(name, _)| *name == text) {
            return Some(Self {
                numerator: *numerator,
                denominator: 1001,
            });
        }
        let found = if let Some((over, under)) = text.split_once('/') {
            Self {
                numerator: over.trim().parse().ok()?,
                denominator: under.trim().parse().ok().filter(|&n| n > 0)?,
            }
        } else {
            let (whole, decimals) = text.split_once('.').unwrap_or((text, ""));
            let digits = format!("{whole}{decimals}");
            if decimals.len() > 3 || !digits.bytes().all(|b| b.is_ascii_digit()) {
                return None;
            }
            let denominator = 10u32.pow(decimals.len() as u32);
            let numerator = digits.parse::<u32>().ok()?;
            let common = greatest_common(numerator, denominator);
            Self {
                numerator: numerator / common,
                denominator: denominator / common,
            }
        };
        let frames = found.frames().base();
        (frames > 0.0 && frames <= MOST_FRAMES).then_some(found)
    }

    /// Frames a second.
    pub fn frames(self) -> Frequency {
        Frequency::from_base(f64::from(self.numerator) / f64::from(self.denominator))
    }

    /// As people call it, without a unit: `23.976`.
    pub fn name(self) -> String {
        let nearly = NEARLY_WHOLE
            .iter()
            .find(|(_, n)| *n == self.numerator && self.denominator == 1001);
        match nearly {
            Some((name, _)) => (*name).to_owned(),
            None if self.denominator == 1 => self.numerator.to_string(),
            None => {
                let text = format!("{:.3}", self.frames().base());
                text.trim_end_matches('0').trim_end_matches('.').to_owned()
            }
        }
    }
}

/// Euclid's algorithm; one for zero and zero.
fn greatest_common(mut a: u32, mut b: u32) -> u32 {
    while b > 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

impl std::fmt::Display for FrameRate {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} fps", self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rates_of_television_are_fractions() {
        for (text, over, under, name) in [
            ("25 fps", 25, 1, "25"),
            ("23.976 fps", 24_000, 1001, "23.976"),
            ("23.98fps", 24_000, 1001, "23.976"),
            ("24000/1001 fps", 24_000, 1001, "23.976"),
            ("29.97 fps", 30_000, 1001, "29.97"),
            ("59.94 fps", 60_000, 1001, "59.94"),
            ("24.000 fps", 24, 1, "24"),
            ("12.5 fps", 25, 2, "12.5"),
        ] {
            let found = FrameRate::parse(text).unwrap();
            assert_eq!(
                (found.numerator, found.denominator),
                (over, under),
                "{text}"
            );
            assert_eq!(found.name(), name);
            assert_eq!(FrameRate::parse(&found.to_string()).unwrap(), found);
        }
        for (text, word) in [
            ("25", "no unit"),
            ("fast", "no frame rate"),
            ("0 fps", "no frame rate"),
            ("-25 fps", "no frame rate"),
            ("1e3 fps", "no frame rate"),
            ("25/0 fps", "no frame rate"),
            ("2.5.0 fps", "no frame rate"),
            (". fps", "no frame rate"),
            ("fps", "no frame rate"),
            ("99999 fps", "no frame rate"),
            ("9999999999999999 fps", "no frame rate"),
        ] {
            let fault = FrameRate::parse(text).unwrap_err();
            assert!(fault.found.contains(word), "{text}: {fault}");
        }
    }

    #[test]
    fn rasters_have_names_and_numbers() {
        let catalogue = Catalogue::embedded().unwrap();
        let read = |text: &str| Raster::parse(text, &catalogue);
        for (text, shown) in [
            ("3840x2160", "3840x2160"),
            ("uhd", "3840x2160"),
            (" HD ", "1920x1080"),
            ("4096 × 2160", "4096x2160"),
        ] {
            assert_eq!(read(text).unwrap().to_string(), shown);
        }
        for text in ["0x1080", "99999x2160", "1080", "", "x"] {
            assert!(read(text).is_err(), "{text}");
        }
        assert_eq!(read("UDH").unwrap_err().instead.as_deref(), Some("UHD"));
        // every name of the catalogue means something
        for word in catalogue.words("raster") {
            assert!(read(&word.word).is_ok(), "{}", word.word);
        }
    }
}
