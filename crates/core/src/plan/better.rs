//! The next better part at a place that holds a flow back: what to ask for next, before anybody names a
//! price.

use crate::budget::{Flow, HopKind};
use crate::quantity::{LinkRate, show};
use crate::site::{Drive, End, Machine, Medium, Run, Site};

/// Rates that ports are sold with, in Mb/s, lowest first (IEEE 802.3).
const STEPS: [u64; 8] = [10, 100, 1_000, 2_500, 5_000, 10_000, 25_000, 100_000];

/// Processor classes of the catalogue, the slowest first.
const PROCESSORS: [&str; 4] = ["tiny", "small", "medium", "large"];

/// What takes the place of a desk's disk, the slowest first; a hard disk comes before all.
const DISKS: [&str; 4] = ["ssd-sata", "nvme-gen3", "nvme-gen4", "nvme-gen5"];

/// The category that holds 10 Gb/s over every length that a standard allows (ISO/IEC 11801).
const BEST_CABLE: &str = "cat6a";

/// So many drives more are looked at: the fewest that keep every level whole.
const MORE_DRIVES: usize = 2;

/// A part that takes the place of another.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// Faster ports at these ends.
    Ports {
        /// Where.
        ends: Vec<End>,
        /// How fast.
        rate: LinkRate,
    },
    /// Another cable in a run.
    Cable {
        /// Number of the run.
        run: usize,
        /// Its category.
        category: String,
    },
    /// A faster processor.
    Processor {
        /// What kind of machine.
        machine: Machine,
        /// Its name.
        name: String,
        /// Its class.
        class: String,
    },
    /// A faster disk in a desk.
    Disk {
        /// The desk.
        desk: String,
        /// Its class.
        class: String,
    },
    /// More drives of the same kind.
    Drives {
        /// The array.
        array: String,
        /// How many there are then.
        count: usize,
    },
}

/// A better part with what it sets in the site.
#[derive(Clone, Debug, PartialEq)]
pub struct Better {
    /// What it is.
    pub part: Part,
    /// Edits, as `--set` takes them.
    pub sets: Vec<String>,
}

/// What would take the place of the hops that hold a flow back together; nothing where a place has no
/// better part, like the number of requests under way.
pub fn better(site: &Site, flow: &Flow, hops: &[String]) -> Option<Better> {
    let found: Vec<_> = hops.iter().filter_map(|id| flow.hop(id)).collect();
    let links: Vec<&Run> = found
        .iter()
        .filter(|hop| hop.kind == HopKind::Link)
        .filter_map(|hop| run_of(site, &hop.id))
        .collect();
    if let Some(first) = links.first() {
        let fallible = found
            .iter()
            .find(|hop| hop.kind == HopKind::Link && !hop.link_is_certain);
        return match fallible {
            Some(hop) => cable(run_of(site, &hop.id)?),
            None => ports(site, flow, &links, first),
        };
    }
    found.iter().find_map(|hop| match hop.kind {
        HopKind::Processor => processor(site, &hop.id),
        HopKind::Disk => disk(site, &flow.desk),
        HopKind::Array => drives(site, &flow.array),
        _ => None,
    })
}

fn run_of<'a>(site: &'a Site, id: &str) -> Option<&'a Run> {
    let number: usize = id.strip_prefix("run.")?.parse().ok()?;
    site.runs.iter().find(|run| run.number == number)
}

fn top(site: &Site, end: &End) -> Option<LinkRate> {
    site.port(end)?.knows.iter().copied().max()
}

/// The rate that a link of these two ends comes to at most.
fn common(site: &Site, run: &Run) -> Option<LinkRate> {
    let (from, to) = (site.port(&run.from)?, site.port(&run.to)?);
    let both = from.knows.iter().filter(|rate| to.knows.contains(rate));
    both.copied().max()
}

/// Faster ports on the path: as fast as the slower of desk and NAS where that helps, else as the faster
/// of them, else one step.
fn ports(site: &Site, flow: &Flow, limiting: &[&Run], first: &Run) -> Option<Better> {
    let now = common(site, first)?;
    let passed: Vec<&Run> = flow
        .hops
        .iter()
        .filter(|hop| hop.kind == HopKind::Link)
        .filter_map(|hop| run_of(site, &hop.id))
        .filter(|run| !matches!(run.medium, Medium::Wireless { .. }))
        .collect();
    let ends = passed.iter().flat_map(|run| [&run.from, &run.to]);
    let outer: Vec<LinkRate> = ends
        .clone()
        .filter(|end| end.machine != Machine::Switch)
        .filter_map(|end| top(site, end))
        .collect();
    let (least, most) = (outer.iter().min()?, outer.iter().max()?);
    let rate = [*least, *most].into_iter().find(|rate| *rate > now);
    let rate = rate.or_else(|| next_step(now))?;
    let mut slow: Vec<&End> = ends
        .filter(|end| top(site, end).is_some_and(|top| top < rate))
        .collect();
    slow.sort();
    slow.dedup();
    let mut sets: Vec<String> = slow
        .iter()
        .map(|end| {
            let machine = end.machine.word();
            format!("{machine}.{}.port.{}.rate=\"{rate}\"", end.name, end.port)
        })
        .collect();
    sets.extend(
        limiting
            .iter()
            .filter(|run| run.negotiated.is_some())
            .map(|run| format!("run.{}.negotiated=", run.number)),
    );
    (!sets.is_empty()).then(|| Better {
        part: Part::Ports {
            ends: slow.into_iter().cloned().collect(),
            rate,
        },
        sets,
    })
}

fn next_step(now: LinkRate) -> Option<LinkRate> {
    STEPS
        .into_iter()
        .map(LinkRate::from_megabits)
        .find(|step| *step > now)
}

fn cable(run: &Run) -> Option<Better> {
    let Medium::Copper { category, .. } = &run.medium else {
        return None;
    };
    let may_be_better = category
        .value
        .options()
        .iter()
        .all(|(c, _)| c != BEST_CABLE);
    (may_be_better || category.value.only().is_none()).then(|| Better {
        part: Part::Cable {
            run: run.number,
            category: BEST_CABLE.to_owned(),
        },
        sets: vec![format!("run.{}.cable=\"{BEST_CABLE}\"", run.number)],
    })
}

fn processor(site: &Site, id: &str) -> Option<Better> {
    let parts: Vec<&str> = id.split('.').collect();
    let (machine, name) = match parts[..] {
        ["desk", name, "cpu"] => (Machine::Desk, name),
        ["nas", name, "cpu" | "array-work"] => (Machine::Nas, name),
        _ => return None,
    };
    let cpu = match machine {
        Machine::Desk => &site.desks.iter().find(|d| d.name == name)?.cpu,
        _ => &site.nas(name)?.cpu,
    };
    let now = cpu.class.value.likeliest();
    let class = after(&PROCESSORS, now)?;
    let cores = cpu.cores.value.median();
    Some(Better {
        part: Part::Processor {
            machine,
            name: name.to_owned(),
            class: class.to_owned(),
        },
        sets: vec![format!(
            "{}.{name}.cpu=\"{class}, {cores:.0} cores\"",
            machine.word()
        )],
    })
}

fn disk(site: &Site, desk: &str) -> Option<Better> {
    let found = site.desks.iter().find(|d| d.name == desk)?;
    let now = found.disk.value.likeliest().class();
    let class = if DISKS.contains(&now) {
        after(&DISKS, now)?
    } else {
        DISKS.first()?
    };
    Some(Better {
        part: Part::Disk {
            desk: desk.to_owned(),
            class: class.to_owned(),
        },
        sets: vec![format!("desk.{desk}.disk=\"{class}\"")],
    })
}

fn drives(site: &Site, array: &str) -> Option<Better> {
    let found = site.arrays.iter().find(|a| a.name == array)?;
    let count = found.drives.count + MORE_DRIVES * found.groups.max(1);
    let class = found.drives.drive.value.only().map(Drive::class);
    let size = show(found.drives.capacity.value.median());
    let text = format!("{count} x {size} {}", class.unwrap_or("unknown"));
    Some(Better {
        part: Part::Drives {
            array: array.to_owned(),
            count,
        },
        sets: vec![format!("array.{array}.drives=\"{text}\"")],
    })
}

/// What follows a word in a list.
fn after<'a>(list: &[&'a str], word: &str) -> Option<&'a str> {
    let at = list.iter().position(|known| *known == word)?;
    list.get(at + 1).copied()
}
