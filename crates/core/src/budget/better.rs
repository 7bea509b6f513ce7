//! What the next better part of each place would give: the next rate of a link, the next class of a
//! disk, of drives or of a processor, each asked as an edit of the site.

use super::{
    Answer, BudgetFault, Cabling, Flow, FlowHop, HopKind, Question, RateRange, answer_with,
};
use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::quantity::{Information, LinkRate, Measure, exact, in_megabytes_per_second};
use crate::site::{Drive, End, Machine, Medium, Site, read_bytes};
use crate::spread::Draws;
use serde::Serialize;
use std::collections::HashMap;

/// The next better part of a place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Better {
    /// What it is, in words.
    pub part: String,
    /// The edits of the site that it is, as `--set` takes them.
    pub set: Vec<String>,
    /// What the flow gets with it.
    pub megabytes_per_s: RateRange,
}

/// A part that raises the middle of a flow by less is lost in the scatter of two copies.
const WORTH: f64 = 1.05;

/// Rates of links, each the next of the one before.
const RATES: [u32; 6] = [100, 1000, 2500, 5000, 10_000, 25_000];

/// Classes of drives, each the next of the one before.
const DRIVES: [&str; 6] = [
    "hdd-5400",
    "hdd-7200",
    "ssd-sata",
    "nvme-gen3",
    "nvme-gen4",
    "nvme-gen5",
];

/// Classes that stand beside one of those.
const BESIDE: [(&str, &str); 3] = [
    ("hdd", "hdd-7200"),
    ("hdd-smr", "hdd-7200"),
    ("ssd-sata-qlc", "ssd-sata"),
];

/// Classes of processors, each the next of the one before.
const PROCESSORS: [&str; 4] = ["tiny", "small", "medium", "large"];

/// The copper that is sold for the highest rate over 100 m.
const CABLE: &str = "cat6a";

/// The site as it is written, and the edits that were asked before.
#[derive(Clone, Copy, Debug)]
pub struct Written<'a> {
    /// Its text.
    pub bytes: &'a [u8],
    /// Edits.
    pub edits: &'a [String],
}

/// Writes into each place of an answer what the next better part of it would give, where lifting the
/// place would be noticed at all.
///
/// One part at a time, by the same question and the same draws; `answer` is that of `site`. Places
/// that are no part (windows, requests, programs) and parts that the site cannot be edited to have
/// none. Checked by `verify_a_better_part_is_the_budget_of_its_edit`.
///
/// # Errors
/// Where the catalogue lacks a row.
pub fn better(
    answer: &mut Answer,
    (site, written): (&Site, Written<'_>),
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<(), BudgetFault> {
    let cabling = Cabling::new(catalogue)?;
    let mut asked: HashMap<(String, Vec<String>), Vec<Flow>> = HashMap::new();
    for flow in &mut answer.flows {
        let now = in_megabytes_per_second(flow.megabytes_per_s.p50);
        let (desk, array, port, direction) = (
            flow.desk.clone(),
            flow.array.clone(),
            flow.port.clone(),
            flow.direction,
        );
        for hop in &mut flow.hops {
            let lifted = hop.if_lifted_megabytes_per_s.map(in_megabytes_per_second);
            if desk.is_empty() || lifted.is_none_or(|lifted| lifted <= WORTH * now) {
                continue;
            }
            for (part, set) in next(site, hop) {
                let key = (desk.clone(), set.clone());
                if !asked.contains_key(&key) {
                    let flows = flows(written, &key, question, (catalogue, &cabling), draws)?;
                    asked.insert(key.clone(), flows);
                }
                let same = |other: &&Flow| {
                    other.array == array && other.port == port && other.direction == direction
                };
                let found = asked.get(&key).and_then(|flows| flows.iter().find(same));
                let rate = found.map(|found| found.megabytes_per_s);
                // a part that the rest of the place cannot use is passed over for the next one
                if let Some(rate) = rate.filter(|r| in_megabytes_per_second(r.p50) > WORTH * now) {
                    hop.next_better = Some(Better {
                        part,
                        set,
                        megabytes_per_s: rate,
                    });
                    break;
                }
            }
        }
    }
    Ok(())
}

/// The flows of a desk with edits; none where the site cannot be so.
fn flows(
    written: Written<'_>,
    (desk, set): &(String, Vec<String>),
    question: &Question,
    (catalogue, cabling): (&Catalogue, &Cabling),
    draws: &mut Draws,
) -> Result<Vec<Flow>, BudgetFault> {
    let all: Vec<&String> = written.edits.iter().chain(set).collect();
    let Ok(edits) = Edit::parse_all(&all) else {
        return Ok(Vec::new());
    };
    let Ok(site) = read_bytes(written.bytes, &edits, catalogue) else {
        return Ok(Vec::new());
    };
    let question = Question {
        desk: Some(desk.clone()),
        working: false,
        ..question.clone()
    };
    Ok(answer_with(&site, &question, catalogue, cabling, draws)?.flows)
}

/// The better parts of a place, the next one first: in words, and as edits.
fn next(site: &Site, hop: &FlowHop) -> Vec<(String, Vec<String>)> {
    if hop.kind == HopKind::Link {
        return links(site, hop);
    }
    part(site, hop).into_iter().collect()
}

fn part(site: &Site, hop: &FlowHop) -> Option<(String, Vec<String>)> {
    match hop.kind {
        HopKind::Disk => {
            let name = hop.id.strip_prefix("desk.")?.strip_suffix(".disk")?;
            let desk = site.desks.iter().find(|desk| desk.name == name)?;
            let class = next_drive(desk.disk.value.only()?)?;
            Some((format!("a disk {class}"), vec![edit(&hop.id, class)]))
        }
        HopKind::Array => {
            let name = hop.id.strip_prefix("array.")?;
            let array = site.arrays.iter().find(|array| array.name == name)?;
            let class = next_drive(array.drives.drive.value.only()?)?;
            let count = array.drives.count;
            let (low, middle, high) = array.drives.capacity.value.law().knots();
            // a size that nobody named stays unnamed
            let drives = if low < high {
                format!("{count} x {class}")
            } else {
                format!(
                    "{count} x {} {class}",
                    exact(Information::from_base(middle))
                )
            };
            let path = format!("{}.drives", hop.id);
            Some((format!("drives {class}"), vec![edit(&path, &drives)]))
        }
        HopKind::Processor => {
            let (path, _) = hop.id.rsplit_once('.')?;
            let class = if let Some(name) = path.strip_prefix("nas.") {
                &site.nas(name)?.cpu.class
            } else {
                let name = path.strip_prefix("desk.")?;
                &site.desks.iter().find(|desk| desk.name == name)?.cpu.class
            };
            let class = above(&PROCESSORS, class.value.only()?)?;
            let path = format!("{path}.cpu");
            Some((format!("a processor {class}"), vec![edit(&path, class)]))
        }
        _ => None,
    }
}

fn edit(path: &str, word: &str) -> String {
    format!("{path}=\"{word}\"")
}

fn above<'a>(ladder: &[&'a str], word: &str) -> Option<&'a str> {
    let at = ladder.iter().position(|step| *step == word)?;
    ladder.get(at + 1).copied()
}

fn next_drive(drive: &Drive) -> Option<&'static str> {
    let (Drive::Spinning { class, .. } | Drive::Flash { class, .. }) = drive;
    let beside = BESIDE.iter().find(|(word, _)| word == class);
    beside
        .map(|(_, next)| *next)
        .or_else(|| above(&DRIVES, class))
}

/// The next rates at the ends that do not know them yet; where both do, the better cable.
fn links(site: &Site, hop: &FlowHop) -> Vec<(String, Vec<String>)> {
    let found = site
        .runs
        .iter()
        .find(|run| format!("run.{}", run.number) == hop.id);
    let (Some(run), Some(now)) = (found, hop.link_megabits_per_s) else {
        return Vec::new();
    };
    let rates = RATES
        .into_iter()
        .filter(|rate| f64::from(*rate) > now.megabits());
    rates
        .filter_map(|rate| {
            let next = LinkRate::from_megabits(u64::from(rate));
            let slow = |end: &&End| {
                let port = site.port(end);
                port.is_some_and(|port| port.rate.megabits() < next.megabits())
            };
            let ends: Vec<&End> = [&run.from, &run.to].into_iter().filter(slow).collect();
            let edits = ends
                .iter()
                .map(|end| edit(&format!("{}.rate", path_of(site, end)), &next.to_string()));
            match ends.as_slice() {
                [] => match run.medium {
                    Medium::Copper { .. } => {
                        let set = vec![edit(&format!("{}.cable", hop.id), CABLE)];
                        Some((format!("a {CABLE} cable"), set))
                    }
                    _ => None,
                },
                [end] => Some((format!("{next} at {}", end.name), edits.collect())),
                _ => Some((format!("{next} at both ends"), edits.collect())),
            }
        })
        .collect()
}

/// The path of a port in a site file.
fn path_of(site: &Site, end: &End) -> String {
    let switch = site.switches.iter().find(|s| s.name == end.name);
    let air = end.machine == Machine::Switch && switch.is_some_and(|s| s.cell.is_some());
    let word = if air {
        "access-point"
    } else {
        end.machine.word()
    };
    format!("{word}.{}.port.{}", end.name, end.port)
}
