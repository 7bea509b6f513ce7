use super::crowd::{Crowd, Overload};
use super::stream::{Stream, StreamFault};
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::{DataRate, Frequency, Ratio, units};

/// Room for so many streams or fewer gains almost nothing from desks that pause.
pub const FEW_STREAMS: u32 = 6;

/// More desks than this are not looked at.
const MOST_DESKS: u32 = 1000;

/// Rounding that must not cost a whole stream, relative.
const ROUNDING: f64 = 1e-9;

/// What a crowd may do to a path at most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// How often demand may rise above the capacity.
    pub spells: Frequency,
    /// The share of the time in which it may be there.
    pub chance: Ratio,
}

/// How many more fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Room {
    /// All that fit if all play at once.
    Peak {
        /// How many more.
        more: u32,
    },
    /// As many as the limits allow.
    Crowd {
        /// How many more; at least as many as all at once.
        more: u32,
        /// How many more if all played at once.
        at_once: u32,
        /// What it is like with them.
        with: Overload,
        /// What it would be like with one more; none where nobody looked further.
        beyond: Option<Overload>,
    },
}

impl Room {
    /// How many more.
    pub fn more(&self) -> u32 {
        match self {
            Self::Peak { more } | Self::Crowd { more, .. } => *more,
        }
    }
}

impl Limits {
    /// The usual policy: a hitch in a working day.
    ///
    /// # Errors
    /// Where the catalogue lacks a row.
    pub fn usual(catalogue: &Catalogue) -> Result<Self, CatalogueFault> {
        Ok(Self {
            spells: catalogue.spread("room.spells")?.median(),
            chance: catalogue.spread("room.share")?.median(),
        })
    }

    fn allow(&self, overload: &Overload) -> bool {
        overload.spells <= self.spells && overload.chance <= self.chance
    }
}

/// How many streams of a rate fit beside what is taken, all at once: `floor((C - taken) / r)`.
///
/// `C` capacity, `r` rate of one stream, both above zero. Never wrong where the numbers are right,
/// and near the truth where there is room for [`FEW_STREAMS`] or fewer. Checked by
/// `validate_editors_let_in`.
pub fn peak_rule(capacity: DataRate, taken: DataRate, rate: DataRate) -> u32 {
    let fit: Ratio = (capacity - taken) / rate;
    let fit = fit.get::<units::ratio::one>();
    if fit.is_nan() || fit <= 0.0 {
        return 0;
    }
    // saturates: infinite room is as many as can be counted
    (fit * (1.0 + ROUNDING)).floor() as u32
}

/// How many more streams like `one` fit beside those that are there.
///
/// Where the whole path has room for [`FEW_STREAMS`] of them or fewer, those that fit all at once.
/// Elsewhere desks come in one after another, first those that are there, and the first that breaks
/// a limit is the end: how often overload begins falls again once it is permanent, so that a later
/// number may look fine.
///
/// # Errors
/// Where a number is out of range.
///
/// Checked by `validate_editors_let_in`, `few_streams_are_counted_at_once` and
/// `a_permanent_overload_lets_nobody_in`.
pub fn room(
    capacity: DataRate,
    there: &[Stream],
    one: Stream,
    limits: Limits,
) -> Result<Room, StreamFault> {
    let mut taken = DataRate::new::<units::data_rate::byte_per_second>(0.0);
    for stream in there {
        stream.on_grid()?;
        taken += stream.rate;
    }
    one.on_grid()?;
    let none = DataRate::new::<units::data_rate::byte_per_second>(0.0);
    let at_once = peak_rule(capacity, taken, one.rate);
    if peak_rule(capacity, none, one.rate) <= FEW_STREAMS {
        return Ok(Room::Peak { more: at_once });
    }
    admit(capacity, there, one, limits, at_once)
}

/// As [`room`], whatever there is room for.
pub(super) fn admit(
    capacity: DataRate,
    there: &[Stream],
    one: Stream,
    limits: Limits,
    at_once: u32,
) -> Result<Room, StreamFault> {
    let mut crowd = Crowd::on(capacity)?;
    let mut with = crowd.overload();
    for stream in there {
        crowd.add(*stream)?;
        with = crowd.overload();
        if !limits.allow(&with) {
            return Ok(Room::Crowd {
                more: 0,
                at_once,
                with,
                beyond: None,
            });
        }
    }
    for more in 0..MOST_DESKS {
        crowd.add(one)?;
        let beyond = crowd.overload();
        if !limits.allow(&beyond) {
            return Ok(Room::Crowd {
                more,
                at_once,
                with,
                beyond: Some(beyond),
            });
        }
        with = beyond;
    }
    Ok(Room::Crowd {
        more: MOST_DESKS,
        at_once,
        with,
        beyond: None,
    })
}
