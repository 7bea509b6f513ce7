//! Runs: their two ends and what joins them.

use super::fault::Place;
use super::media::radio_or_not;
use super::model::{Chosen, Duct, Duplex, End, Machine, Medium, Run, Value as Drawn};
use super::reader::{Part, Read, Reader, Reported};
use super::tree::Node;
use super::values::no_such_word;
use crate::quantity::{Length, LinkRate, Ratio, UnitFault};

/// A machine by name with the names of its ports, read or not.
#[derive(Clone, Debug)]
pub(super) struct Named {
    pub(super) machine: Machine,
    pub(super) name: String,
    pub(super) ports: Vec<String>,
    /// An access point, which passes on what it gets as a switch does.
    pub(super) air: bool,
}

impl Named {
    pub(super) fn word(&self) -> &'static str {
        if self.air {
            "access-point"
        } else {
            self.machine.word()
        }
    }

    pub(super) fn path(&self) -> String {
        format!("{}.{}", self.word(), self.name)
    }
}

/// A run as far as it could be read, with the places that its checks point at.
pub(super) struct Laid {
    pub(super) number: usize,
    pub(super) ends: [Read<End>; 2],
    pub(super) places: [Place; 2],
    pub(super) medium: Read<Joint>,
    pub(super) cable: Place,
    pub(super) negotiated: Read<Option<LinkRate>>,
    pub(super) negotiated_at: Place,
    pub(super) duplex: Read<Option<Duplex>>,
    pub(super) duplex_at: Place,
    pub(super) lost: Read<Option<Drawn<Ratio>>>,
    pub(super) errors: Read<Option<Chosen<bool>>>,
    pub(super) drops: Read<Option<Drawn<Ratio>>>,
    pub(super) duct: Read<Option<Duct>>,
    /// Whether it says that it is a radio link, readable or not.
    pub(super) radio: bool,
}

/// What joins the ends; a cable of no kind waits for its ports to be known.
pub(super) enum Joint {
    Known(Medium),
    Unstated { length: Option<Drawn<Length>> },
}

impl Laid {
    /// What joins the ends, apart from the rest.
    pub(super) fn split(mut self) -> (Self, Read<Joint>) {
        let joint = std::mem::replace(&mut self.medium, Err(Reported));
        (self, joint)
    }

    /// The run, once everything about it is known.
    pub(super) fn finish(self, medium: Medium) -> Read<Run> {
        let [from, to] = self.ends;
        Ok(Run {
            number: self.number,
            from: from?,
            to: to?,
            medium,
            negotiated: self.negotiated?,
            duplex: self.duplex?,
            lost: self.lost?,
            errors: self.errors?,
            drops: self.drops?,
            duct: self.duct?,
        })
    }
}

impl Reader<'_> {
    /// One run.
    pub(super) fn run(&mut self, part: &Part<'_>, machines: &[Named]) -> Laid {
        let ends = ["from", "to"].map(|key| self.end(part, key, machines));
        let medium = self.medium(part);
        let negotiated = self.link_rate(part, "negotiated");
        let duplex = self.duplex(part);
        let errors = self.yes_no(part, "errors", "yes-no");
        let [lost, drops] = ["lost", "drops"].map(|key| self.lost(part, key));
        Laid {
            number: part.name.parse().unwrap_or(0),
            ends,
            places: ["from", "to"].map(|key| part.place_of(key)),
            medium,
            cable: part.place_of("cable"),
            negotiated,
            negotiated_at: part.place_of("negotiated"),
            duplex,
            duplex_at: part.place_of("duplex"),
            lost,
            errors,
            drops,
            duct: self.duct(part),
            radio: part.table.get("wireless").is_some(),
        }
    }

    fn end(&mut self, part: &Part<'_>, key: &str, machines: &[Named]) -> Read<End> {
        let Some((text, node)) = self.text(part, key)? else {
            return Err(self.missing(part, key));
        };
        let written = text.trim();
        let mut pieces = written.splitn(3, '.');
        let (kind, name, port) = (pieces.next(), pieces.next(), pieces.next());
        let found = machines
            .iter()
            .find(|m| Some(m.word()) == kind && Some(m.name.as_str()) == name);
        let Some(found) = found else {
            return Err(self.no_such_end(part, key, (text, node), machines));
        };
        let end = |port: &str| End {
            machine: found.machine,
            name: found.name.clone(),
            port: port.to_owned(),
        };
        match (port, &found.ports[..]) {
            (Some(port), ports) if ports.iter().any(|p| p == port) => Ok(end(port)),
            (None, [only]) => Ok(end(only)),
            // the machine's own fault is reported where it is described
            (_, []) => Err(Reported),
            (Some(port), ports) => {
                let all: Vec<String> = ports
                    .iter()
                    .map(|p| format!("{}.{p}", found.path()))
                    .collect();
                let all: Vec<&str> = all.iter().map(String::as_str).collect();
                let mut fault = no_such_word(text, written, &all);
                fault.found = match &fault.instead {
                    Some(near) => format!(
                        "{} has no port '{port}'; did you mean '{}'?",
                        found.path(),
                        near.trim()
                    ),
                    None => format!("{} has no port '{port}'", found.path()),
                };
                Err(self.unit(
                    node,
                    format!("{} names no port of this site", part.id(key)),
                    fault,
                ))
            }
            (None, ports) if radio_or_not(part, ports).is_some() => {
                Ok(end(radio_or_not(part, ports).unwrap_or_default()))
            }
            (None, ports) => {
                let all: Vec<String> = ports
                    .iter()
                    .map(|p| format!("{}.{p}", found.path()))
                    .collect();
                let fault = UnitFault {
                    span: 0..text.len(),
                    found: format!("{} has more than one port", found.path()),
                    help: format!("write one of {}", all.join(", ")),
                    instead: None,
                };
                Err(self.unit(
                    node,
                    format!("{} does not say which port", part.id(key)),
                    fault,
                ))
            }
        }
    }

    fn no_such_end(
        &mut self,
        part: &Part<'_>,
        key: &str,
        (text, node): (&str, &Node),
        machines: &[Named],
    ) -> Reported {
        if !self.whole {
            return Reported;
        }
        let written = text.trim();
        let paths: Vec<String> = machines.iter().map(Named::path).collect();
        let all: Vec<&str> = paths.iter().map(String::as_str).collect();
        let mut fault = no_such_word(text, written, &all);
        if written.starts_with("array.") {
            "an array has no port; a run leads to its NAS".clone_into(&mut fault.found);
        } else if let Some((machine, port)) = written.rsplit_once('.')
            && machine.contains('.')
        {
            // "nas.stor.a": the port may be right and the machine wrong
            let near = no_such_word(machine, machine, &all);
            if let Some(near) = near.instead {
                fault.found = format!("'{machine}' is not known here; did you mean '{near}'?");
                fault.instead = Some(format!("{near}.{port}"));
            }
        } else {
            // a machine may go by its name alone
            let names: Vec<&str> = machines
                .iter()
                .map(|machine| machine.name.as_str())
                .collect();
            let near = no_such_word(text, written, &names);
            if near.instead.is_some() && fault.instead.is_none() {
                (fault.found, fault.instead) = (near.found, near.instead);
            }
        }
        if machines.is_empty() {
            "describe the machines first: [nas.NAME], [switch.NAME], [desk.NAME]"
                .clone_into(&mut fault.help);
        }
        self.unit(
            node,
            format!("{} names no machine of this site", part.id(key)),
            fault,
        )
    }
}
