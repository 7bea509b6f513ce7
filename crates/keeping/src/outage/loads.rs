//! What hangs on a supply, in watts: at rest, at work, while drives start; and how long each holds.

use crate::samples::{Range, Samples};
use narrows_core::catalogue::CatalogueFault;
use narrows_core::power::{Start, fed_over_cable, in_watts, watts};
use narrows_core::quantity::{Length, Measure, Power, Ratio, Time};
use narrows_core::site::{Drive, Fed, Machine, Medium, Site, Socket, Value};
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
    /// While its drives start one after the other.
    pub start_in_turn_watts: Range<Power>,
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
    /// While its drives start one after the other.
    pub in_turn: Vec<Power>,
    /// Until all its drives turn then; none where nothing spins up.
    pub ready: Option<Vec<Time>>,
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
            start_in_turn_watts: Range::of(&drawn.in_turn),
            drawn,
        }
    }
}

/// What a machine draws.
pub(crate) fn load(
    site: &Site,
    fed: &Fed,
    samples: &mut Samples<'_>,
) -> Result<Load, CatalogueFault> {
    let id = fed.id();
    let drawn = match fed.machine {
        Machine::Nas => nas(site, &fed.name, &id, samples)?,
        Machine::Switch if fed.air => access_point(site, &fed.name, &id, samples)?,
        Machine::Switch => switch(site, &fed.name, &id, samples)?,
        Machine::Desk => desk(&id, samples)?,
    };
    Ok(Load::new(id, drawn))
}

/// What hangs on a supply beside the machines of the site.
pub(crate) fn others(id: String, each: Vec<Power>) -> Load {
    let drawn = Drawn {
        quiet: each.clone(),
        busy: each.clone(),
        in_turn: each.clone(),
        start: each,
        ready: None,
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

fn nas(
    site: &Site,
    name: &str,
    id: &str,
    samples: &mut Samples<'_>,
) -> Result<Drawn, CatalogueFault> {
    let arrays: Vec<_> = site.arrays.iter().filter(|a| a.nas == name).collect();
    let drives: usize = arrays.iter().map(|a| a.drives.count + a.spares).sum();
    let size = bays(drives);
    let idle: Vec<Power> = samples.row_for(id, &format!("power.nas.{size}-bays.idle"))?;
    let busy: Vec<Power> = samples.row_for(id, &format!("power.nas.{size}-bays.busy"))?;
    let passed: Vec<Ratio> =
        samples.row_for(&format!("{id}/efficiency"), "power.supply.efficiency")?;
    let holds: Vec<Time> = samples.row_for(&format!("{id}/hold-up"), "hold-up.nas")?;
    let card: Vec<Power> = samples.row("power.port.nas-fast")?;
    let ports = site.nas(name).map_or(&[][..], |n| &n.ports);
    let cards = ports.iter().filter(|p| p.rate.megabits() >= FAST).count() as f64;
    let surge: Vec<Power> = samples.row("power.drive.surge")?;
    let surge_time: Vec<Time> = samples.row("power.drive.surge-time")?;
    let pause: Vec<Time> = samples.row("power.drive.stagger")?;
    let mut ready = Vec::new();
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
        let idle: Vec<Power> = samples.row(&format!("power.drive.{class}.idle"))?;
        let busy: Vec<Power> = samples.row(&format!("power.drive.{class}.busy"))?;
        sets.push((count, class != "flash", idle, busy));
    }
    for i in 0..samples.count() {
        let [mut quiet, mut work, mut start, mut in_turn] = [watts(0.0); 4];
        let mut turning = Time::default();
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
            let one_by_one = Start {
                group: 1,
                pause: pause[i],
                ..all
            };
            // arrays start beside each other
            let (most, done) = one_by_one.peak();
            in_turn += most;
            if *spins && done > turning {
                turning = done;
            }
        }
        let board = |p: Power| p + card[i] * cards;
        drawn.quiet.push(board(idle[i]) + quiet / passed[i]);
        drawn.busy.push(board(busy[i]) + work / passed[i]);
        drawn.start.push(board(busy[i]) + start / passed[i]);
        drawn.in_turn.push(board(busy[i]) + in_turn / passed[i]);
        ready.push(turning);
    }
    let spins = sets.iter().any(|(_, spins, ..)| *spins);
    drawn.ready = spins.then_some(ready);
    Ok(drawn)
}

/// Ports up to which a switch is a small one, and fast ones from which it is a fast one.
const SMALL: usize = 8;
const FAST_PORTS: usize = 8;

fn switch(
    site: &Site,
    name: &str,
    id: &str,
    samples: &mut Samples<'_>,
) -> Result<Drawn, CatalogueFault> {
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
    let base: Vec<Power> = samples.row_for(id, &format!("power.switch.{size}"))?;
    let holds: Vec<Time> = samples.row_for(&format!("{id}/hold-up"), "hold-up.brick")?;
    let kinds = ["slow", "middle", "fast", "cage"];
    let mut each: Vec<Vec<Power>> = Vec::new();
    for kind in kinds {
        each.push(samples.row(&format!("power.link.{kind}"))?);
    }
    let linked = linked(site, name);
    let own: Vec<Power> = (0..samples.count())
        .map(|i| {
            let ports = linked.iter().zip(&each).map(|(n, w)| (*n, w[i]));
            narrows_core::power::switch_draw(base[i], ports)
        })
        .collect();
    let (quiet, busy) = passed_on(site, name, &own, samples)?;
    Ok(Drawn {
        quiet,
        start: busy.clone(),
        in_turn: busy.clone(),
        busy,
        ready: None,
        holds: Some(holds),
    })
}

/// Whether an access point takes its power over its cable.
fn over_its_cable(site: &Site, name: &str) -> bool {
    let found = site.switches.iter().find(|s| s.name == name);
    found.is_some_and(|s| s.cell.as_ref().is_some_and(|cell| cell.power))
}

/// Runs over which a switch feeds access points: their names and lengths.
fn fed_points<'a>(site: &'a Site, name: &str) -> Vec<(&'a str, &'a Value<Length>)> {
    let mut found = Vec::new();
    for run in &site.runs {
        for (near, far) in [(&run.from, &run.to), (&run.to, &run.from)] {
            let here = near.machine == Machine::Switch && near.name == name;
            if !here || far.machine != Machine::Switch || !over_its_cable(site, &far.name) {
                continue;
            }
            if let Medium::Copper { length, .. } = &run.medium {
                found.push((far.name.as_str(), length));
            }
        }
    }
    found
}

/// Whether an access point lives on what one of some switches feeds it over its cable.
pub(crate) fn is_fed_by(site: &Site, point: &str, switch: &str) -> bool {
    fed_points(site, switch)
        .iter()
        .any(|(name, _)| *name == point)
}

/// What a switch takes with what it feeds over its cables: at rest and at work.
fn passed_on(
    site: &Site,
    name: &str,
    own: &[Power],
    samples: &mut Samples<'_>,
) -> Result<(Vec<Power>, Vec<Power>), CatalogueFault> {
    let (mut quiet, mut busy) = (own.to_vec(), own.to_vec());
    let ohms: Vec<f64> = samples.row("power.node.cable")?;
    let source: Vec<f64> = samples.row("power.node.source")?;
    let passes: Vec<Ratio> = samples.row("power.node.efficiency")?;
    for (point, length) in fed_points(site, name) {
        let (rest, work) = node(&format!("access-point.{point}"), samples)?;
        let length = samples.value(length);
        for i in 0..own.len() {
            let metres = length[i].base();
            let plug = |load: Power| {
                let fed = fed_over_cable(load, source[i], ohms[i] * metres, passes[i]);
                // a cable that cannot carry it is another matter: its power is counted all the same
                fed.map_or(load / passes[i], |(_, _, plug)| plug)
            };
            quiet[i] += plug(rest[i]);
            busy[i] += plug(work[i]);
        }
    }
    Ok((quiet, busy))
}

/// What an access point draws at rest and at work.
fn node(id: &str, samples: &mut Samples<'_>) -> Result<(Vec<Power>, Vec<Power>), CatalogueFault> {
    let idle = samples.row_for(id, "power.node.idle")?;
    let busy = samples.row_for(id, "power.node.busy")?;
    Ok((idle, busy))
}

/// An access point on a plug of its own; over its cable it takes what its switch passes on.
fn access_point(
    site: &Site,
    name: &str,
    id: &str,
    samples: &mut Samples<'_>,
) -> Result<Drawn, CatalogueFault> {
    let (mut quiet, mut busy) = node(id, samples)?;
    let holds: Vec<Time> = samples.row_for(&format!("{id}/hold-up"), "hold-up.brick")?;
    let cable = over_its_cable(site, name);
    if cable {
        quiet.fill(watts(0.0));
        busy.fill(watts(0.0));
    }
    Ok(Drawn {
        quiet,
        start: busy.clone(),
        in_turn: busy.clone(),
        busy,
        ready: None,
        holds: (!cable).then_some(holds),
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

fn desk(id: &str, samples: &mut Samples<'_>) -> Result<Drawn, CatalogueFault> {
    let quiet: Vec<Power> = samples.row_for(id, "power.desk.idle")?;
    let busy: Vec<Power> = samples.row_for(id, "power.desk.busy")?;
    let holds: Vec<Time> = samples.row_for(&format!("{id}/hold-up"), "hold-up.board")?;
    Ok(Drawn {
        quiet,
        start: busy.clone(),
        in_turn: busy.clone(),
        busy,
        ready: None,
        holds: Some(holds),
    })
}

/// All loads together, draw by draw.
pub(crate) struct Sums {
    /// At work.
    pub busy: Vec<Power>,
    /// While all drives start at once.
    pub start: Vec<Power>,
    /// While they start one after the other.
    pub in_turn: Vec<Power>,
}

/// All loads together.
///
/// Where somebody measured, that is what they take at work; what the start of drives adds comes on
/// top.
pub(crate) fn together(loads: &[Load], measured: Option<&[Power]>, count: usize) -> Sums {
    let sum = |pick: fn(&Drawn) -> &Vec<Power>, i: usize| {
        loads
            .iter()
            .filter_map(|l| pick(&l.drawn).get(i))
            .fold(watts(0.0), |a, b| a + *b)
    };
    let mut sums = Sums {
        busy: Vec::with_capacity(count),
        start: Vec::with_capacity(count),
        in_turn: Vec::with_capacity(count),
    };
    for i in 0..count {
        let (busy, start, in_turn) = (
            sum(|d| &d.busy, i),
            sum(|d| &d.start, i),
            sum(|d| &d.in_turn, i),
        );
        let base = measured.and_then(|m| m.get(i)).copied().unwrap_or(busy);
        let with = |load: Power| base + watts((in_watts(load) - in_watts(busy)).max(0.0));
        sums.busy.push(base);
        sums.start.push(with(start));
        sums.in_turn.push(with(in_turn));
    }
    sums
}

/// Until all drives turn where they start one after the other; none where nothing spins up.
pub(crate) fn all_turn(loads: &[Load], count: usize) -> Option<Vec<Time>> {
    let columns: Vec<&Vec<Time>> = loads
        .iter()
        .filter_map(|l| l.drawn.ready.as_ref())
        .collect();
    if columns.is_empty() {
        return None;
    }
    let longest = |i: usize| {
        let each = columns.iter().filter_map(|c| c.get(i)).copied();
        each.fold(Time::default(), |a, b| if b > a { b } else { a })
    };
    Some((0..count).map(longest).collect())
}
