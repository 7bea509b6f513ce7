//! What a desk can play: how many layers of each codec hold, with nobody else there.

use super::{Question, answer};
use crate::budget::BudgetFault;
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Measure, megabytes_per_second};
use crate::site::{Known, Site};
use crate::spread::{Draws, Spread};
use crate::work::codecs::look_up;
use crate::work::{Activity, Direction, Does, FrameRate, Raster, Task};
use crate::working::percentiles;

/// More layers than an edit has.
pub const MOST_LAYERS: u32 = 9;

/// A demand that no path meets, so that what a task gets is what the path gives.
const ENDLESS: f64 = 1e6;

/// One codec at one resolution.
#[derive(Clone, Debug, PartialEq)]
pub struct Playable {
    /// The codec as shown.
    pub codec: String,
    /// Its resolution.
    pub raster: Raster,
    /// What one layer takes, in the middle.
    pub rate: DataRate,
    /// How many layers hold in 95 of 100 cases; [`MOST_LAYERS`] where that many or more do.
    pub layers: u32,
}

/// What one desk can play from one array.
#[derive(Clone, Debug, PartialEq)]
pub struct DeskPlays {
    /// The desk.
    pub desk: String,
    /// The array.
    pub array: String,
    /// What the path gives so many layers together in 95 of 100 cases, one layer first.
    pub given: Vec<DataRate>,
    /// Every codec at every resolution that has a rate, in the order of the catalogue.
    pub codecs: Vec<Playable>,
}

/// How many layers of each codec each desk plays in 95 of 100 cases, with nobody else there.
///
/// `n` layers hold where `n r` is at most what the path gives `n` streams of one task together in 95 of
/// 100 cases: heads move between layers as they do between the streams of any task, so that is
/// [`answer`]'s own figure with a demand that nothing meets. `r` is the rate of the codec in the middle
/// at `frames`. Valid to [`MOST_LAYERS`] layers. Checked by `verify_layers_are_those_of_the_tasks`.
///
/// # Errors
/// As [`answer`].
pub fn plays(
    site: &Site,
    desks: &[String],
    rasters: &[Raster],
    frames: FrameRate,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Vec<DeskPlays>, BudgetFault> {
    let mut found = Vec::new();
    let wanted = |name: &str| desks.is_empty() || desks.iter().any(|d| d == name);
    for desk in site.desks.iter().filter(|d| wanted(&d.name)) {
        let routes = crate::route::routes(site, &desk.name);
        let reached = |nas: &str| routes.iter().any(|route| route.nas == nas);
        for array in site.arrays.iter().filter(|a| reached(&a.nas)) {
            let mut given = Vec::new();
            for layers in 1..=MOST_LAYERS {
                let Some(rate) = surely(site, (&desk.name, &array.name), layers, catalogue, draws)?
                else {
                    break;
                };
                given.push(rate);
            }
            found.push(DeskPlays {
                desk: desk.name.clone(),
                array: array.name.clone(),
                codecs: playable(&given, rasters, frames, catalogue),
                given,
            });
        }
    }
    Ok(found)
}

/// What so many layers together get in 95 of 100 cases.
fn surely(
    site: &Site,
    (desk, array): (&str, &str),
    layers: u32,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Option<DataRate>, BudgetFault> {
    let mut alone = site.clone();
    let demand = Spread::exact(megabytes_per_second(ENDLESS));
    alone.tasks = vec![Task {
        number: 1,
        desk: desk.to_owned(),
        array: array.to_owned(),
        does: Does::Play,
        direction: Direction::Read,
        material: None,
        layers,
        demand: Some(Known::stated("task.1.demand", demand)),
        held_to: None,
        export: None,
        card: None,
        weight: 1,
        active: None,
        spell: None,
        per_day: None,
    }];
    let question = Question {
        everyone: Activity::Play,
        direction: Direction::Read,
        need: None,
    };
    let answer = answer(&alone, &question, catalogue, draws)?;
    let rates = answer.tasks.first().map(|task| &task.rates);
    Ok(rates.map(|rates| percentiles::<DataRate>(rates).p05))
}

fn playable(
    given: &[DataRate],
    rasters: &[Raster],
    frames: FrameRate,
    catalogue: &Catalogue,
) -> Vec<Playable> {
    let mut found = Vec::new();
    for row in catalogue.codecs() {
        for raster in rasters {
            let Ok(codec) = look_up(catalogue, &row.codec, *raster, frames) else {
                continue;
            };
            let rate = codec.rate.median();
            let holds = |(index, given): (usize, &DataRate)| {
                rate.base() * (index + 1) as f64 <= given.base()
            };
            let layers = given.iter().enumerate().take_while(|one| holds(*one));
            found.push(Playable {
                codec: codec.name,
                raster: *raster,
                rate,
                layers: layers.count() as u32,
            });
        }
    }
    found
}
