//! One radio link, drawn: from what is told of it to payload each way.

mod drawing;
mod kind;
mod reading;

use super::band::Band;
use super::equipment::{Spoken, equipment};
use super::phy::AirRate;
use super::snr::Needed;
use crate::copper::{DecibelMilliwatts, Decibels};
use drawing::Drawing;
use kind::Kind;
use narrows_units::catalogue::{Catalogue, CatalogueFault};
use narrows_units::known::Value;
use narrows_units::quantity::{DataRate, Length, Ratio};
use narrows_units::working::{Column, How, Sheet};
use std::sync::Arc;

pub use reading::conditioned;

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
    /// How much of each 20 MHz of the channel others take, where that is told: a wide channel waits for all of them.
    pub crowd: Option<Value<Ratio>>,
    /// The band that this link was seen in, where it need not be its access point's.
    pub band: Option<Band>,
    /// Decibels that are lost besides: a lid, a rack, a cupboard.
    pub weaker: Option<Value<f64>>,
    /// Whether a repeater in between passes every byte on over the same air.
    pub relayed: bool,
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
    formula: "clean(choose(signal - noise, M)) phi (1 - u) (1 - u20)^(width/20)",
    symbols: &["signal", "noise", "M", "phi", "u", "u20", "width"],
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

/// Draws what a link carries.
///
/// `signal = E + G - body - loss - X`, `SNR = signal - N`, the fastest way that `SNR` and the
/// margin `M` allow, its payload on clean air, times `phi` of the field, times `1 - u` of the
/// air; `1 - u20` for each 20 MHz of the channel where a crowd is told, and half of it where a repeater passes
/// everything on (a hop back that is like the hop to the desk). A shown rate replaces everything before the payload; a
/// signal that was read weighs what the signal may be (normal, `air.reading` wide) or, where nothing is told of the
/// way, is it; what is lost besides comes off what was read too.
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
    let field = drawing.field()?;
    let phi = field.every_base(count).into_owned();
    let which: Vec<usize> = (0..count).map(|draw| pick.at(draw)).collect();
    let free = drawing.free(&choice, &which)?;
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
