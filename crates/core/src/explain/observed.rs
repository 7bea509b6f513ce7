use super::Observations;
use super::found::LeftOut;
use super::reading::{Amount, Exactness, Meaning, RateReading, Reading, What};
use super::scenarios::Ask;
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::{Information, Measure, megabytes_per_second};
use crate::route::routes;
use crate::site::Site;
use crate::work::Direction;

/// Which meanings of a number count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Unit {
    /// As it is written.
    Written,
    /// Another unit than written.
    Slipped,
}

/// How numbers scatter.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scatter {
    pub point: f64,
    pub about: f64,
    pub copies: f64,
    pub wire: f64,
    pub drives: f64,
    pub peak: f64,
    pub tail: f64,
    pub floor: f64,
}

impl Scatter {
    pub(crate) fn new(catalogue: &Catalogue) -> Result<Self, CatalogueFault> {
        let likely = |id: &str| catalogue.number(id).map(|n| n.likely);
        Ok(Self {
            point: likely("explain.scatter.point")?,
            about: likely("explain.scatter.about")?,
            copies: likely("explain.scatter.copies")?,
            wire: likely("explain.scatter.wire")?,
            drives: likely("explain.scatter.drives")?,
            peak: likely("explain.scatter.peak")?,
            tail: likely("explain.tail.share")?,
            floor: likely("explain.floor")?,
        })
    }

    /// The same where the models are the truth and only readings scatter.
    #[cfg(test)]
    pub(crate) fn exact(self) -> Self {
        Self {
            copies: 0.02,
            wire: 0.02,
            drives: 0.02,
            ..self
        }
    }

    /// What the models of a kind of reading leave open.
    fn model(&self, observed: &Observed) -> f64 {
        match observed.what {
            What::RawTcp => self.wire,
            What::LocalArray | What::LocalDisk => self.drives,
            // drives take pieces, whoever asks for them
            _ if observed.pieces().is_some() => self.drives,
            _ => self.copies,
        }
    }
}

/// A rate that was measured, ready to be held against predictions.
#[derive(Clone, Debug)]
pub(crate) struct Observed {
    /// Place among the readings.
    pub index: usize,
    pub what: What,
    /// Whose it is.
    pub desk: String,
    /// The ways it may be of, with their weights.
    pub asks: Vec<(Ask, f64)>,
    numbers: Vec<Number>,
    exactness: Exactness,
}

#[derive(Clone, Copy, Debug)]
struct Number {
    low: f64,
    middle: f64,
    high: f64,
    weight: f64,
    slip: bool,
}

impl Observed {
    /// All rates among the readings.
    pub(crate) fn all(told: &Observations) -> Vec<Self> {
        told.readings
            .iter()
            .enumerate()
            .filter_map(|(index, reading)| Self::new(index, reading, told))
            .collect()
    }

    fn new(index: usize, reading: &Reading, told: &Observations) -> Option<Self> {
        let Amount::Rate(rate) = &reading.amount else {
            return None;
        };
        let desk = told.desk_of(reading).to_owned();
        let directions: &[Direction] = match &reading.direction {
            Some(direction) => std::slice::from_ref(direction),
            None => &Direction::BOTH,
        };
        let asks = directions
            .iter()
            .map(|&direction| {
                let ask = Ask {
                    what: reading.what,
                    direction,
                    streams: reading.streams.max(1),
                    desk: desk.clone(),
                    random: reading.random.map(|piece| piece.base() as u64),
                };
                (ask, 1.0 / directions.len() as f64)
            })
            .collect();
        Some(Self {
            index,
            what: reading.what,
            desk,
            asks,
            numbers: numbers(rate),
            exactness: rate.exactness,
        })
    }

    /// The same with another rate.
    pub(crate) fn with(&self, rate: &RateReading) -> Self {
        Self {
            numbers: numbers(rate),
            exactness: rate.exactness,
            ..self.clone()
        }
    }

    pub(crate) fn is_over_the_network(&self) -> bool {
        !matches!(self.what, What::LocalArray | What::LocalDisk)
    }

    /// The size of pieces at random places, where it is of those.
    pub(crate) fn pieces(&self) -> Option<Information> {
        let bytes = self.asks.first()?.0.random?;
        Some(Information::from_base(bytes as f64))
    }

    /// How many copies at once.
    pub(crate) fn streams(&self) -> u32 {
        self.asks.first().map_or(1, |(ask, _)| ask.streams)
    }

    /// The likeliest rate in bytes a second.
    pub(crate) fn likeliest(&self) -> f64 {
        self.numbers.first().map_or(0.0, |n| libm::exp(n.middle))
    }

    /// Rates in bytes a second with their weights, of the meanings that count.
    pub(crate) fn numbers_of(&self, unit: Unit) -> Vec<(f64, f64)> {
        let meant = |n: &&Number| n.slip == (unit == Unit::Slipped);
        let all = self.numbers.iter().filter(meant);
        all.map(|n| (libm::exp(n.middle), n.weight)).collect()
    }

    /// The same with one of the meanings that the text does not deny in front.
    pub(crate) fn meaning(&self, at: usize) -> Self {
        let mut own = self.clone();
        let places = own.numbers.iter().enumerate().filter(|(_, n)| !n.slip);
        if let Some(place) = places.map(|(place, _)| place).nth(at) {
            let first = own.numbers.remove(place);
            own.numbers.insert(0, first);
        }
        own
    }

    /// How much of the number's weight is on another unit than written.
    pub(crate) fn slip(&self) -> f64 {
        let slipped = self.numbers.iter().filter(|n| n.slip);
        slipped.map(|n| n.weight).sum()
    }

    /// What it is told by where its number means what the unit says.
    pub(crate) fn law<'o>(&'o self, unit: Unit, scatter: &'o Scatter) -> Density<'o> {
        let meant = |n: &&Number| n.slip == (unit == Unit::Slipped);
        let numbers: Vec<(Number, Option<Bell>)> = self
            .numbers
            .iter()
            .filter(meant)
            .map(|number| (*number, self.bell(number, scatter)))
            .collect();
        Density {
            weights: numbers.iter().map(|(n, _)| n.weight).sum(),
            observed: self,
            scatter,
            numbers,
        }
    }

    /// The bell of a number that scatters on both sides alike.
    fn bell(&self, number: &Number, scatter: &Scatter) -> Option<Bell> {
        let own = match self.exactness {
            // what plays and what does not are ends, not the tails of a bell
            Exactness::Range if self.what == What::Playback => return None,
            Exactness::Point => scatter.point,
            Exactness::About => scatter.about,
            // the two ends of what was seen, as 5th and 95th percentile
            Exactness::Range => (number.high - number.low) / (2.0 * 1.645),
            _ => return None,
        };
        let model = scatter.model(self);
        let width = libm::sqrt(own * own + model * model);
        Some(Bell {
            middle: number.middle,
            width,
            height: BELL / width,
            narrow: 1.0 - scatter.tail,
            wide: scatter.tail / 3.0,
        })
    }

    /// The density of a number that scatters on one side, or bounds.
    fn of(&self, number: &Number, predicted: f64, scatter: &Scatter) -> f64 {
        match self.exactness {
            Exactness::Peak => {
                let model = scatter.model(self);
                let above = number.middle - predicted;
                let (width, scale) = if above > 0.0 {
                    (scatter.peak, 2.0 * scatter.peak / (scatter.peak + model))
                } else {
                    (model, 2.0 * model / (scatter.peak + model))
                };
                scale * bell(above / width) / width
            }
            // a bound tells that the rate is on this side of it, and no more
            Exactness::AtMost => 0.5 * below((number.high - predicted) / 0.1),
            Exactness::AtLeast => 0.5 * below((predicted - number.low) / 0.1),
            Exactness::Stalled => {
                let nothing = libm::log(megabytes_per_second(0.5).base());
                0.5 * below((nothing - predicted) / 0.5)
            }
            Exactness::Range if self.what == What::Playback => {
                let wide = (number.high - number.low).max(0.1);
                below((number.high - predicted) / 0.1) * below((predicted - number.low) / 0.1)
                    / wide
            }
            Exactness::Point | Exactness::About | Exactness::Range => {
                let bell = self.bell(number, scatter);
                bell.map_or(0.0, |bell| bell.at(predicted))
            }
        }
    }
}

/// A narrow bell with a wide one under it.
#[derive(Clone, Copy, Debug)]
struct Bell {
    middle: f64,
    width: f64,
    height: f64,
    narrow: f64,
    wide: f64,
}

impl Bell {
    fn at(&self, predicted: f64) -> f64 {
        let off = (self.middle - predicted) / self.width;
        if off.abs() > 24.0 {
            return 0.0;
        }
        // the ninth power of the wide bell is the narrow one
        let wide = libm::exp(-off * off / 18.0);
        let squared = wide * wide;
        let narrow = squared * squared * squared * squared * wide;
        self.height * (self.narrow * narrow + self.wide * wide)
    }
}

/// The probability, per factor of e, of hearing a number, where the way gives a rate.
#[derive(Clone, Debug)]
pub(crate) struct Density<'o> {
    observed: &'o Observed,
    scatter: &'o Scatter,
    numbers: Vec<(Number, Option<Bell>)>,
    weights: f64,
}

impl Density<'_> {
    /// For a rate with this logarithm.
    pub(crate) fn at(&self, predicted: f64) -> f64 {
        let floor = self.scatter.floor;
        if self.weights <= 0.0 {
            return floor;
        }
        let each = self.numbers.iter().map(|(number, bell)| {
            let density = match bell {
                Some(bell) => bell.at(predicted),
                None => self.observed.of(number, predicted, self.scatter),
            };
            number.weight * density
        });
        (each.sum::<f64>() / self.weights).max(floor)
    }

    /// For logarithms of rates, one a direction that it may be of; nothing where there is no path.
    pub(crate) fn over(&self, logs: &[Option<f64>]) -> f64 {
        let each = self.observed.asks.iter().zip(logs);
        each.filter_map(|((_, weight), log)| Some(weight * self.at((*log)?)))
            .sum()
    }
}

/// The logarithm of a rate in bytes a second, as densities take it.
pub(crate) fn log_of(rate: f64) -> f64 {
    libm::log(rate.max(1.0))
}

/// Why the way of a reading cannot be predicted at a site.
pub(crate) fn left_out(observed: &Observed, site: &Site) -> LeftOut {
    if observed.what == What::LocalArray {
        return LeftOut::NoArray;
    }
    if !site.desks.iter().any(|d| d.name == observed.desk) {
        LeftOut::NoDesk
    } else if routes(site, &observed.desk).is_empty() {
        LeftOut::NoWay
    } else {
        LeftOut::NoLink
    }
}

fn numbers(rate: &RateReading) -> Vec<Number> {
    let ln = |q: crate::quantity::DataRate| libm::log(q.base().max(1.0));
    rate.meanings
        .iter()
        .map(|m: &Meaning| Number {
            low: ln(m.low),
            middle: match rate.exactness {
                Exactness::Range => f64::midpoint(ln(m.low), ln(m.high)),
                _ => ln(m.middle),
            },
            high: ln(m.high),
            weight: m.weight,
            slip: m.slip,
        })
        .collect()
}

/// The standard normal density at its middle.
const BELL: f64 = 0.398_942_280_401_432_7;

/// The standard normal density.
fn bell(x: f64) -> f64 {
    BELL * libm::exp(-0.5 * x * x)
}

/// The standard normal probability below a score.
fn below(score: f64) -> f64 {
    0.5 * libm::erfc(-score / std::f64::consts::SQRT_2)
}
