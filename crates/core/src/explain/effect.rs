use super::cause::{Change, Scope};
use super::reading::What;
use super::scenarios::{Ask, Changed, Changes, Predicted};
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
/// An effect changes what the places of its scope give, what each stream gets, or the whole.
pub(crate) fn rate(predicted: &Predicted, effects: &[&Effect], d: usize) -> f64 {
    let mut changes = Changes {
        wire: Changed::NOT,
        drives: Changed::NOT,
        desk_disk: Changed::NOT,
        window: f64::INFINITY,
        each: f64::INFINITY,
    };
    let mut whole = Changed::NOT;
    let mut beyond = 0.0f64;
    for effect in effects {
        let amount = effect.amount[d];
        let changed = match effect.scope {
            Scope::Wire => &mut changes.wire,
            Scope::Array => &mut changes.drives,
            Scope::DeskDisk => &mut changes.desk_disk,
            Scope::Service | Scope::RawTool | Scope::LocalTool | Scope::Reading => &mut whole,
        };
        match effect.change {
            Change::Cap => changed.cap(amount),
            Change::Link => {
                let rate = LinkRate::from_base(amount).signalled();
                let payload =
                    rate.get::<units::data_rate::byte_per_second>() * predicted.efficiency[d];
                changed.cap(payload);
            }
            Change::Window => changes.window = changes.window.min(amount / effect.wait[d]),
            Change::Requests => {
                changes.each = changes.each.min(amount / effect.wait[d]);
            }
            Change::Scale => changed.scale(amount),
            Change::Lift => changed.lift(amount),
            Change::Beyond => beyond = beyond.max(amount),
            Change::Member | Change::Slip | Change::Limit => {}
        }
    }
    whole.rate(predicted.rate(&changes, d)).max(beyond)
}
