//! Which offers can matter to what a desk gets.

use super::affected::{Affected, moving};
use super::combos::{Mask, bit};
use crate::site::{Desk, Machine, Run, Site};
use std::collections::BTreeSet;

/// Runs, switches, machines and ports that a desk's ways may pass, whatever is bought.
struct Ways {
    runs: BTreeSet<usize>,
    switches: BTreeSet<String>,
    nas: BTreeSet<String>,
    ports: BTreeSet<(String, String)>,
    /// Every port of those switches.
    any_port: bool,
}

fn is_of_a_desk(run: &Run) -> bool {
    run.from.machine == Machine::Desk || run.to.machine == Machine::Desk
}

impl Ways {
    fn of(desk: &Desk, site: &Site, moving: &BTreeSet<usize>) -> Self {
        let mut ways = Self {
            runs: BTreeSet::new(),
            switches: BTreeSet::new(),
            nas: BTreeSet::new(),
            ports: BTreeSet::new(),
            any_port: false,
        };
        let own = |run: &&Run| {
            [&run.from, &run.to]
                .into_iter()
                .any(|end| end.machine == Machine::Desk && end.name == desk.name)
        };
        for run in site.runs.iter().filter(own) {
            ways.take(run);
            ways.any_port |= moving.contains(&run.number);
        }
        // a run between switches that may move can lead anywhere
        let trunk = |run: &&Run| !is_of_a_desk(run);
        ways.any_port |= site
            .runs
            .iter()
            .any(|run| trunk(&run) && moving.contains(&run.number));
        if ways.any_port {
            ways.switches
                .extend(site.switches.iter().map(|s| s.name.clone()));
        }
        loop {
            let before = ways.runs.len();
            for run in site.runs.iter().filter(trunk) {
                let touches = [&run.from, &run.to]
                    .into_iter()
                    .any(|end| end.machine == Machine::Switch && ways.switches.contains(&end.name));
                if touches {
                    ways.take(run);
                }
            }
            if ways.runs.len() == before {
                return ways;
            }
        }
    }

    fn take(&mut self, run: &Run) {
        self.runs.insert(run.number);
        for end in [&run.from, &run.to] {
            match end.machine {
                Machine::Switch => {
                    self.switches.insert(end.name.clone());
                    self.ports.insert((end.name.clone(), end.port.clone()));
                }
                Machine::Nas => {
                    self.nas.insert(end.name.clone());
                }
                Machine::Desk => {}
            }
        }
    }

    fn concern(&self, one: &Affected, desk: &Desk, site: &Site) -> bool {
        match one {
            Affected::All | Affected::Network => true,
            Affected::Desk(name, _) => *name == desk.name,
            Affected::Nas(name, _) => self.nas.contains(name),
            Affected::Array(name) => {
                let array = site.arrays.iter().find(|a| a.name == *name);
                array.is_none_or(|array| self.nas.contains(&array.nas))
            }
            // how many ports there are changes where a run may go, not what it carries
            Affected::Port(_, _, true) => false,
            Affected::Port(switch, port, false) => {
                let known = self.ports.contains(&(switch.clone(), port.clone()));
                known || (self.any_port && self.switches.contains(switch))
            }
            Affected::Run(number, _) => self.runs.contains(number),
        }
    }
}

/// For each desk the offers that can change what it gets, whatever else is bought.
///
/// A desk gets what its own parts, the runs, ports and switches on its ways, and the machines and arrays
/// at their ends give it. Where the end of one of those runs may move, it may lead over any port.
///
/// Checked by `property_no_combination_is_beaten_and_none_is_missing`.
pub(super) fn relevant(site: &Site, affected: &[Vec<Affected>]) -> Vec<Mask> {
    let moving = moving(affected);
    site.desks
        .iter()
        .map(|desk| {
            let ways = Ways::of(desk, site, &moving);
            let matters = |list: &[Affected]| list.iter().any(|t| ways.concern(t, desk, site));
            let each = affected.iter().enumerate();
            each.filter(|(_, list)| matters(list))
                .fold(0, |mask, (index, _)| mask | bit(index))
        })
        .collect()
}
