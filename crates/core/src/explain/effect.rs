use super::cause::{Change, Scope};
use super::reading::What;
use super::scenarios::{Ask, Columns};
use crate::quantity::{LinkRate, Measure, units};
use crate::work::Direction;

/// One cause at work: what it changes, which way, and how much in each draw.
#[derive(Clone, Debug)]
pub(crate) struct Effect {
    pub scope: Scope,
    pub change: Change,
    /// Whose readings it can change: those whose way passes the place that it is at.
    pub desks: Vec<String>,
    /// One way only, or both.
    pub hits: Option<Direction>,
    /// One number a draw.
    pub amount: Vec<f64>,
    /// What an amount of bytes a round trip is divided by.
    pub wait: Vec<f64>,
}

impl Effect {
    /// Whether it changes a reading of this kind, direction and desk at all.
    pub(crate) fn touches(&self, ask: &Ask) -> bool {
        if self.hits.is_some_and(|d| d != ask.direction) || !self.desks.contains(&ask.desk) {
            return false;
        }
        let what = ask.what;
        let copies = matches!(what, What::Copy | What::ManyFiles);
        match self.scope {
            Scope::Wire => copies || what == What::RawTcp,
            Scope::Service => copies,
            Scope::Array => copies || what == What::LocalArray,
            Scope::DeskDisk => copies || what == What::LocalDisk,
            Scope::RawTool => what == What::RawTcp,
            Scope::LocalTool => what == What::LocalArray,
            Scope::Reading => true,
        }
    }
}

/// The rate of one draw under some effects, all of which touch the reading, in bytes a second.
///
/// Ceilings of places that work at the same time: the least; what the others wait for adds; a
/// real copy reaches a share. An effect changes the ceilings of its scope, or the whole.
pub(crate) fn rate(columns: &Columns, effects: &[&Effect], streams: f64, d: usize) -> f64 {
    let mut wire = columns.link[d].min(columns.radio[d]).min(columns.bus[d]);
    let mut array = columns.array[d];
    let mut disk = columns.disk[d];
    let mut most = f64::INFINITY;
    let mut share = 1.0;
    let mut least = 0.0f64;
    for effect in effects {
        let amount = effect.amount[d];
        let place = match effect.scope {
            Scope::Wire => &mut wire,
            Scope::Array => &mut array,
            Scope::DeskDisk => &mut disk,
            Scope::Service | Scope::RawTool | Scope::LocalTool | Scope::Reading => &mut most,
        };
        match effect.change {
            Change::Cap => *place = place.min(amount),
            Change::Link => {
                let rate = LinkRate::from_base(amount).signalled();
                let payload =
                    rate.get::<units::data_rate::byte_per_second>() * columns.efficiency[d];
                *place = place.min(payload);
            }
            Change::Window | Change::Requests => {
                *place = place.min(amount * streams / effect.wait[d]);
            }
            Change::Scale => match effect.scope {
                Scope::Wire | Scope::Array | Scope::DeskDisk => *place *= amount,
                Scope::Service | Scope::RawTool | Scope::LocalTool | Scope::Reading => {
                    share *= amount;
                }
            },
            Change::Lift => *place = amount.max(*place),
            Change::Beyond => least = least.max(amount),
            Change::Member | Change::Slip | Change::Limit => {}
        }
    }
    let ceiling = wire
        .min(columns.processor[d])
        .min(columns.waiting[d])
        .min(array)
        .min(disk);
    let whole = columns.factor[d] / (1.0 / ceiling + columns.adds[d]);
    (whole * share).min(most).max(least)
}
