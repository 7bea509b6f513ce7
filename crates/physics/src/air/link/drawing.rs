//! The parts of a link, drawn from what is told and else from the catalogue.

use super::reading::posterior;
use super::{Between, Link, Reading, Sends};
use crate::air::band::Band;
use crate::air::equipment::Equipment;
use crate::air::path::{straight, together, with_its_walls};
use crate::copper::Decibels;
use narrows_units::catalogue::{Catalogue, CatalogueFault};
use narrows_units::quantity::{Frequency, Length, Ratio, metres};
use narrows_units::spread::{Bounds, Choice, Spread};
use narrows_units::working::{Column, Sheet};

/// Decibels of either sign lie no further out than this.
const FAR: f64 = -200.0;

pub(super) struct Drawing<'a, 'd, 's> {
    pub(super) link: &'a Link,
    pub(super) sends: Sends,
    pub(super) catalogue: &'a Catalogue,
    pub(super) sheet: &'s mut Sheet<'d>,
}

impl Drawing<'_, '_, '_> {
    fn ratio(&mut self, row: &str, name: &str) -> Result<Column<Ratio>, CatalogueFault> {
        let spread = self.catalogue.spread::<Ratio>(row)?;
        let source = &self.catalogue.number(row)?.source;
        Ok(self.sheet.draw(row, name, &spread, source))
    }

    /// What the field leaves of a payload; equipment that waits less than is assumed here has more than all of it.
    pub(super) fn field(&mut self) -> Result<Column<Ratio>, CatalogueFault> {
        let row = "air.field";
        let spread = self
            .catalogue
            .spread_within::<Ratio>(row, Bounds::POSITIVE)?;
        let source = &self.catalogue.number(row)?.source;
        Ok(self
            .sheet
            .draw(row, "what the field leaves", &spread, source))
    }

    /// Decibels of a row under an id of their own, no less than a bound.
    pub(super) fn decibels(
        &mut self,
        row: &str,
        id: &str,
        least: f64,
    ) -> Result<Vec<f64>, CatalogueFault> {
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

    /// What is left of every byte's time: by neighbours, by a crowd on each part of the channel, and by a repeater.
    pub(super) fn free(
        &mut self,
        choice: &Choice<Equipment>,
        which: &[usize],
    ) -> Result<Vec<f64>, CatalogueFault> {
        let busy = self.busy(choice)?;
        let crowd = self.link.crowd.as_ref().map(|told| {
            let name = "share of each 20 MHz that others take";
            let column = self.sheet.value(name, told);
            column.every_base(self.sheet.count()).into_owned()
        });
        let parts: Vec<f64> = choice
            .options()
            .iter()
            .map(|(one, _)| one.width.twenties() as f64)
            .collect();
        let passed_on = if self.link.relayed { 0.5 } else { 1.0 };
        let of = |draw: usize, &at: &usize| {
            let busy = busy.get(at).and_then(|b| b.get(draw)).copied();
            let crowd = crowd.as_ref().and_then(|c| c.get(draw)).copied();
            let parts = parts.get(at).copied().unwrap_or(1.0);
            let apart = libm::pow(1.0 - crowd.unwrap_or(0.0), parts);
            passed_on * (1.0 - busy.unwrap_or(0.0)) * apart
        };
        let draws = which.iter().enumerate();
        Ok(draws.map(|(draw, at)| of(draw, at)).collect())
    }

    /// The share of the air that others take, an option of the equipment each. Where nobody told it, only at
    /// 2.4 GHz: what the field leaves was measured at 5 GHz in whatever air there was, so that the usual share
    /// of neighbours there is in it.
    fn busy(&mut self, choice: &Choice<Equipment>) -> Result<Vec<Vec<f64>>, CatalogueFault> {
        let count = self.sheet.count();
        let options = choice.options();
        if let Some(told) = &self.link.busy {
            let column = self.sheet.value("share of the air that others take", told);
            return Ok(vec![column.every_base(count).into_owned(); options.len()]);
        }
        let mut all: Vec<Vec<f64>> = Vec::new();
        for (one, _) in options {
            all.push(if one.band == Band::Two && self.link.crowd.is_none() {
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
    pub(super) fn received(
        &mut self,
        choice: &Choice<Equipment>,
        which: &[usize],
    ) -> Result<Vec<f64>, CatalogueFault> {
        let mut received = self.before_what_is_lost_besides(choice, which)?;
        if let Some(told) = &self.link.weaker {
            let column = self.sheet.value("what is lost besides", told);
            let lost = column.every_base(self.sheet.count()).into_owned();
            for (signal, lost) in received.iter_mut().zip(lost) {
                *signal -= lost;
            }
        }
        Ok(received)
    }

    fn before_what_is_lost_besides(
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
