//! What access points on jacks need beside the air: a port of the switch, and power over its cable.

use crate::air::{Band, Generation, Spoken, Width};
use crate::budget::BudgetFault;
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::copper::Powering;
use crate::quantity::{Measure, units};
use crate::site::{Jack, Machine, Medium, Site, Socket, Switch};
use serde::Serialize;
use std::collections::HashMap;

/// Whether a port of the switch is there for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PortFor {
    /// One is free.
    Free,
    /// The access point that hangs there has it already.
    Its,
    /// All are taken.
    Taken,
    /// Nobody said where the cable ends.
    Unknown,
}

/// Whether power comes over the cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PowerFor {
    /// It does.
    OverTheCable,
    /// The switch gives none, or there is no port that could.
    None,
    /// Its ports give a lower class than the box may ask for.
    ClassTooLow,
    /// What it gives over all its cables is spent.
    BudgetSpent,
}

/// What an access point on one jack needs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Feed {
    /// The jack.
    pub jack: String,
    /// The switch that its cable ends at, where that is told.
    pub switch: Option<String>,
    /// A port of that switch.
    pub port: PortFor,
    /// Power over the cable.
    pub power: PowerFor,
    /// The class of IEEE 802.3 that the box may ask for.
    pub power_class: u8,
    /// What the switch has to send for it at most, in watts.
    pub watts: f64,
    /// What to add, in words; nothing where all is there.
    pub add: Vec<String>,
}

/// What a box takes over its cable: the class, and what the source sends for it at most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Takes {
    pub(super) class: u8,
    pub(super) watts: f64,
}

/// What a box that speaks so takes: the least class that promises its end of `air.takes` with the most power, and that
/// power with what the class allows the cable to lose (IEEE 802.3 clauses 33 and 145). Two bands with two streams,
/// four streams or 160 MHz, and three bands or be are told apart. `validate_power_of_access_points` checks it.
pub(super) fn takes(speaks: Spoken, catalogue: &Catalogue) -> Result<Takes, BudgetFault> {
    let three = speaks.generation == Some(Generation::Be) || speaks.band == Some(Band::Six);
    let wide = speaks.width >= Some(Width::OneSixty) || speaks.streams > Some(2);
    let row = match (three, wide) {
        (true, _) => "air.takes.three-bands",
        (_, true) => "air.takes.four-streams",
        _ => "air.takes.two-streams",
    };
    let most = catalogue.number(row)?.high;
    let powering = Powering::new(catalogue)?;
    for class in 1..=8 {
        let Ok(class) = powering.class(class) else {
            continue;
        };
        let watts = |power: crate::quantity::Power| power.get::<units::power::watt>();
        if watts(class.guaranteed) >= most {
            return Ok(Takes {
                class: class.class,
                watts: most * watts(class.source) / watts(class.guaranteed),
            });
        }
    }
    Err(BudgetFault::Catalogue(CatalogueFault {
        place: row.to_owned(),
        problem: "no class of power over the cable gives so much".to_owned(),
    }))
}

/// What is left of a switch.
struct Left {
    ports: usize,
    watts: f64,
    class: u8,
}

/// What access points on some jacks find at their switches, jack by jack in their order: each takes a free port and
/// what it needs of the power that is left. Those that hang there already keep theirs.
/// `a_set_of_jacks_takes_ports_and_power_one_after_the_other` checks it.
pub(super) fn feeds(site: &Site, jacks: &[&Jack], takes: Takes) -> Vec<Feed> {
    let mut left: HashMap<&str, Left> = HashMap::new();
    let mut found = Vec::new();
    for jack in jacks {
        let switch = jack
            .switch
            .as_deref()
            .and_then(|name| site.switches.iter().find(|s| s.name == name));
        let (port, power) = match switch {
            None if jack.power => (PortFor::Unknown, PowerFor::OverTheCable),
            None => (PortFor::Unknown, PowerFor::None),
            Some(switch) => {
                let left = left
                    .entry(switch.name.as_str())
                    .or_insert_with(|| of(site, switch, takes));
                at(site, jack, switch, left, takes)
            }
        };
        let place = switch.map_or("the switch", |s| s.name.as_str());
        let mut add = Vec::new();
        if port == PortFor::Taken {
            add.push(format!("a port at {place}"));
        }
        if power != PowerFor::OverTheCable {
            add.push(format!("an injector of class {}", takes.class));
        }
        found.push(Feed {
            jack: jack.name.clone(),
            switch: switch.map(|s| s.name.clone()),
            port,
            power,
            power_class: takes.class,
            watts: crate::quantity::six_digits(takes.watts),
            add,
        });
    }
    found
}

/// What a switch has left beside everything that hangs on it.
fn of(site: &Site, switch: &Switch, takes: Takes) -> Left {
    let all: usize = switch
        .ports
        .iter()
        .filter(|port| port.socket == Socket::Copper)
        .map(|port| port.count)
        .sum();
    let mut used = 0;
    let mut spent = 0.0;
    for run in &site.runs {
        for (end, other) in [(&run.from, &run.to), (&run.to, &run.from)] {
            let here = end.machine == Machine::Switch && end.name == switch.name;
            if !here || matches!(run.medium, Medium::Wireless { .. }) {
                continue;
            }
            let port = switch.ports.iter().find(|port| port.name == end.port);
            used += usize::from(port.is_some_and(|port| port.socket == Socket::Copper));
            let point = site.switches.iter().find(|s| s.name == other.name);
            let fed = point.and_then(|s| s.cell.as_ref()).is_some_and(|c| c.power);
            if fed && other.machine == Machine::Switch {
                spent += takes.watts;
            }
        }
    }
    let given = switch.powers.as_ref();
    Left {
        ports: all.saturating_sub(used),
        watts: given.map_or(0.0, |powers| powers.budget.median().base()) - spent,
        class: given.map_or(0, |powers| powers.class),
    }
}

fn at(
    site: &Site,
    jack: &Jack,
    switch: &Switch,
    left: &mut Left,
    takes: Takes,
) -> (PortFor, PowerFor) {
    let hangs_there = site.switches.iter().find(|point| {
        let here = |cell: &crate::site::Cell| cell.room.as_deref() == Some(jack.room.as_str());
        point.cell.as_ref().is_some_and(here) && joined(site, &point.name, &switch.name)
    });
    let port = match (hangs_there, left.ports) {
        (Some(_), _) => PortFor::Its,
        (None, 0) => PortFor::Taken,
        (None, _) => {
            left.ports -= 1;
            PortFor::Free
        }
    };
    if let Some(cell) = hangs_there.and_then(|point| point.cell.as_ref())
        && cell.power
    {
        return (port, PowerFor::OverTheCable);
    }
    let power = match &switch.powers {
        _ if port == PortFor::Taken => PowerFor::None,
        None if jack.power => PowerFor::OverTheCable,
        None => PowerFor::None,
        Some(_) if left.class < takes.class => PowerFor::ClassTooLow,
        Some(_) if left.watts < takes.watts => PowerFor::BudgetSpent,
        Some(_) => {
            left.watts -= takes.watts;
            PowerFor::OverTheCable
        }
    };
    (port, power)
}

/// Whether a cable joins an access point and a switch.
fn joined(site: &Site, point: &str, switch: &str) -> bool {
    site.runs.iter().any(|run| {
        let names = [&run.from, &run.to].map(|end| (end.machine == Machine::Switch, &end.name));
        let is = |name: &str| names.iter().any(|(is, n)| *is && n.as_str() == name);
        !matches!(run.medium, Medium::Wireless { .. }) && is(point) && is(switch)
    })
}
