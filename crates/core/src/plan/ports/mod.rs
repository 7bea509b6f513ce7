//! Who gets the fast ports: desks, jacks and ports of switches, and a patch list to carry to the closet.
//!
//! Each desk at each port is the budget of the site patched so: the rates that its cable holds with their
//! chances, its card and disk, and the way behind the port. Desks whose streams only a fast port carries
//! come first; then the waiting of all desks together is the least there is; then links that several
//! streams share are checked by the one rule for sharing, and the arrangement is changed where one would
//! be over-full.

mod assign;
mod cabled;
mod map;
mod patching;
mod reach;
mod table;
#[cfg(test)]
mod tests;

pub use map::{Jack, Traced, jack_map};

use crate::allocate::ProblemFault;
use crate::budget::{BudgetFault, RateRange};
use crate::cable::Cabling;
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::plan::{Patience, Stopped, Watch};
use crate::quantity::{DataRate, Information, LinkRate, Ratio, Time};
use crate::site::{End, Site, Value};
use crate::work::{Direction, Task};
use cabled::{budgets, cabled, free_ports, reached};
use table::Table;

/// Something that a desk does every day.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// Name of the desk.
    pub desk: String,
    /// What it does, in a few words.
    pub what: String,
    /// Which array, where there are several.
    pub array: Option<String>,
    /// Which way the data go.
    pub direction: Direction,
    /// A rate that it must have to run, as playing does.
    pub demand: Option<DataRate>,
    /// Data a day that somebody waits for.
    pub per_day: Option<Information>,
}

impl Load {
    /// What the tasks of a site need and wait for: the middle of what is known. Tasks that neither have a
    /// deadline nor make anybody wait are left out.
    pub fn of_site(site: &Site) -> Vec<Self> {
        let load = |task: &Task| Self {
            desk: task.desk.clone(),
            what: match task.material_text() {
                Some(material) => format!("{}: {material}", task.does.word()),
                None => task.does.word().to_owned(),
            },
            array: Some(task.array.clone()),
            direction: task.direction,
            demand: task.demand.as_ref().map(Value::median),
            per_day: task.per_day.as_ref().map(Value::median),
        };
        let counts = |load: &Self| load.demand.is_some() || load.per_day.is_some();
        site.tasks.iter().map(load).filter(counts).collect()
    }
}

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The installation as it is patched today.
    pub site: &'a Site,
    /// Jacks; a desk without one stays on its switch, over its run of the site.
    pub jacks: &'a [Jack],
    /// What the desks do. With none, every desk waits for the same.
    pub loads: &'a [Load],
    /// How many draws.
    pub draws: usize,
    /// On how many processors at once; the answer is the same for any number.
    pub workers: usize,
}

/// A port of a switch, or one of several equal ones.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SwitchPort {
    /// Name of the switch.
    pub switch: String,
    /// Name of the port, or of the group of equal ones.
    pub port: String,
    /// The rate it is sold as.
    pub rate: LinkRate,
}

/// One line of the patch list.
#[derive(Clone, Debug)]
pub struct Patch {
    /// The desk.
    pub desk: String,
    /// The jack, or the run of the site where no list has the desk.
    pub jack: String,
    /// Whether a list has it.
    pub listed: bool,
    /// The port of the patch panel.
    pub panel: Option<String>,
    /// The room.
    pub room: Option<String>,
    /// How sure the label is.
    pub traced: Traced,
    /// Where it is patched today.
    pub today: SwitchPort,
    /// Where it should be; none where there is no port for it.
    pub port: Option<SwitchPort>,
    /// The rates that the link may come up with, the slowest first, with their chances.
    pub links: Vec<(LinkRate, Ratio)>,
    /// The chance that the cable holds any rate that both ends know; what is left of it counts at the
    /// slowest.
    pub holds: Option<Ratio>,
    /// Reading, alone, as the desk's own budget has it.
    pub read: Option<RateRange>,
    /// Writing, alone.
    pub write: Option<RateRange>,
    /// What somebody waits in a day, as it is patched today; none where no data flow.
    pub waits_today: Option<Time>,
    /// What somebody would wait then.
    pub waits: Option<Time>,
}

impl Patch {
    /// Whether the cord stays where it is.
    pub fn stays(&self) -> bool {
        self.port.as_ref() == Some(&self.today)
    }

    /// The likeliest rate of the link.
    pub fn link(&self) -> Option<(LinkRate, Ratio)> {
        let likelier = |a: (LinkRate, Ratio), b: (LinkRate, Ratio)| if b.1 >= a.1 { b } else { a };
        self.links.iter().copied().reduce(likelier)
    }
}

/// A stream and whether it gets what it needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Carried {
    /// The desk.
    pub desk: String,
    /// What it does.
    pub what: String,
    /// Which way.
    pub direction: Direction,
    /// What it needs.
    pub demand: DataRate,
    /// What it gets with all others at once.
    pub gets: DataRate,
    /// The chance that its own link carries it.
    pub chance: Ratio,
    /// Links that are full, where it is short of one that is shared.
    pub full: Vec<String>,
    /// Whether it gets what it needs.
    pub met: bool,
}

/// A link that several desks share, and what the streams take of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Shared {
    /// Its run in the site.
    pub run: String,
    /// Its ends.
    pub between: [String; 2],
    /// Which way.
    pub direction: Direction,
    /// What it carries, nineteen times in twenty.
    pub carries: DataRate,
    /// What the streams over it need.
    pub wanted: DataRate,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Name of the site.
    pub site: String,
    /// One line a desk, in the order of the site.
    pub patches: Vec<Patch>,
    /// Desks that no patch cord reaches, with why.
    pub apart: Vec<(String, String)>,
    /// Streams, in the order of the loads.
    pub streams: Vec<Carried>,
    /// Links behind the ports that streams pass.
    pub shared: Vec<Shared>,
    /// Ports that are free afterwards, the fastest first, with how many.
    pub free: Vec<(SwitchPort, usize)>,
    /// What was assumed that each desk waits for, where nobody said.
    pub assumed: Option<Information>,
    /// Links that the arrangement of the least waiting would have over-filled.
    pub relieved: Vec<String>,
    /// Whether the search for an arrangement that holds was given up.
    pub given_up: bool,
    /// How many desks were looked at, where that was stopped; the others keep their port.
    pub stopped: Option<Stopped>,
}

impl Answer {
    /// Whether every stream gets what it needs, and every desk a port.
    pub fn met(&self) -> bool {
        self.streams.iter().all(|s| s.met) && self.patches.iter().all(|p| p.port.is_some())
    }

    /// What all wait in a day, as patched today and afterwards; none where one waits for ever.
    pub fn waits(&self) -> (Option<Time>, Option<Time>) {
        let sum = |of: fn(&Patch) -> Option<Time>| {
            let each = self.patches.iter().map(of);
            each.reduce(|a, b| Some(a? + b?)).flatten()
        };
        (sum(|p| p.waits_today), sum(|p| p.waits))
    }
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum PortsFault {
    /// No desk hangs on a switch by a cable.
    NothingToPatch,
    /// A load of a desk that the site does not have.
    NoDesk(String),
    /// A row that the catalogue lacks.
    Catalogue(CatalogueFault),
    /// A budget that cannot be had.
    Budget(BudgetFault),
    /// A model that cannot be used.
    Model(String),
}

impl std::fmt::Display for PortsFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NothingToPatch => write!(f, "no desk hangs on a switch by a cable"),
            Self::NoDesk(name) => write!(f, "there is no desk '{name}'"),
            Self::Catalogue(fault) => write!(f, "{fault}"),
            Self::Budget(fault) => write!(f, "{fault}"),
            Self::Model(what) => write!(f, "{what}"),
        }
    }
}

impl std::error::Error for PortsFault {}

impl From<CatalogueFault> for PortsFault {
    fn from(fault: CatalogueFault) -> Self {
        Self::Catalogue(fault)
    }
}

impl From<BudgetFault> for PortsFault {
    fn from(fault: BudgetFault) -> Self {
        Self::Budget(fault)
    }
}

impl From<ProblemFault> for PortsFault {
    fn from(fault: ProblemFault) -> Self {
        Self::Model(format!("sharing cannot be worked out: {fault:?}"))
    }
}

/// Says which jack is patched to which port of a switch.
///
/// A desk whose streams only some ports carry gets one of those first: a stream rests on the rate that
/// its link holds with nine chances in ten. Then what all desks together wait in a day is the least
/// there is, each desk taken alone: the mean over what is not known. Then all streams are put on the
/// links behind the ports at once, and the arrangement changes where one of them would be over-full: see
/// `Patching::solve` for the rule. A desk is patched to another port only where that saves it more than a
/// few seconds a day (`patching.worth-a-move`).
///
/// What the array and the NAS give several streams at once is not looked at. Where `watch` says that it is enough, desks
/// that were not looked at keep their port, and the first arrangement stands.
///
/// # Errors
/// Where no desk can be patched, a load names a desk that is not there, or a budget cannot be had.
///
/// Checked by `verify_the_patched_site_has_the_budget_that_was_told`,
/// `verify_workers_do_not_change_the_patch_list`,
/// `desks_that_nobody_looked_at_keep_their_port`.
pub fn ports(
    question: &Question<'_>,
    catalogue: &Catalogue,
    watch: Watch<'_>,
) -> Result<Answer, PortsFault> {
    let site = question.site;
    let (assumed, loads) = loads(question, catalogue)?;
    for load in &loads {
        if !site.desks.iter().any(|d| d.name == load.desk) {
            return Err(PortsFault::NoDesk(load.desk.clone()));
        }
    }
    let cabling = Cabling::new(catalogue)?;
    let (cabled, apart) = cabled(question, &cabling)?;
    if cabled.is_empty() {
        return Err(PortsFault::NothingToPatch);
    }
    let (free_ports, kinds) = free_ports(site, &cabled);
    let patience = Patience::of(watch);
    let (reached, looked_at) = reached(question, (&cabled, &free_ports), catalogue, &patience)?;
    let worth: Time = catalogue.spread("patching.worth-a-move")?.median();
    let table = Table {
        cabled: &cabled,
        free_ports: &free_ports,
        kinds: &kinds,
        reached: &reached,
        loads: &loads,
        worth,
    };
    let (patching, runs) = table.patching(site);
    let patched = patching.solve(&|| patience.lasts(cabled.len(), cabled.len()))?;
    // what was stopped is told as it is known
    let whole = looked_at == cabled.len();
    let budgets = if whole {
        let known = (reached.as_slice(), patched.ports.as_slice());
        budgets(question, &cabled, &free_ports, known, catalogue)?
    } else {
        Vec::new()
    };
    let told = (apart, assumed);
    let mut answer = table.answer(site, (&patching, &runs), (&patched, &budgets), told);
    answer.stopped = (!whole).then_some(Stopped {
        done: looked_at,
        all: cabled.len(),
    });
    Ok(answer)
}

/// The loads that were told, or the same one for every desk.
fn loads(
    question: &Question<'_>,
    catalogue: &Catalogue,
) -> Result<(Option<Information>, Vec<Load>), PortsFault> {
    if !question.loads.is_empty() {
        return Ok((None, question.loads.to_vec()));
    }
    let size: Information = catalogue.spread("patching.usual-load")?.median();
    let load = |desk: &crate::site::Desk| Load {
        desk: desk.name.clone(),
        what: "copy".to_owned(),
        array: None,
        direction: Direction::Read,
        demand: None,
        per_day: Some(size),
    };
    let loads = question.site.desks.iter().map(load).collect();
    Ok((Some(size), loads))
}

/// An end as a port of a switch.
fn switch_port(site: &Site, end: &End) -> Option<SwitchPort> {
    Some(SwitchPort {
        switch: end.name.clone(),
        port: end.port.clone(),
        rate: site.port(end)?.rate,
    })
}
