//! What hangs on a supply, in watts: at rest, at work, while drives start; and how long each holds.

use crate::luck::{Luck, Range};
use narrows_core::catalogue::CatalogueFault;
use narrows_core::power::{Start, in_watts, watts};
use narrows_core::quantity::{Power, Ratio, Time};
use narrows_core::site::{Drive, Fed, Machine, Medium, Site, Socket};
use serde::Serialize;

/// What one machine draws at the plug.
#[derive(Clone, Debug, Serialize)]
pub struct Load {
    /// Site path of the machine, or `others`.
    pub id: String,
    /// At rest.
    pub quiet_watts: Range<Power>,
    /// At work.
    pub busy_watts: Range<Power>,
    /// While all its drives start at once.
    pub start_watts: Range<Power>,
    /// Draw by draw.
    #[serde(skip)]
    pub(crate) drawn: Drawn,
}

/// A load draw by draw.
#[derive(Clone, Debug, Default)]
pub(crate) struct Drawn {
    pub quiet: Vec<Power>,
    pub busy: Vec<Power>,
    pub start: Vec<Power>,
    /// How long its own supply holds; none where nothing is known of it.
    pub holds: Option<Vec<Time>>,
}

impl Load {
    fn new(id: String, drawn: Drawn) -> Self {
        Self {
            id,
            quiet_watts: Range::of(&drawn.quiet),
            busy_watts: Range::of(&drawn.busy),
            start_watts: Range::of(&drawn.start),
            drawn,
        }
    }
}

/// What a machine draws.
pub(crate) fn load(site: &Site, fed: &Fed, luck: &mut Luck<'_>) -> Result<Load, CatalogueFault> {
    let id = fed.id();
    let drawn = match fed.machine {
        Machine::Nas => nas(site, &fed.name, &id, luck)?,
        Machine::Switch => switch(site, &fed.name, &id, luck)?,
        Machine::Desk => desk(&id, luck)?,
    };
    Ok(Load::new(id, drawn))
}

/// What hangs on a supply beside the machines of the site.
pub(crate) fn others(id: String, each: Vec<Power>) -> Load {
    let drawn = Drawn {
        quiet: each.clone(),
        busy: each.clone(),
        start: each,
        holds: None,
    };
    Load::new(id, drawn)
}

/// Sizes of a NAS that the catalogue knows, by bays.
const BAYS: [usize; 4] = [2, 4, 8, 12];

/// The row of a NAS by the drives in it; more than the largest are several of those.
fn bays(drives: usize) -> usize {
    BAYS.into_iter().find(|b| drives <= *b).unwrap_or(12)
}

/// A port of 10 Gb/s or more is a card in a small machine.
const FAST: f64 = 10_000.0;

fn nas(site: &Site, name: &str, id: &str, luck: &mut Luck<'_>) -> Result<Drawn, CatalogueFault> {
    let arrays: Vec<_> = site.arrays.iter().filter(|a| a.nas == name).collect();
    let drives: usize = arrays.iter().map(|a| a.drives.count + a.spares).sum();
    let size = bays(drives);
    let idle: Vec<Power> = luck.row_for(id, &format!("power.nas.{size}-bays.idle"))?;
    let busy: Vec<Power> = luck.row_for(id, &format!("power.nas.{size}-bays.busy"))?;
    let passed: Vec<Ratio> =
        luck.row_for(&format!("{id}/efficiency"), "power.supply.efficiency")?;
    let holds: Vec<Time> = luck.row_for(&format!("{id}/hold-up"), "hold-up.nas")?;
    let card: Vec<Power> = luck.row("power.port.nas-fast")?;
    let ports = site.nas(name).map_or(&[][..], |n| &n.ports);
    let cards = ports.iter().filter(|p| p.rate.megabits() >= FAST).count() as f64;
    let surge: Vec<Power> = luck.row("power.drive.surge")?;
    let surge_time: Vec<Time> = luck.row("power.drive.surge-time")?;
    let mut drawn = Drawn {
        holds: Some(holds),
        ..Drawn::default()
    };
    let mut sets = Vec::new();
    for array in &arrays {
        let count = array.drives.count + array.spares;
        let class = match array.drives.drive.value.likeliest() {
            Drive::Spinning { class, .. } => class.as_str(),
            Drive::Flash { .. } => "flash",
        };
        let idle: Vec<Power> = luck.row(&format!("power.drive.{class}.idle"))?;
        let busy: Vec<Power> = luck.row(&format!("power.drive.{class}.busy"))?;
        sets.push((count, class != "flash", idle, busy));
    }
    for i in 0..luck.count() {
        let (mut quiet, mut work, mut start) = (watts(0.0), watts(0.0), watts(0.0));
        for (count, spins, at_rest, at_work) in &sets {
            let (rest, at) = (at_rest[i], at_work[i]);
            quiet += rest * *count as f64;
            work += at * *count as f64;
            let surge = if *spins { surge[i] } else { at };
            let all = Start {
                drives: *count,
                group: *count,
                pause: surge_time[i],
                base: watts(0.0),
                idle: rest,
                surge,
                surge_time: surge_time[i],
            };
            start += all.peak().0;
        }
        let board = |p: Power| p + card[i] * cards;
        drawn.quiet.push(board(idle[i]) + quiet / passed[i]);
        drawn.busy.push(board(busy[i]) + work / passed[i]);
        drawn.start.push(board(busy[i]) + start / passed[i]);
    }
    Ok(drawn)
}

/// Ports up to which a switch is a small one, and fast ones from which it is a fast one.
const SMALL: usize = 8;
const FAST_PORTS: usize = 8;

fn switch(site: &Site, name: &str, id: &str, luck: &mut Luck<'_>) -> Result<Drawn, CatalogueFault> {
    let ports = site
        .switches
        .iter()
        .find(|s| s.name == name)
        .map_or(&[][..], |s| &s.ports);
    let all: usize = ports.iter().map(|p| p.count).sum();
    let fast: usize = ports
        .iter()
        .filter(|p| p.rate.megabits() >= FAST)
        .map(|p| p.count)
        .sum();
    let size = if fast >= FAST_PORTS {
        "fast"
    } else if all > SMALL {
        "large"
    } else {
        "small"
    };
    let base: Vec<Power> = luck.row_for(id, &format!("power.switch.{size}"))?;
    let holds: Vec<Time> = luck.row_for(&format!("{id}/hold-up"), "hold-up.brick")?;
    let kinds = ["slow", "middle", "fast", "cage"];
    let mut each: Vec<Vec<Power>> = Vec::new();
    for kind in kinds {
        each.push(luck.row(&format!("power.link.{kind}"))?);
    }
    let linked = linked(site, name);
    let busy: Vec<Power> = (0..luck.count())
        .map(|i| {
            let ports = linked.iter().zip(&each).map(|(n, w)| (*n, w[i]));
            narrows_core::power::switch_draw(base[i], ports)
        })
        .collect();
    Ok(Drawn {
        quiet: busy.clone(),
        start: busy.clone(),
        busy,
        holds: Some(holds),
    })
}

/// Linked ports of a switch: slow, middle, fast copper, and cages.
fn linked(site: &Site, name: &str) -> [usize; 4] {
    let mut found = [0; 4];
    for run in &site.runs {
        if matches!(run.medium, Medium::Wireless { .. }) {
            continue;
        }
        for (near, far) in [(&run.from, &run.to), (&run.to, &run.from)] {
            if near.machine != Machine::Switch || near.name != name {
                continue;
            }
            let (Some(port), Some(other)) = (site.port(near), site.port(far)) else {
                continue;
            };
            let rate = run.negotiated.map_or_else(
                || port.rate.megabits().min(other.rate.megabits()),
                narrows_core::quantity::LinkRate::megabits,
            );
            let at = match port.socket {
                Socket::Cage => 3,
                Socket::Copper if rate >= FAST => 2,
                Socket::Copper if rate > 1000.0 => 1,
                Socket::Copper => 0,
            };
            found[at] += 1;
        }
    }
    found
}

fn desk(id: &str, luck: &mut Luck<'_>) -> Result<Drawn, CatalogueFault> {
    let quiet: Vec<Power> = luck.row_for(id, "power.desk.idle")?;
    let busy: Vec<Power> = luck.row_for(id, "power.desk.busy")?;
    let holds: Vec<Time> = luck.row_for(&format!("{id}/hold-up"), "hold-up.board")?;
    Ok(Drawn {
        quiet,
        start: busy.clone(),
        busy,
        holds: Some(holds),
    })
}

/// All loads together, draw by draw: at work, and while drives start.
///
/// Where somebody measured, that is what they take at work; what the start of drives adds comes on
/// top.
pub(crate) fn together(
    loads: &[Load],
    measured: Option<&[Power]>,
    count: usize,
) -> (Vec<Power>, Vec<Power>) {
    let sum = |pick: fn(&Drawn) -> &Vec<Power>, i: usize| {
        loads
            .iter()
            .filter_map(|l| pick(&l.drawn).get(i))
            .fold(watts(0.0), |a, b| a + *b)
    };
    (0..count)
        .map(|i| {
            let (busy, start) = (sum(|d| &d.busy, i), sum(|d| &d.start, i));
            match measured.and_then(|m| m.get(i)) {
                Some(said) => {
                    let more = (in_watts(start) - in_watts(busy)).max(0.0);
                    (*said, *said + watts(more))
                }
                None => (busy, if start > busy { start } else { busy }),
            }
        })
        .unzip()
}
