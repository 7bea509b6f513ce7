//! One radio link, drawn: from what is told of it to payload each way.

use super::airtime::{Sender, clean};
use super::band::Band;
use super::equipment::{Equipment, Spoken, equipment};
use super::path::{straight, together, with_its_walls};
use super::phy::AirRate;
use super::snr::{Ladder, Needed, noise};
use crate::copper::{DecibelMilliwatts, Decibels};
use narrows_units::catalogue::{Catalogue, CatalogueFault};
use narrows_units::known::Value;
use narrows_units::quantity::{DataRate, Frequency, Length, Measure, Ratio, metres};
use narrows_units::spread::{Bounds, Choice, Spread, normal_score};
use narrows_units::working::{Column, How, Sheet};
use std::sync::Arc;

/// A wall, a floor or a thing in the way, by its row of the catalogue.
#[derive(Clone, Debug, PartialEq)]
pub struct Obstacle {
    /// The word, for example `brick`.
    pub kind: String,
    /// How many of them; a slanting way passes more than one.
    pub count: f64,
}

/// A way round what stands between: open doors, a corridor, a stairwell.
#[derive(Clone, Debug, PartialEq)]
pub struct WayRound {
    /// How much longer than the straight way.
    pub further: Length,
    /// Open or thin doors on it.
    pub doors: usize,
    /// Corners that it turns.
    pub corners: usize,
}

/// What somebody read off where the link is used.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Reading {
    /// Nothing.
    #[default]
    None,
    /// The strength of the signal at the desk.
    Signal(DecibelMilliwatts),
    /// The rate that the system shows.
    Shown(AirRate),
}

/// What stands between both ends, as far as it is told.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Between {
    /// How far apart, in a straight line.
    pub distance: Option<Value<Length>>,
    /// What is in the way; `None` where nothing is said of it.
    pub obstacles: Option<Vec<Obstacle>>,
    /// How many of the obstacles are floors.
    pub floors: usize,
    /// A way round.
    pub round: Option<WayRound>,
}

/// A radio link, as far as it is told.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    /// Site path of the link, for what is unknown of it alone.
    pub id: String,
    /// Site paths of both ends' equipment: of the access point and of the desk.
    pub ends: [String; 2],
    /// What both ends speak.
    pub speaks: Spoken,
    /// What stands between.
    pub between: Between,
    /// What was read off.
    pub reading: Reading,
    /// How much of the air others take, where that is told.
    pub busy: Option<Value<Ratio>>,
}

/// Which end sends the data.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sends {
    /// The access point: reading.
    Point,
    /// The desk: writing.
    Desk,
}

/// What a link carries.
#[derive(Clone, Debug)]
pub struct Carried {
    /// Payload of one stream alone, neighbours' share of the air taken off.
    pub rate: Column<DataRate>,
    /// The signal, where it matters.
    pub signal: Option<Column<f64>>,
    /// The draws in which there is no link; the rate there is that of the slowest way.
    pub dead: Vec<bool>,
}

const CARRIED: How = How {
    name: "payload of the radio link",
    formula: "clean(choose(signal - noise, M)) phi (1 - u)",
    symbols: &["signal", "noise", "M", "phi", "u"],
    source: "IEEE 802.11-2020 clauses 9, 10, 19, 21 and 27; data/air.csv",
};

const SIGNAL: How = How {
    name: "signal in dBm",
    formula: "E + G - body - loss - shadow",
    symbols: &["E", "G", "body", "loss", "shadow"],
    source: "link budget; ITU-R P.1238-11 for the shadow",
};

/// Why a link cannot be worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LinkFault {
    /// The catalogue lacks a row.
    Catalogue(CatalogueFault),
    /// No equipment goes with all that is told.
    NoEquipment,
}

impl From<CatalogueFault> for LinkFault {
    fn from(fault: CatalogueFault) -> Self {
        Self::Catalogue(fault)
    }
}

/// Decibels of either sign lie no further out than this.
const FAR: f64 = -200.0;

/// Draws what a link carries.
///
/// `signal = E + G - body - loss - X`, `SNR = signal - N`, the fastest way that `SNR` and the
/// margin `M` allow, its payload on clean air, times `phi` of the field, times `1 - u` of the
/// air. A shown rate replaces everything before the payload; a signal that was read weighs what
/// the signal may be (normal, `air.reading` wide) or, where nothing is told of the way, is it.
/// What is not told stands in the catalogue. Valid for one link at once, a straight way and at
/// most one round. Leaves out roaming, several users in one burst and two bands at once.
/// `validate_drawn_cases` and the field cases check it.
pub fn carried(
    link: &Link,
    sends: Sends,
    catalogue: &Catalogue,
    sheet: &mut Sheet<'_>,
) -> Result<Carried, LinkFault> {
    let needed = Needed::new(catalogue)?;
    let shown = match link.reading {
        Reading::Shown(rate) => Some(rate),
        _ => None,
    };
    let choice =
        equipment(link.speaks, shown, &needed, catalogue)?.ok_or(LinkFault::NoEquipment)?;
    let mut drawing = Drawing {
        link,
        sends,
        catalogue,
        sheet,
    };
    let pick = drawing
        .sheet
        .choose(&format!("{}/equipment", link.id), &choice, |one| {
            one.to_string()
        });
    let count = drawing.sheet.count();
    let field = drawing.ratio("air.field", "what the field leaves")?;
    let phi = field.every_base(count).into_owned();
    let busy = drawing.busy(&choice)?;
    let which: Vec<usize> = (0..count).map(|draw| pick.at(draw)).collect();
    let free: Vec<f64> = (0..count)
        .map(|draw| {
            1.0 - busy
                .get(which[draw])
                .and_then(|b| b.get(draw))
                .copied()
                .unwrap_or(0.0)
        })
        .collect();
    let kinds: Vec<Kind> = choice
        .options()
        .iter()
        .map(|(one, _)| Kind::new(*one, &needed))
        .collect();
    let mut rates = Vec::with_capacity(count);
    let mut dead = vec![false; count];
    let mut signal = None;
    if let Some(shown) = shown {
        let payload: Vec<f64> = kinds.iter().map(|kind| kind.of_shown(shown)).collect();
        for draw in 0..count {
            let clean = payload.get(which[draw]).copied().unwrap_or(0.0);
            rates.push(clean * phi[draw] * free[draw]);
        }
    } else {
        let received = drawing.received(&choice, &which)?;
        let figure = drawing.decibels(
            "air.figure",
            &format!("{}/figure", link.ends[usize::from(sends == Sends::Point)]),
            0.0,
        )?;
        let margin = drawing.decibels("air.margin", &format!("{}/margin", link.id), 0.0)?;
        for draw in 0..count {
            let Some(kind) = kinds.get(which[draw]) else {
                continue;
            };
            let snr = DecibelMilliwatts(received[draw]) - (kind.floor + Decibels(figure[draw]));
            let at = kind.ladder.choose(snr, Decibels(margin[draw]));
            dead[draw] = at.is_none();
            let clean = at.map_or(kind.slowest, |at| kind.payload[at]);
            rates.push(clean * phi[draw] * free[draw]);
        }
        signal = Some(drawing.sheet.made::<f64>(&SIGNAL, received.into(), &[]));
    }
    let steps = [Sheet::step_of(&field)];
    let rate = drawing.sheet.made(&CARRIED, Arc::from(rates), &steps);
    if !dead.contains(&true) {
        dead.clear();
    }
    Ok(Carried { rate, signal, dead })
}

/// One option of the equipment with what its ways carry.
struct Kind {
    ladder: Ladder,
    floor: DecibelMilliwatts,
    /// Bytes a second of clean air, a way each.
    payload: Vec<f64>,
    /// The rate on the air, a way each.
    shown: Vec<f64>,
    slowest: f64,
}

impl Kind {
    fn new(one: Equipment, needed: &Needed) -> Self {
        let ladder = Ladder::new(
            needed,
            (one.generation, one.width),
            one.streams,
            one.streams.max(2),
        );
        let sender = Sender::usual(one.generation);
        let payload: Vec<f64> = ladder
            .ways()
            .map(|way| clean(way, way, sender).rate.base())
            .collect();
        Self {
            shown: ladder.ways().map(|way| way.rate().0).collect(),
            slowest: payload.first().copied().unwrap_or(f64::NAN),
            floor: noise(one.width, Decibels(0.0)),
            ladder,
            payload,
        }
    }

    /// Clean payload at a rate that is shown: that of the nearest way, in proportion.
    fn of_shown(&self, shown: AirRate) -> f64 {
        let off = |rate: &f64| (rate / shown.0 - 1.0).abs();
        let nearest = self
            .shown
            .iter()
            .zip(&self.payload)
            .min_by(|a, b| off(a.0).total_cmp(&off(b.0)));
        nearest.map_or(f64::NAN, |(rate, payload)| payload * shown.0 / rate)
    }
}

struct Drawing<'a, 'd, 's> {
    link: &'a Link,
    sends: Sends,
    catalogue: &'a Catalogue,
    sheet: &'s mut Sheet<'d>,
}

impl Drawing<'_, '_, '_> {
    fn ratio(&mut self, row: &str, name: &str) -> Result<Column<Ratio>, CatalogueFault> {
        let spread = self.catalogue.spread::<Ratio>(row)?;
        let source = &self.catalogue.number(row)?.source;
        Ok(self.sheet.draw(row, name, &spread, source))
    }

    /// Decibels of a row under an id of their own, no less than a bound.
    fn decibels(&mut self, row: &str, id: &str, least: f64) -> Result<Vec<f64>, CatalogueFault> {
        let number = self.catalogue.number(row)?;
        let bounds = Bounds { least, most: None };
        let spread = Spread::<f64>::percentiles(number.low, number.likely, number.high, bounds)
            .map_err(|fault| CatalogueFault {
                place: row.to_owned(),
                problem: fault.to_string(),
            })?;
        let column = self.sheet.draw(id, &number.note, &spread, &number.source);
        Ok(column.every_base(self.sheet.count()).into_owned())
    }

    /// The share of the air that others take, an option of the equipment each. Where nobody told it, only at
    /// 2.4 GHz: what the field leaves was measured at 5 GHz in whatever air there was, so that the usual share
    /// of neighbours there is in it.
    fn busy(&mut self, choice: &Choice<Equipment>) -> Result<Vec<Vec<f64>>, CatalogueFault> {
        let count = self.sheet.count();
        if let Some(told) = &self.link.busy {
            let column = self.sheet.value("share of the air that others take", told);
            return Ok(vec![
                column.every_base(count).into_owned();
                choice.options().len()
            ]);
        }
        let mut all: Vec<Vec<f64>> = Vec::new();
        for (one, _) in choice.options() {
            all.push(if one.band == Band::Two {
                let column = self.ratio("air.busy.2", "share of the air that others take")?;
                column.every_base(count).into_owned()
            } else {
                vec![0.0; count]
            });
        }
        Ok(all)
    }

    /// A standard normal number a draw.
    fn normal(&mut self, id: &str, text: &str) -> Vec<f64> {
        let scores = self.sheet.scores();
        let strata = self.sheet.slices(id, text);
        strata
            .iter()
            .map(|&s| scores.get(s as usize).copied().unwrap_or(0.0))
            .collect()
    }

    /// The signal in every draw, as the receiving end has it.
    fn received(
        &mut self,
        choice: &Choice<Equipment>,
        which: &[usize],
    ) -> Result<Vec<f64>, CatalogueFault> {
        let bands: Vec<Band> = choice.options().iter().map(|(one, _)| one.band).collect();
        let band_of = |draw: usize| {
            which
                .get(draw)
                .and_then(|&at| bands.get(at))
                .copied()
                .unwrap_or(Band::Five)
        };
        let Reading::Signal(read) = self.link.reading else {
            return self.unread(self.sends, &bands, &band_of);
        };
        let at_the_desk =
            if self.link.between.distance.is_some() || self.link.between.obstacles.is_some() {
                let prior = self.unread(Sends::Point, &bands, &band_of)?;
                self.weighed(&prior, read.0)?
            } else {
                let wide = self.catalogue.number("air.reading")?.likely;
                let id = format!("{}/signal", self.link.id);
                self.normal(&id, "signal")
                    .into_iter()
                    .map(|z| read.0 + wide * z)
                    .collect()
            };
        if self.sends == Sends::Point {
            return Ok(at_the_desk);
        }
        let id = format!("{}/writes-less", self.link.ends[1]);
        let less = self.decibels("air.writes-less", &id, FAR)?;
        Ok(at_the_desk
            .iter()
            .zip(less)
            .map(|(signal, less)| signal - less)
            .collect())
    }

    /// What the signal is after a reading: the draws before it, weighed by how well they go with
    /// it, put in order and taken in equal parts.
    fn weighed(&mut self, prior: &[f64], read: f64) -> Result<Vec<f64>, CatalogueFault> {
        let wide = self.catalogue.number("air.reading")?.likely;
        let id = format!("{}/signal", self.link.id);
        let strata = self.sheet.slices(&id, "signal");
        let count = prior.len() as f64;
        let law = posterior(prior, read, wide);
        Ok(strata
            .iter()
            .map(|&s| law.at((f64::from(s) + 0.5) / count))
            .collect())
    }

    /// The signal without a reading.
    fn unread(
        &mut self,
        sends: Sends,
        bands: &[Band],
        band_of: &dyn Fn(usize) -> Band,
    ) -> Result<Vec<f64>, CatalogueFault> {
        let count = self.sheet.count();
        let link = self.link;
        let mut by_band = Vec::new();
        for band in Band::ALL {
            let used = bands.contains(&band);
            by_band.push(if used { Some(self.losses(band)?) } else { None });
        }
        let mut sent = Vec::new();
        for band in Band::ALL {
            let (row, id) = match sends {
                Sends::Point => (
                    format!("air.sent.point.{}", band.row()),
                    format!("{}/sent", link.ends[0]),
                ),
                Sends::Desk => ("air.sent.desk".to_owned(), format!("{}/sent", link.ends[1])),
            };
            sent.push(if bands.contains(&band) {
                Some(self.decibels(&row, &id, FAR)?)
            } else {
                None
            });
        }
        let hearing = match sends {
            Sends::Point => ("air.antenna.desk", &link.ends[1]),
            Sends::Desk => ("air.antenna.point", &link.ends[0]),
        };
        let antenna = self.decibels(hearing.0, &format!("{}/antenna", hearing.1), FAR)?;
        let body = self.decibels("air.body", &format!("{}/body", link.ends[1]), 0.0)?;
        let wide = self
            .catalogue
            .number(&format!("air.shadow.{}", shadow(&link.between)))?
            .likely;
        let shadow = self.normal(&format!("{}/shadow", link.id), "where exactly it stands");
        Ok((0..count)
            .map(|draw| {
                let at = band_of(draw) as usize;
                let of = |columns: &[Option<Vec<f64>>]| {
                    columns
                        .get(at)
                        .and_then(Option::as_ref)
                        .and_then(|c| c.get(draw))
                        .copied()
                        .unwrap_or(0.0)
                };
                of(&sent) + antenna[draw] - body[draw] - of(&by_band) - wide * shadow[draw]
            })
            .collect())
    }

    /// What is lost on the way at a band.
    fn losses(&mut self, band: Band) -> Result<Vec<f64>, CatalogueFault> {
        let link = self.link;
        let distance = self.distance()?;
        let count = self.sheet.count();
        let frequency: Frequency = band.middle();
        let Some(obstacles) = &link.between.obstacles else {
            // nothing is said of walls: they are inside a slope that was measured with them
            let slope = self.decibels("air.slope", "air.slope", 0.0)?;
            let none = Decibels(0.0);
            return Ok(distance
                .iter()
                .zip(slope)
                .map(|(d, slope)| with_its_walls(metres(*d), frequency, slope, none).0)
                .collect());
        };
        let exponent = self.decibels("air.exponent", "air.exponent", 0.0)?;
        let mut through = vec![0.0; count];
        for obstacle in obstacles {
            let row = format!("air.through.{}.{}", obstacle.kind, band.row());
            let loss = self.decibels(&row, &row, 0.0)?;
            for (sum, loss) in through.iter_mut().zip(loss) {
                *sum += obstacle.count * loss;
            }
        }
        let corner = match &link.between.round {
            Some(_) => self.decibels("air.corner", "air.corner", 0.0)?,
            None => Vec::new(),
        };
        let door = self.catalogue.number("air.open-door")?.likely;
        Ok((0..count)
            .map(|draw| {
                let n = exponent[draw];
                let direct = straight(
                    metres(distance[draw]),
                    frequency,
                    n,
                    Decibels(through[draw]),
                );
                let Some(round) = &link.between.round else {
                    return direct.0;
                };
                let far = metres(distance[draw]) + round.further;
                let turned = round.corners as f64 * corner[draw] + round.doors as f64 * door;
                let other = straight(far, frequency, n, Decibels(turned));
                together([direct, other]).unwrap_or(direct).0
            })
            .collect())
    }

    fn distance(&mut self) -> Result<Vec<f64>, CatalogueFault> {
        let count = self.sheet.count();
        if let Some(told) = &self.link.between.distance {
            let column = self.sheet.value("distance", told);
            return Ok(column.every_base(count).into_owned());
        }
        let open = self
            .link
            .between
            .obstacles
            .as_ref()
            .is_some_and(Vec::is_empty);
        let row = if open {
            "air.distance.room"
        } else {
            "air.distance.near"
        };
        let spread = self.catalogue.spread::<Length>(row)?;
        let id = format!("{}/distance", self.link.id);
        let source = &self.catalogue.number(row)?.source;
        Ok(self
            .sheet
            .draw(&id, "distance", &spread, source)
            .every_base(count)
            .into_owned())
    }
}

/// Which row tells how far the signal scatters about its median.
fn shadow(between: &Between) -> &'static str {
    match &between.obstacles {
        None => "unknown",
        Some(all) if all.is_empty() => "room",
        Some(all) => {
            let walls: f64 = all.iter().map(|o| o.count).sum();
            if between.floors > 0 || walls >= 3.0 {
                "floors"
            } else {
                "walls"
            }
        }
    }
}

/// A law by its values in order and the share of the probability at or below each.
struct Weighed(Vec<(f64, f64)>);

impl Weighed {
    fn at(&self, share: f64) -> f64 {
        let at = self.0.partition_point(|(_, below)| *below < share);
        self.0
            .get(at)
            .or(self.0.last())
            .map_or(f64::NAN, |(value, _)| *value)
    }
}

/// Draws weighed by a reading: `w = exp(-(x - y)^2 / (2 r^2))`. Where no draw is near, the
/// reading stands alone.
fn posterior(prior: &[f64], read: f64, wide: f64) -> Weighed {
    let mut all: Vec<(f64, f64)> = prior
        .iter()
        .map(|&x| {
            let off = (x - read) / wide;
            (x, libm::exp(-0.5 * off * off))
        })
        .collect();
    let sum: f64 = all.iter().map(|(_, w)| w).sum();
    // fewer than a handful of draws carry it
    if sum < 8.0 {
        let n = prior.len() as f64;
        let alone = (0..prior.len()).map(|i| {
            let share = (i as f64 + 0.5) / n;
            (read + wide * normal_score(share), share)
        });
        return Weighed(alone.collect());
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut below = 0.0;
    for (_, w) in &mut all {
        below += *w / sum;
        *w = below;
    }
    Weighed(all)
}

/// A reading and what was thought before, both normal: `K = s^2/(s^2 + r^2)`, mean `m + K (y - m)`,
/// `s sqrt(1 - K)`. `validate_a_reading` checks it.
pub fn conditioned(mean: f64, sd: f64, read: f64, accuracy: f64) -> (f64, f64) {
    let k = sd * sd / (sd * sd + accuracy * accuracy);
    (mean + k * (read - mean), sd * libm::sqrt(1.0 - k))
}
