//! The better parts that could take the place of what holds a flow back, the nearest first: what to ask
//! for next, before anybody names a price.

use super::{Flow, HopKind};
use crate::quantity::{Information, LinkRate, Measure, exact};
use crate::site::{Cpu, Drive, End, Machine, Medium, Run, Site, SitePath};
use std::fmt;

/// Rates that ports are sold with, in Mb/s, lowest first (IEEE 802.3).
const RATES: [u64; 7] = [100, 1_000, 2_500, 5_000, 10_000, 25_000, 100_000];

/// Processor classes of the catalogue, the slowest first.
const PROCESSORS: [&str; 5] = ["router", "tiny", "small", "medium", "large"];

/// Classes of drives, each the next of the one before.
const DRIVES: [&str; 6] = [
    "hdd-5400",
    "hdd-7200",
    "ssd-sata",
    "nvme-gen3",
    "nvme-gen4",
    "nvme-gen5",
];

/// Classes that stand beside one of those, with the one that follows them.
const BESIDE: [(&str, &str); 3] = [
    ("hdd", "hdd-7200"),
    ("hdd-smr", "hdd-7200"),
    ("ssd-sata-qlc", "ssd-sata"),
];

/// The category that holds 10 Gb/s over every length that a standard allows (ISO/IEC 11801).
const CABLE: &str = "cat6a";

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
    MoreDrives {
        /// The array.
        array: String,
        /// How many there are then.
        count: usize,
    },
    /// As many drives of a faster class.
    FasterDrives {
        /// The array.
        array: String,
        /// Their class.
        class: String,
    },
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Ports { ends, rate } => {
                let mut names: Vec<&str> = ends.iter().map(|end| end.name.as_str()).collect();
                names.dedup();
                if ends.len() == 1 {
                    write!(f, "a {rate} port")?;
                } else {
                    write!(f, "{rate} ports")?;
                }
                for (i, name) in names.iter().enumerate() {
                    let before = match i {
                        0 => " at ",
                        _ if i + 1 == names.len() => " and ",
                        _ => ", ",
                    };
                    write!(f, "{before}{name}")?;
                }
                Ok(())
            }
            Self::Cable { run, category } => write!(f, "a {category} cable for run.{run}"),
            Self::Processor { class, name, .. } => write!(f, "a {class} processor in {name}"),
            Self::Disk { desk, class } => write!(f, "{class} in {desk}"),
            Self::MoreDrives { array, count } => write!(f, "{count} drives in {array}"),
            Self::FasterDrives { array, class } => write!(f, "{class} drives in {array}"),
        }
    }
}

/// A better part with what it sets in the site.
#[derive(Clone, Debug, PartialEq)]
pub struct BetterPart {
    /// What it is.
    pub part: Part,
    /// Edits, as `--set` takes them.
    pub sets: Vec<String>,
}

/// What could take the place of the hops that hold a flow back together, the nearest first; nothing
/// where a place has no better part, like the number of requests under way.
///
/// Links that are alike are one place: their ports are raised together, first to what the slower, then
/// to what the faster of desk and NAS knows, then step by step. A link that may not hold its rate gets
/// the better cable first. Checked by `verify_a_better_part_is_the_budget_of_its_edit` and
/// `two_places_alike_are_raised_together`.
pub fn parts(site: &Site, flow: &Flow, hops: &[String]) -> Vec<BetterPart> {
    let found: Vec<_> = hops.iter().filter_map(|id| flow.hop(id)).collect();
    let links: Vec<_> = found
        .iter()
        .filter(|hop| hop.kind == HopKind::Link)
        .collect();
    if !links.is_empty() {
        let runs: Vec<&Run> = links
            .iter()
            .filter_map(|hop| site.run_at(&hop.id))
            .collect();
        let uncertain = links.iter().find(|hop| !hop.link_is_certain);
        let first = uncertain.and_then(|hop| cable(site.run_at(&hop.id)?));
        let ports = if uncertain.is_some() {
            Vec::new()
        } else {
            ports(site, flow, &runs)
        };
        let last = match (uncertain, ports.is_empty()) {
            (None, true) => runs.first().and_then(|run| cable(run)),
            _ => None,
        };
        return first.into_iter().chain(ports).chain(last).collect();
    }
    found
        .iter()
        .flat_map(|hop| match hop.kind {
            HopKind::Processor => processor(site, &hop.id).into_iter().collect(),
            HopKind::Disk => disk(site, &flow.desk).into_iter().collect(),
            HopKind::Array => drives(site, &flow.array),
            _ => Vec::new(),
        })
        .collect()
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

/// Faster ports on the path, each rate once.
fn ports(site: &Site, flow: &Flow, limiting: &[&Run]) -> Vec<BetterPart> {
    let passed: Vec<&Run> = flow
        .hops
        .iter()
        .filter(|hop| hop.kind == HopKind::Link)
        .filter_map(|hop| site.run_at(&hop.id))
        .filter(|run| !matches!(run.medium, Medium::Wireless { .. }))
        .collect();
    let ends: Vec<&End> = passed.iter().flat_map(|run| [&run.from, &run.to]).collect();
    let outer: Vec<LinkRate> = ends
        .iter()
        .filter(|end| end.machine != Machine::Switch)
        .filter_map(|end| top(site, end))
        .collect();
    let Some(now) = limiting.iter().filter_map(|run| common(site, run)).min() else {
        return Vec::new();
    };
    let mut rates: Vec<LinkRate> = outer.iter().min().into_iter().copied().collect();
    rates.extend(outer.iter().max());
    rates.extend(RATES.map(LinkRate::from_megabits));
    rates.retain(|rate| *rate > now);
    let mut found: Vec<BetterPart> = Vec::new();
    for rate in rates {
        let mut slow: Vec<&End> = ends
            .iter()
            .copied()
            .filter(|end| top(site, end).is_some_and(|top| top < rate))
            .collect();
        slow.sort();
        slow.dedup();
        let mut sets: Vec<String> = slow
            .iter()
            .map(|end| edit(&format!("{}.rate", path_of(site, end)), &rate.to_string()))
            .collect();
        sets.extend(
            limiting
                .iter()
                .filter(|run| run.negotiated.is_some())
                .map(|run| format!("run.{}.negotiated=", run.number)),
        );
        if !sets.is_empty() && !found.iter().any(|known| known.sets == sets) {
            let ends = slow.into_iter().cloned().collect();
            let part = Part::Ports { ends, rate };
            found.push(BetterPart { part, sets });
        }
    }
    found
}

/// The path of a port in a site file.
fn path_of(site: &Site, end: &End) -> String {
    let switch = site.switches.iter().find(|s| s.name == end.name);
    let air = end.machine == Machine::Switch && switch.is_some_and(|s| s.cell.is_some());
    let machine = if air {
        SitePath::AccessPoint(&end.name, None)
    } else {
        SitePath::machine(end.machine, &end.name)
    };
    format!("{machine}.port.{}", end.port)
}

fn cable(run: &Run) -> Option<BetterPart> {
    let Medium::Copper { category, .. } = &run.medium else {
        return None;
    };
    let may_be_better = category.value.options().iter().all(|(c, _)| c != CABLE);
    (may_be_better || category.value.only().is_none()).then(|| BetterPart {
        part: Part::Cable {
            run: run.number,
            category: CABLE.to_owned(),
        },
        sets: vec![SitePath::Run(run.number, Some("cable")).set(CABLE)],
    })
}

fn processor(site: &Site, id: &str) -> Option<BetterPart> {
    let (machine, name, cpu): (Machine, &str, &Cpu) = match SitePath::of(id) {
        SitePath::Desk(name, Some("cpu")) => {
            let desk = site.desks.iter().find(|d| d.name == name)?;
            (Machine::Desk, name, &desk.cpu)
        }
        SitePath::Nas(name, Some("cpu" | "array-work")) => {
            (Machine::Nas, name, &site.nas(name)?.cpu)
        }
        _ => return None,
    };
    let class = after(&PROCESSORS, cpu.class.value.likeliest())?;
    let cores = cpu.cores.value.median();
    let path = format!("{}.cpu", SitePath::machine(machine, name));
    Some(BetterPart {
        part: Part::Processor {
            machine,
            name: name.to_owned(),
            class: class.to_owned(),
        },
        sets: vec![edit(&path, &format!("{class}, {cores:.0} cores"))],
    })
}

/// A disk of flash in place of a hard disk, else the next class of flash.
fn disk(site: &Site, name: &str) -> Option<BetterPart> {
    let desk = site.desks.iter().find(|d| d.name == name)?;
    let class = match desk.disk.value.likeliest() {
        Drive::Spinning { .. } => DRIVES.iter().copied().find(|c| !c.starts_with("hdd"))?,
        flash @ Drive::Flash { .. } => next_class(flash.class())?,
    };
    Some(BetterPart {
        part: Part::Disk {
            desk: name.to_owned(),
            class: class.to_owned(),
        },
        sets: vec![SitePath::desk(name, "disk").set(class)],
    })
}

/// More drives of the same class, then as many of the next class.
fn drives(site: &Site, name: &str) -> Vec<BetterPart> {
    let Some(array) = site.arrays.iter().find(|a| a.name == name) else {
        return Vec::new();
    };
    let drives = &array.drives;
    let class = drives.drive.value.only().map(Drive::class);
    // a size that nobody named stays unnamed
    let (low, middle, high) = drives.capacity.value.law().knots();
    let size = if low < high {
        String::new()
    } else {
        format!("{} ", exact(Information::from_base(middle)))
    };
    let path = SitePath::array(name, "drives").to_string();
    let count = drives.count + MORE_DRIVES * array.groups.max(1);
    let more = BetterPart {
        part: Part::MoreDrives {
            array: name.to_owned(),
            count,
        },
        sets: vec![edit(
            &path,
            &format!("{count} x {size}{}", class.unwrap_or("unknown")),
        )],
    };
    let faster = class.and_then(next_class).map(|class| BetterPart {
        part: Part::FasterDrives {
            array: name.to_owned(),
            class: class.to_owned(),
        },
        sets: vec![edit(&path, &format!("{} x {size}{class}", drives.count))],
    });
    std::iter::once(more).chain(faster).collect()
}

fn edit(path: &str, word: &str) -> String {
    format!("{path}=\"{word}\"")
}

fn next_class(class: &str) -> Option<&'static str> {
    let beside = BESIDE.iter().find(|(word, _)| *word == class);
    beside
        .map(|(_, next)| *next)
        .or_else(|| after(&DRIVES, class))
}

/// What follows a word in a list.
fn after<'a>(list: &[&'a str], word: &str) -> Option<&'a str> {
    let at = list.iter().position(|known| *known == word)?;
    list.get(at + 1).copied()
}
