//! What a machine says, held against what a site file says of it.

use narrows_core::quantity::{bytes, show};
use narrows_core::site::{Attachment, Chosen, End, Machine as Place, Port, Run, SitePath};
use narrows_core::site::{Line, Site};
use narrows_probe::machine::{Link, Machine, Role};
use narrows_probe::says::{Activity, Duplex, Kind, Service};

/// One value that differs.
pub(crate) struct Difference {
    /// Its path in the site.
    pub path: String,
    /// What the machine says.
    pub machine: String,
    /// What the site says.
    pub site: String,
    /// The change that would put it right.
    pub set: String,
    /// Where the site file says it.
    pub line: Option<Line>,
}

impl Difference {
    /// `file` is the path of the site file.
    pub(crate) fn words(&self, file: &str) -> String {
        let place = match self.line {
            Some(Line {
                number,
                whole: true,
            }) => format!("{file}, line {number}: "),
            // what stands in no line is what is reckoned with where nothing is said
            Some(Line { number, .. }) => {
                format!("{file}, below line {number}, where it is not said: ")
            }
            None => String::new(),
        };
        format!(
            "{place}{}: the site says {}, this machine says {}.",
            self.path, self.site, self.machine
        )
    }
}

type Refusal = (String, String);

/// All differences; a question in place of them where the site does not know the machine.
pub(super) fn against(
    machine: &Machine,
    role: &Role,
    site: &Site,
) -> Result<Vec<Difference>, Refusal> {
    let mut out = Vec::new();
    let (place, name, ports) = match role {
        Role::Desk(name) => {
            let names: Vec<&str> = site.desks.iter().map(|d| d.name.as_str()).collect();
            let desk = match (name.as_str(), &site.desks[..]) {
                ("this", [only]) => Some(only),
                (name, desks) => desks.iter().find(|d| d.name == name),
            };
            let desk = desk.ok_or_else(|| whose("desk", name, &names))?;
            (Place::Desk, desk.name.clone(), &desk.ports)
        }
        Role::Nas(name) => {
            let names: Vec<&str> = site.nas.iter().map(|d| d.name.as_str()).collect();
            let nas = site.nas(name).ok_or_else(|| whose("nas", name, &names))?;
            (Place::Nas, nas.name.clone(), &nas.ports)
        }
    };
    if let Some((link, port)) = matched(machine, ports) {
        of_port(
            link,
            port,
            &format!("{}.{name}.port.{}", place.word(), port.name),
            machine,
            &mut out,
        );
        let at = |end: &End| end.machine == place && end.name == name && end.port == port.name;
        if let Some(run) = site.runs.iter().find(|run| at(&run.from) || at(&run.to)) {
            of_run(link, port, run, &mut out);
        }
        let tag = machine.working().any(|link| link.kind == Kind::Tag);
        if tag && site.network.tagged.value.only() != Some(&true) {
            out.push(Difference {
                path: "network.tagged".to_owned(),
                machine: "that frames carry a tag".to_owned(),
                site: "nothing of tags".to_owned(),
                set: "network.tagged=true".to_owned(),
                line: None,
            });
        }
    }
    match role {
        Role::Desk(_) => of_shares(machine, site, &mut out),
        Role::Nas(_) => of_nas(machine, site, &name, &mut out),
    }
    Ok(out)
}

fn whose(what: &str, name: &str, names: &[&str]) -> Refusal {
    (
        if name == "this" {
            format!("it is not told which {what} of the site this is")
        } else {
            format!("the site has no {what} '{name}'")
        },
        format!("say --{what} NAME; there are {}", names.join(", ")),
    )
}

/// The one link that is up and the one port; where there are several, that with the name of the port.
fn matched<'a>(machine: &'a Machine, ports: &'a [Port]) -> Option<(&'a Link, &'a Port)> {
    let links: Vec<&Link> = machine.working().filter(|link| link.is_port()).collect();
    if let ([link], [port]) = (&links[..], ports) {
        return Some((link, port));
    }
    ports.iter().find_map(|port| {
        let link = links.iter().find(|link| link.name == port.name)?;
        Some((*link, port))
    })
}

fn of_port(link: &Link, port: &Port, path: &str, machine: &Machine, out: &mut Vec<Difference>) {
    if let Ok(mtu) = link.largest_packet
        && mtu != port.mtu
        && (576..=9216).contains(&mtu)
    {
        out.push(Difference {
            path: format!("{path}.mtu"),
            machine: mtu.to_string(),
            site: port.mtu.to_string(),
            set: format!("{path}.mtu={mtu}"),
            line: None,
        });
    }
    if link.joined.as_ref().is_some_and(Result::is_ok) && link.members() != port.members {
        out.push(Difference {
            path: format!("{path}.members"),
            machine: format!("{} links that work together", link.members()),
            site: port.members.to_string(),
            set: format!("{path}.members={}", link.members()),
            line: None,
        });
    }
    let guest = machine.processor.as_ref().is_ok_and(|p| p.guest);
    let said = match &port.attachment {
        Some(Attachment::Slot { generation, lanes }) => format!("pcie {generation} x{lanes}"),
        Some(Attachment::Adapter(word)) => word.clone(),
        None => "nothing of a slot".to_owned(),
    };
    let found = match (&link.usb, &link.slot) {
        (Some(Ok(480)), _) => Some(("adapter", "usb 480 Mb/s".to_owned())),
        (Some(Ok(bus @ (5000 | 10_000 | 20_000))), _) => {
            Some(("adapter", format!("usb {} Gb/s", bus / 1000)))
        }
        (None, Ok(slot)) if slot.generation <= 5 && !guest => Some(("slot", slot.to_string())),
        _ => None,
    };
    if let Some((key, found)) = found
        && found != said
    {
        out.push(Difference {
            path: format!("{path}.{key}"),
            set: format!("{path}.{key}=\"{found}\""),
            line: None,
            machine: found,
            site: said,
        });
    }
}

fn of_run(link: &Link, port: &Port, run: &Run, out: &mut Vec<Difference>) {
    let of_it = |part| SitePath::Run(run.number, Some(part));
    if let Ok(rate) = link.rate {
        let said = run.negotiated.unwrap_or(port.rate);
        if rate != said {
            out.push(Difference {
                path: of_it("negotiated").to_string(),
                machine: format!("that its link runs at {rate}"),
                site: if run.negotiated.is_some() {
                    said.to_string()
                } else {
                    format!("a port of {said}")
                },
                set: of_it("negotiated").set(rate),
                line: None,
            });
        }
    }
    if link.duplex == Ok(Duplex::Half) && run.duplex.is_none() {
        out.push(Difference {
            path: of_it("duplex").to_string(),
            machine: "half".to_owned(),
            site: "full".to_owned(),
            set: of_it("duplex").set("half"),
            line: None,
        });
    }
}

/// Where there is one machine that holds arrays and one share, the share is of that machine.
fn of_shares(machine: &Machine, site: &Site, out: &mut Vec<Difference>) {
    let known = |mount: &&narrows_probe::says::Mount| mount.service.word().is_some();
    let shares: Vec<_> = machine.shares().filter(known).collect();
    let ([nas], [share]) = (&site.nas[..], &shares[..]) else {
        return;
    };
    let path = SitePath::Nas(&nas.name, None);
    if let Some(word) = share.service.word() {
        let said = nas.service.value.only().map(|service| service.word());
        if said != Some(word) && share.service != Service::Other {
            out.push(Difference {
                path: format!("{path}.service"),
                machine: word.to_owned(),
                site: said.unwrap_or("not which").to_owned(),
                set: format!("{path}.service=\"{word}\""),
                line: None,
            });
        }
    }
    let mut choice = |key: &str,
                      said: &Chosen<bool>,
                      found: &narrows_probe::says::Said<bool>,
                      words: [&str; 2]| {
        let Ok(found) = found else { return };
        let word = |yes: bool| if yes { words[0] } else { words[1] };
        let only = said.value.only();
        if only != Some(found) {
            out.push(Difference {
                path: format!("{path}.{key}"),
                machine: word(*found).to_owned(),
                site: only.map_or("not known", |yes| word(*yes)).to_owned(),
                set: format!("{path}.{key}=\"{}\"", word(*found)),
                line: None,
            });
        }
    };
    choice("signed", &nas.signed, &share.signed, ["signed", "unsigned"]);
    choice("encrypted", &nas.encrypted, &share.encrypted, ["yes", "no"]);
}

fn of_nas(machine: &Machine, site: &Site, name: &str, out: &mut Vec<Difference>) {
    let arrays: Vec<_> = site
        .arrays
        .iter()
        .filter(|array| array.nas == name)
        .collect();
    if let (Ok(memory), Some(nas)) = (&machine.memory, site.nas(name)) {
        let found = bytes(memory.total as f64);
        let said = nas.memory.median();
        // what the system keeps for itself is missing from what it says
        if !(0.8..1.05).contains(&(found.value / said.value)) {
            out.push(Difference {
                path: SitePath::nas(name, "memory").to_string(),
                machine: show(found),
                site: show(said),
                set: SitePath::nas(name, "memory").set(show(found)),
                line: None,
            });
        }
    }
    let ([array], [found]) = (&arrays[..], &machine.arrays[..]) else {
        return;
    };
    let path = SitePath::Array(&array.name, None);
    let mut number = |key: &str, found: usize, said: usize| {
        if found != said {
            out.push(Difference {
                path: format!("{path}.{key}"),
                machine: found.to_string(),
                site: said.to_string(),
                set: format!("{path}.{key}={found}"),
                line: None,
            });
        }
    };
    number("spares", found.spares as usize, array.spares);
    if let Some(failed) = found.failed {
        number("failed", failed as usize, array.failed);
    }
    for (key, goes_on, said) in [
        (
            "rebuilding",
            matches!(
                found.activity,
                Some(Activity::Rebuilding | Activity::Waiting)
            ),
            &array.rebuilding,
        ),
        (
            "scrubbing",
            found.activity == Some(Activity::Scrubbing),
            &array.scrubbing,
        ),
    ] {
        if said.value.only() != Some(&goes_on) {
            let word = if goes_on { "yes" } else { "no" };
            out.push(Difference {
                path: format!("{path}.{key}"),
                machine: word.to_owned(),
                site: if goes_on { "no" } else { "yes" }.to_owned(),
                set: format!("{path}.{key}=\"{word}\""),
                line: None,
            });
        }
    }
}
