//! Hours of work lost in a year, by event; what each copy takes off; the next copy worth having.

use crate::copies::{
    CopyFate, Event, LossOfEvent, idle_hours, in_years, loss_of_event, with_own_failure,
};
use crate::samples::{KeepingFault, digits};
use narrows_core::array::DriveSize;
use narrows_core::array::durability::{Outlook, Rebuild, View, safety, year};
use narrows_core::array::rate::Zones;
use narrows_core::catalogue::Catalogue;
use narrows_core::quantity::{DataRate, Information, Measure, Ratio, Time, ratio};
use narrows_core::site::{Array, CopyKind, CopyPlan, Drive, Tried};
use serde::Serialize;

/// Events, as the catalogue names them.
pub(crate) const EVENTS: [(&str, &str); 9] = [
    ("drives", "more drives fail than the layout survives"),
    ("common", "supply, controller or a slip while repairing"),
    ("theft", "theft"),
    ("fire", "fire"),
    ("water", "water"),
    ("extortion", "extortion: files encrypted"),
    ("mistake-all", "mistaken command, everything"),
    ("mistake-one", "mistaken command, one project"),
    ("firmware", "file system or firmware fault"),
];

/// Nothing rarer is told; what nobody thought of is more likely.
const FLOOR: f64 = 1e-5;

/// What is lost in a year.
#[derive(Clone, Debug, Serialize)]
pub struct Losses {
    /// Hours of work a year at low, likely and high rates, with the copies that there are.
    pub hours_a_year: Three,
    /// The same without any copy.
    pub bare_hours_a_year: Three,
    /// Hours a year in which people wait until work goes on, at likely rates.
    #[serde(serialize_with = "digits")]
    pub waiting_hours_a_year: f64,
    /// The chance that something is gone from every copy within five years; at least the floor.
    #[serde(serialize_with = "digits")]
    pub gone_in_five_years_probability: f64,
    /// Below this no chance is told.
    pub floor_probability: f64,
    /// One an event, the costliest first.
    pub events: Vec<EventAnswer>,
    /// What each copy takes off, the most first.
    pub taken: Vec<Taken>,
    /// What would take off most, the most first.
    pub next: Vec<Worth>,
}

/// At low, likely and high rates of events.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Three {
    /// Low.
    #[serde(serialize_with = "digits")]
    pub low: f64,
    /// Likely.
    #[serde(serialize_with = "digits")]
    pub likely: f64,
    /// High.
    #[serde(serialize_with = "digits")]
    pub high: f64,
}

/// What an event costs.
#[derive(Clone, Debug, Serialize)]
pub struct EventAnswer {
    /// The word of the catalogue.
    pub event: &'static str,
    /// What it is.
    pub words: &'static str,
    /// How often a year.
    pub a_year: Three,
    /// Hours of work a year with the copies that there are, at likely rates.
    #[serde(serialize_with = "digits")]
    pub hours_a_year: f64,
    /// The same without any copy.
    #[serde(serialize_with = "digits")]
    pub bare_hours_a_year: f64,
}

/// What a copy takes off.
#[derive(Clone, Debug, Serialize)]
pub struct Taken {
    /// Name in the site.
    pub copy: String,
    /// Hours a year that would be lost on top without it, at likely rates.
    #[serde(serialize_with = "digits")]
    pub takes_off_hours_a_year: f64,
}

/// A copy, or a test of one, worth having.
#[derive(Clone, Debug, Serialize)]
pub struct Worth {
    /// Word of a kind of copy, or `try` for trying those that there are.
    pub what: &'static str,
    /// Hours a year that remain with it, at likely rates.
    #[serde(serialize_with = "digits")]
    pub hours_a_year: f64,
}

/// A copy as the loss sees it.
#[derive(Clone, Debug)]
pub(crate) struct Standing {
    pub name: String,
    pub kind: CopyKind,
    pub locked: bool,
    /// The chance that it fails to restore by itself.
    pub own: Ratio,
    pub own_if_tried: Ratio,
    /// Hours at work by which it is behind.
    pub age_at_work: Time,
}

/// What the loss depends on beside the copies.
pub(crate) struct Stakes<'a> {
    pub catalogue: &'a Catalogue,
    pub array: &'a Array,
    pub held: Information,
    pub people: f64,
    pub kept: Time,
    /// Until work goes on after the array is gone.
    pub until_work: Time,
}

/// Hours at work, of the clock.
pub(crate) fn at_work(catalogue: &Catalogue) -> Result<f64, KeepingFault> {
    Ok(catalogue.number("copy.restore.at-work")?.likely)
}

/// The chance that a copy fails to restore by itself, by when it was tried.
pub(crate) fn own_failure(catalogue: &Catalogue, plan: &CopyPlan) -> Result<Ratio, KeepingFault> {
    // snapshots are not fetched from anywhere
    if plan.kind == CopyKind::Snapshots {
        return Ok(ratio(0.0));
    }
    let mut sum = 0.0;
    for (tried, share) in plan.tried.value.options() {
        sum += share * of_tried(catalogue, *tried)?.base();
    }
    Ok(ratio(sum))
}

pub(crate) fn of_tried(catalogue: &Catalogue, tried: Tried) -> Result<Ratio, KeepingFault> {
    let row = format!("copy.own-failure.{}", tried.word());
    Ok(catalogue.spread::<Ratio>(&row)?.median())
}

/// The chance that a copy is gone too, given an event.
fn gone(
    catalogue: &Catalogue,
    event: &str,
    kind: CopyKind,
    locked: bool,
) -> Result<Ratio, KeepingFault> {
    let plain = format!("fate.{event}.{}", kind.word());
    let with_lock = format!("{plain}.locked");
    if locked && catalogue.number(&with_lock).is_ok() {
        return Ok(ratio(catalogue.number(&with_lock)?.likely));
    }
    Ok(ratio(catalogue.number(&plain)?.likely))
}

/// An event at low, likely and high rates.
struct Rates {
    word: &'static str,
    words: &'static str,
    three: [f64; 3],
    scope: Ratio,
    takes_array: Ratio,
}

fn rates(stakes: &Stakes<'_>) -> Result<Vec<Rates>, KeepingFault> {
    let mut found = Vec::with_capacity(EVENTS.len());
    for (word, words) in EVENTS {
        let number = |key: &str| stakes.catalogue.number(&format!("event.{word}.{key}"));
        let row = number("a-year")?;
        let three = match word {
            "drives" => drives(stakes).unwrap_or([row.low, row.likely, row.high]),
            _ => [row.low, row.likely, row.high],
        };
        found.push(Rates {
            word,
            words,
            three: three.map(|rate| rate.max(FLOOR)),
            scope: ratio(number("scope")?.likely),
            takes_array: ratio(number("array")?.likely),
        });
    }
    Ok(found)
}

/// How often a year more drives fail than the layout survives, seen from three sides; none where the
/// array cannot be reckoned with.
fn drives(stakes: &Stakes<'_>) -> Option<[f64; 3]> {
    let array = stakes.array;
    let capacity = array.drives.capacity.value.median();
    let layout = array.layout_of(DriveSize::new(capacity).ok()?).ok()?;
    let (zones, spinning) = match array.drives.drive.value.likeliest() {
        Drive::Spinning {
            outer, inner_ratio, ..
        } => (
            Zones::new(outer.value.median(), inner_ratio.value.median(), capacity).ok()?,
            true,
        ),
        Drive::Flash { later_write, .. } => (
            Zones::new(later_write.value.median(), ratio(1.0), capacity).ok()?,
            false,
        ),
    };
    let ceiling = stakes
        .catalogue
        .spread::<DataRate>("durability.rebuild-ceiling")
        .ok()?
        .median();
    let mut three = [0.0; 3];
    for (rate, view) in three.iter_mut().zip(View::ALL) {
        let outlook = Outlook::of(view, spinning, array.spares > 0, stakes.catalogue).ok()?;
        let rebuild = Rebuild {
            drive: zones,
            ceiling,
            copied: ratio(1.0),
            detection: outlook.detection,
            replacement: outlook.replacement,
        };
        let repair = rebuild.time(outlook.rebuild_share).ok()?;
        let found = safety(&layout, repair, stakes.held, &outlook, year()).ok()?;
        *rate = found.lost_to_drives.base();
    }
    Some(three)
}

/// Every event's loss with some copies, at rates of one of the three sides.
fn each(
    stakes: &Stakes<'_>,
    rates: &[Rates],
    side: usize,
    copies: &[Standing],
) -> Result<Vec<LossOfEvent>, KeepingFault> {
    let mut found = Vec::with_capacity(rates.len());
    for event in rates {
        let mut fates = Vec::with_capacity(copies.len());
        for copy in copies {
            let gone = gone(stakes.catalogue, event.word, copy.kind, copy.locked)?;
            fates.push(CopyFate {
                gone: with_own_failure(gone, copy.own),
                age_at_work: copy.age_at_work,
            });
        }
        let event = Event {
            a_year: event.three.get(side).copied().unwrap_or(0.0),
            scope: event.scope,
            takes_array: event.takes_array,
        };
        found.push(loss_of_event(&event, &fates, stakes.people, stakes.kept));
    }
    Ok(found)
}

fn sum(losses: &[LossOfEvent]) -> f64 {
    losses.iter().map(|l| l.hours).sum()
}

/// Which of the three sides is the likely one.
const LIKELY: usize = 1;

pub(crate) fn losses(stakes: &Stakes<'_>, copies: &[Standing]) -> Result<Losses, KeepingFault> {
    let rates = rates(stakes)?;
    let three = |copies: &[Standing]| -> Result<Three, KeepingFault> {
        Ok(Three {
            low: sum(&each(stakes, &rates, 0, copies)?),
            likely: sum(&each(stakes, &rates, LIKELY, copies)?),
            high: sum(&each(stakes, &rates, 2, copies)?),
        })
    };
    let now = each(stakes, &rates, LIKELY, copies)?;
    let bare = each(stakes, &rates, LIKELY, &[])?;
    let mut events: Vec<EventAnswer> = rates
        .iter()
        .zip(now.iter().zip(&bare))
        .map(|(event, (now, bare))| EventAnswer {
            event: event.word,
            words: event.words,
            a_year: Three {
                low: event.three[0],
                likely: event.three[1],
                high: event.three[2],
            },
            hours_a_year: now.hours,
            bare_hours_a_year: bare.hours,
        })
        .collect();
    events.sort_by(|a, b| b.hours_a_year.total_cmp(&a.hours_a_year));
    let whole = sum(&now);
    let mut taken = Vec::new();
    for (at, copy) in copies.iter().enumerate() {
        let mut others = copies.to_vec();
        others.remove(at);
        taken.push(Taken {
            copy: copy.name.clone(),
            takes_off_hours_a_year: sum(&each(stakes, &rates, LIKELY, &others)?) - whole,
        });
    }
    taken.sort_by(|a, b| {
        b.takes_off_hours_a_year
            .total_cmp(&a.takes_off_hours_a_year)
    });
    let takes_all: f64 = rates
        .iter()
        .map(|e| {
            e.three[LIKELY] * e.takes_array.base() * f64::from(u8::from(e.scope >= ratio(1.0)))
        })
        .sum();
    let gone: f64 = now.iter().map(|l| l.gone_everywhere).sum();
    Ok(Losses {
        hours_a_year: three(copies)?,
        bare_hours_a_year: three(&[])?,
        waiting_hours_a_year: idle_hours(
            takes_all,
            stakes.until_work,
            ratio(at_work(stakes.catalogue)?),
            stakes.people,
        ),
        gone_in_five_years_probability: in_years(gone, 5.0).base().max(FLOOR),
        floor_probability: FLOOR,
        events,
        taken,
        next: next(stakes, &rates, copies)?,
    })
}

/// Ages on the clock of copies that nobody has yet, in hours: every hour, every night, every week.
const CANDIDATES: [(CopyKind, f64); 5] = [
    (CopyKind::Snapshots, 0.5),
    (CopyKind::BoxHere, 14.0),
    (CopyKind::BoxElsewhere, 14.0),
    (CopyKind::Carried, 98.0),
    (CopyKind::Upload, 18.0),
];

fn next(
    stakes: &Stakes<'_>,
    rates: &[Rates],
    copies: &[Standing],
) -> Result<Vec<Worth>, KeepingFault> {
    let mut found = Vec::new();
    let yearly = of_tried(stakes.catalogue, Tried::Yearly)?;
    for (kind, age) in CANDIDATES {
        if copies.iter().any(|c| c.kind == kind) {
            continue;
        }
        let mut with = copies.to_vec();
        with.push(Standing {
            name: kind.word().to_owned(),
            kind,
            locked: false,
            own: yearly,
            own_if_tried: yearly,
            age_at_work: Time::from_base(age * 3600.0 * at_work(stakes.catalogue)?),
        });
        found.push(Worth {
            what: kind.word(),
            hours_a_year: sum(&each(stakes, rates, LIKELY, &with)?),
        });
    }
    if copies.iter().any(|c| c.own > c.own_if_tried) {
        let tried: Vec<Standing> = copies
            .iter()
            .map(|c| Standing {
                own: if c.own < c.own_if_tried {
                    c.own
                } else {
                    c.own_if_tried
                },
                ..c.clone()
            })
            .collect();
        found.push(Worth {
            what: "try",
            hours_a_year: sum(&each(stakes, rates, LIKELY, &tried)?),
        });
    }
    found.sort_by(|a, b| a.hours_a_year.total_cmp(&b.hours_a_year));
    Ok(found)
}
