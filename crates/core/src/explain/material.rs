//! What a film that plays, or does not, says of a rate: so many layers of its material.

use super::Observations;
use super::reading::{Amount, Exactness, Meaning, RateReading, RateUnit, Reading};
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Measure};
use crate::work::codecs::{by_name, look_up};
use crate::work::{Direction, Does, FrameRate, Raster};

/// A reading of layers of which nobody told the material.
#[derive(Clone, Debug, PartialEq)]
pub struct MaterialAsked {
    /// Place among the readings.
    pub index: usize,
    /// What it may be, the likeliest first.
    pub choices: Vec<MaterialChoice>,
}

/// One material.
#[derive(Clone, Debug, PartialEq)]
pub struct MaterialChoice {
    /// As people write it: `ProRes 422 HQ UHD 25 fps`.
    pub material: String,
    /// What one layer of it takes, lowest and highest.
    pub layer: [DataRate; 2],
}

/// Codecs that are offered where none is told.
const USUAL: [&str; 3] = ["ProRes 422 HQ", "ProRes 422", "DNxHR HQ"];

/// Resolutions that are offered where none is told.
const RASTERS: [&str; 2] = ["UHD", "HD"];

/// Frame rates that it may be where none is told: the lowest, the usual and the highest.
const FRAMES: [&str; 3] = ["24 fps", "25 fps", "30 fps"];

/// So many are offered.
const OFFERED: usize = 4;

/// A codec's name has so many words at most.
const WORDS: usize = 4;

/// Turns readings of layers into rates by their material, and gives back those whose material is not told.
///
/// `n` layers that play say that the way carries `n r` or more, `m` that do not that it carries less than `m r`, with `r` the rate
/// of one layer: of the codec that the text names, else of what the desk plays in the site. Where no frame rate is told `r` is an
/// interval from 24 to 30. Checked by `layers_become_a_rate_with_two_ends`.
pub fn play(told: &mut Observations, catalogue: &Catalogue) -> Vec<MaterialAsked> {
    let mut asked = Vec::new();
    for index in 0..told.readings.len() {
        let Some(reading) = told.readings.get(index) else {
            continue;
        };
        if !matches!(reading.amount, Amount::Layers { .. }) {
            continue;
        }
        let choices = choices(told, reading, catalogue);
        match &choices[..] {
            [only] => {
                let only = only.clone();
                if let Some(reading) = told.readings.get_mut(index) {
                    play_of(reading, &only);
                }
            }
            _ => asked.push(MaterialAsked { index, choices }),
        }
    }
    asked
}

/// Makes a reading of layers a rate, with the material known.
pub fn play_of(reading: &mut Reading, material: &MaterialChoice) {
    let Amount::Layers { low, high } = reading.amount else {
        return;
    };
    let [least, most] = material.layer.map(Measure::base);
    let (from, to, exactness) = match (low, high) {
        (Some(low), Some(high)) if low < high => (low * least, high * most, Exactness::Range),
        (Some(low), _) => (low * least, low * least, Exactness::AtLeast),
        (None, Some(high)) => (high * most, high * most, Exactness::AtMost),
        (None, None) => return,
    };
    let middle = libm::sqrt(from * to);
    let [low_rate, middle, high_rate] = [from, middle, to].map(DataRate::from_base);
    // layers are read in turns
    reading.streams = low.or(high).map_or(1, |layers| layers.max(1.0) as u32);
    reading.direction = reading.direction.or(Some(Direction::Read));
    reading.amount = Amount::Rate(RateReading {
        meanings: vec![Meaning {
            unit: RateUnit::Megabytes,
            low: low_rate,
            middle,
            high: high_rate,
            weight: 1.0,
            slip: false,
        }],
        exactness,
    });
}

/// What a text names of its material.
#[derive(Default)]
struct Named {
    codec: Option<String>,
    raster: Option<Raster>,
    frames: Option<FrameRate>,
}

impl Named {
    fn in_text(text: &str, catalogue: &Catalogue) -> Self {
        let words: Vec<&str> = text
            .split(|c: char| !(c.is_alphanumeric() || c == '.' || c == '/'))
            .map(|word| word.trim_matches('.'))
            .filter(|word| !word.is_empty())
            .collect();
        let mut found = Self::default();
        let mut longest = 0;
        for from in 0..words.len() {
            for length in 1..=WORDS {
                let Some(some) = words.get(from..from + length) else {
                    break;
                };
                if length > longest
                    && let Ok(row) = by_name(catalogue, &some.join(" "))
                {
                    longest = length;
                    found.codec = Some(row.names.first().unwrap_or(&row.codec).clone());
                }
            }
            let word = words.get(from).copied().unwrap_or_default();
            if let Ok(raster) = Raster::parse(word, catalogue) {
                found.raster = found.raster.or(Some(raster));
                continue;
            }
            let with_next = || Some(format!("{word} {}", words.get(from + 1)?));
            let frames = FrameRate::parse(word).ok();
            let frames = frames.or_else(|| FrameRate::parse(&with_next()?).ok());
            found.frames = found.frames.or(frames);
        }
        found
    }
}

fn choices(told: &Observations, reading: &Reading, catalogue: &Catalogue) -> Vec<MaterialChoice> {
    let named = Named::in_text(&reading.text, catalogue);
    if let (Some(codec), Some(raster)) = (&named.codec, named.raster) {
        let word = word_of(raster, catalogue);
        return choice(codec, &word, raster, named.frames, catalogue)
            .into_iter()
            .collect();
    }
    let own = of_the_site(told, told.desk_of(reading), &named, catalogue);
    if !own.is_empty() {
        return own;
    }
    let codecs: Vec<&str> = match &named.codec {
        Some(codec) => vec![codec.as_str()],
        None => USUAL.to_vec(),
    };
    let rasters: Vec<(String, Raster)> = match named.raster {
        Some(raster) => vec![(word_of(raster, catalogue), raster)],
        None => RASTERS
            .iter()
            .filter_map(|word| Some(((*word).to_owned(), Raster::parse(word, catalogue).ok()?)))
            .collect(),
    };
    let usual = FrameRate::parse(FRAMES[1]).ok();
    let mut found = Vec::new();
    for (word, raster) in &rasters {
        for codec in &codecs {
            let frames = named.frames.or(usual);
            found.extend(choice(codec, word, *raster, frames, catalogue));
        }
    }
    found.truncate(OFFERED);
    found
}

/// A codec at a resolution; at any usual frame rate where that is not told.
fn choice(
    codec: &str,
    word: &str,
    raster: Raster,
    frames: Option<FrameRate>,
    catalogue: &Catalogue,
) -> Option<MaterialChoice> {
    let of = |frames: FrameRate| {
        let found = look_up(catalogue, codec, raster, frames).ok()?;
        Some(found.rate.median())
    };
    let layer = if let Some(frames) = frames {
        [of(frames)?; 2]
    } else {
        let [low, _, high] = FRAMES;
        let at = |text: &str| FrameRate::parse(text).ok().and_then(of);
        [at(low)?, at(high)?]
    };
    let frames = frames.map_or(String::new(), |frames| format!(" {}", frames.name()));
    let fps = if frames.is_empty() { "" } else { " fps" };
    Some(MaterialChoice {
        material: format!("{codec} {word}{frames}{fps}"),
        layer,
    })
}

/// A resolution by its name, where it has one.
fn word_of(raster: Raster, catalogue: &Catalogue) -> String {
    let pixels = raster.to_string();
    let mut words = catalogue.words("raster");
    let named = words.find(|word| word.meaning == pixels);
    named.map_or(pixels, |word| word.word.clone())
}

/// What a desk plays by its tasks, each material once.
fn of_the_site(
    told: &Observations,
    desk: &str,
    named: &Named,
    catalogue: &Catalogue,
) -> Vec<MaterialChoice> {
    let Some(site) = told.likeliest_site() else {
        return Vec::new();
    };
    let mut found: Vec<MaterialChoice> = Vec::new();
    let own = site
        .tasks
        .iter()
        .filter(|task| task.desk == desk && task.does == Does::Play);
    for material in own.filter_map(|task| task.material.as_ref()) {
        let fits = named
            .codec
            .as_ref()
            .is_none_or(|codec| *codec == material.codec)
            && named.raster.is_none_or(|raster| raster == material.raster);
        let rate = material.rate.median();
        let one = MaterialChoice {
            material: format!(
                "{} {} {} fps",
                material.codec,
                word_of(material.raster, catalogue),
                material.frames.name()
            ),
            layer: [rate; 2],
        };
        if fits && !found.contains(&one) {
            found.push(one);
        }
    }
    found
}

/// Whether nothing but layers of unknown material was measured.
pub fn needs_material(told: &Observations) -> bool {
    let is_rate = |reading: &Reading| matches!(reading.amount, Amount::Rate(_));
    !told.readings.iter().any(is_rate)
}
