//! What both ends speak, where that is told only in part.

use super::band::{Band, Generation, Width};
use super::phy::AirRate;
use super::snr::{Ladder, Needed};
use narrows_units::catalogue::{Catalogue, CatalogueFault};
use narrows_units::spread::Choice;

/// What both ends of a link can do at once.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Equipment {
    /// The band.
    pub band: Band,
    /// The older of both amendments.
    pub generation: Generation,
    /// The channel.
    pub width: Width,
    /// The fewer of both ends' streams.
    pub streams: usize,
}

impl std::fmt::Display for Equipment {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (generation, width) = (self.generation.word(), self.width.word());
        let plural = if self.streams == 1 { "" } else { "s" };
        write!(
            f,
            "{generation} {width} {} stream{plural} {}",
            self.streams,
            self.band.word()
        )
    }
}

/// The parts of [`Equipment`] that somebody told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Spoken {
    /// The band.
    pub band: Option<Band>,
    /// The amendment.
    pub generation: Option<Generation>,
    /// The channel.
    pub width: Option<Width>,
    /// Streams.
    pub streams: Option<usize>,
}

impl Spoken {
    /// What two ends speak together: the older amendment, the narrower channel, fewer streams,
    /// and the band of the first that names one.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self {
            band: self.band.or(other.band),
            generation: least(self.generation, other.generation),
            width: least(self.width, other.width),
            streams: least(self.streams, other.streams),
        }
    }
}

impl Spoken {
    /// What a box that has several radios speaks in a band that is not the told one: how wide its channel is there
    /// nobody said, and what its amendment has no place for it speaks as the one before that has.
    #[must_use]
    pub fn seen_in(self, band: Band) -> Self {
        let same = self.band.is_none_or(|told| told == band);
        let before = |told: Generation| {
            let older = Generation::ALL.into_iter().rev().filter(|one| *one <= told);
            older.into_iter().find(|one| one.knows(band))
        };
        Self {
            band: Some(band),
            width: self.width.filter(|width| same && *width <= band.widest()),
            generation: self.generation.and_then(before),
            streams: self.streams,
        }
    }
}

fn least<T: Ord>(a: Option<T>, b: Option<T>) -> Option<T> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    }
}

/// A rate that is shown lies this near to one of the ways, or it is none of theirs.
const NEAR: f64 = 0.03;

/// All equipment that goes with what is told, with its weight.
///
/// Weights of what is not told are those of the catalogue, independent of each other but for
/// what cannot be: ac at 2.4 GHz, a channel wider than the amendment or the band knows. A rate
/// that is shown leaves the equipment that has a way to show it. `None` where nothing goes with
/// what is told. `verify_equipment_that_is_told_in_part` checks it.
pub fn equipment(
    told: Spoken,
    shown: Option<AirRate>,
    needed: &Needed,
    catalogue: &Catalogue,
) -> Result<Option<Choice<Equipment>>, CatalogueFault> {
    let weight = |row: String| catalogue.number(&row).map(|number| number.likely);
    let mut all = Vec::new();
    for band in Band::ALL
        .into_iter()
        .filter(|b| told.band.is_none_or(|t| t == *b))
    {
        for generation in Generation::ALL {
            if told.generation.is_some_and(|t| t != generation) || !generation.knows(band) {
                continue;
            }
            for width in Width::ALL {
                let fits = width <= generation.widest().min(band.widest());
                if told.width.is_some_and(|t| t != width) || !fits {
                    continue;
                }
                for streams in 1..=4 {
                    if told.streams.map_or(streams > 3, |t| t != streams) {
                        continue;
                    }
                    let mut share = 1.0;
                    if told.band.is_none() {
                        share *= weight(format!("air.band.{}", band.row()))?;
                    }
                    if told.generation.is_none() {
                        share *= weight(format!("air.generation.{}", generation.word()))?;
                    }
                    if told.width.is_none() {
                        let mhz = 20 * width.twenties();
                        share *= weight(format!("air.width.{}.{mhz}", band.row()))?;
                    }
                    if told.streams.is_none() {
                        share *= weight(format!("air.streams.{streams}"))?;
                    }
                    let one = Equipment {
                        band,
                        generation,
                        width,
                        streams,
                    };
                    all.push((one, share, shown.map_or(0.0, |s| off(one, s, needed))));
                }
            }
        }
    }
    // where no way shows it, the nearest are taken: people round, and meters average
    let nearest = all
        .iter()
        .map(|(_, _, off)| *off)
        .fold(f64::INFINITY, f64::min);
    let bound = nearest.max(NEAR);
    Ok(Choice::weighted(
        all.into_iter()
            .filter(|(_, _, off)| *off <= bound)
            .map(|(one, share, _)| (one, share)),
    ))
}

/// How far, in proportion, a rate lies from the nearest way of some equipment.
fn off(one: Equipment, shown: AirRate, needed: &Needed) -> f64 {
    let ladder = Ladder::new(
        needed,
        (one.generation, one.width),
        one.streams,
        one.streams,
    );
    let offs = ladder
        .ways()
        .map(|way| (way.rate().0 / shown.0 - 1.0).abs());
    offs.fold(f64::INFINITY, f64::min)
}
