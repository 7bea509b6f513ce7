use super::cause::{Change, Scope};
use super::predicted::{Changed, Changes, Predicted};
use super::reading::What;
use super::scenarios::{Ask, EditId, Scenarios};
use crate::quantity::LinkRate;
use crate::work::Direction;
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

/// One cause at work: what it changes, which way, and how much in each draw.
#[derive(Clone, Debug)]
pub(crate) struct Effect {
    pub scope: Scope,
    pub change: Change,
    /// Whose readings it can change: those whose way passes the place that it is at.
    pub desks: Vec<String>,
    /// One way only, or both.
    pub hits: Option<Direction>,
    /// What it sets in the site; nothing where no edit says it.
    pub edit: Option<EditId>,
    /// The rate that a link came up with, where it is that.
    pub link: Option<LinkRate>,
    /// One number a draw.
    pub amount: Vec<f64>,
    /// What an amount of bytes a round trip is divided by.
    pub wait: Vec<f64>,
    /// What it makes of readings by itself, once somebody has asked.
    pub alone: Alone,
}

/// Rates of readings, one a draw.
pub(crate) type Alone = RefCell<HashMap<Ask, Option<Rc<[f64]>>>>;

impl Effect {
    /// Whether it changes a reading of this kind, direction and desk at all.
    pub(crate) fn touches(&self, ask: &Ask) -> bool {
        let what = ask.what;
        // what is read from the array is written to the desk's disk
        let direction = match (what, ask.direction) {
            (What::LocalDisk, Direction::Read) => Direction::Write,
            (What::LocalDisk, Direction::Write) => Direction::Read,
            (_, direction) => direction,
        };
        if self.hits.is_some_and(|d| d != direction) || !self.desks.contains(&ask.desk) {
            return false;
        }
        let copies = matches!(what, What::Copy | What::ManyFiles | What::Playback);
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

/// The rates of a reading under some effects, in bytes a second, one a draw: of the site with the edits of
/// those that are edits, changed by those that are none. Nothing where there is no such path.
pub(crate) fn rates(
    ask: &Ask,
    effects: &[&Effect],
    scenarios: &Scenarios<'_>,
) -> Option<Rc<[f64]>> {
    let touching: Vec<&Effect> = effects.iter().copied().filter(|e| e.touches(ask)).collect();
    let [one] = touching.as_slice() else {
        return made(ask, &touching, scenarios);
    };
    if let Some(known) = one.alone.borrow().get(ask) {
        return known.clone();
    }
    let found = made(ask, &touching, scenarios);
    one.alone.borrow_mut().insert(ask.clone(), found.clone());
    found
}

/// As [`rates`], of effects that all touch the reading.
fn made(ask: &Ask, effects: &[&Effect], scenarios: &Scenarios<'_>) -> Option<Rc<[f64]>> {
    let touching = || effects.iter().copied();
    let mut edits: Vec<EditId> = touching().filter_map(|e| e.edit).collect();
    edits.sort_unstable();
    let laws: Vec<&Effect> = touching().filter(|e| e.edit.is_none()).collect();
    let all = |predicted: &Predicted| -> Rc<[f64]> {
        let draws = 0..scenarios.count();
        draws.map(|d| rate(predicted, &laws, d)).collect()
    };
    match (edits.is_empty(), laws.is_empty()) {
        (true, true) => scenarios
            .made(ask)
            .map(|made| made.healthy.as_slice().into()),
        (true, false) => scenarios.made(ask).map(all),
        (false, true) => scenarios.edited_rates(ask, &edits),
        (false, false) => scenarios.edited(ask, &edits).map(|made| all(&made)),
    }
}

/// The rate of one draw under some effects, all of which touch the reading, in bytes a second.
///
/// An effect changes what the places of its scope give, what each stream gets, or the whole.
fn rate(predicted: &Predicted, effects: &[&Effect], d: usize) -> f64 {
    let mut changes = Changes::none();
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
            Change::Window => changes.window = changes.window.min(amount / effect.wait[d]),
            Change::Requests => {
                changes.each = changes.each.min(amount / effect.wait[d]);
            }
            Change::Scale => changed.scale(amount),
            Change::Lift => changed.lift(amount),
            Change::Beyond => beyond = beyond.max(amount),
            Change::Edit | Change::Member | Change::Slip | Change::Limit => {}
        }
    }
    whole.rate(predicted.rate(&changes, d)).max(beyond)
}
