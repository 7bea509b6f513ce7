//! How the parts of a site fit together: ends, sockets, rates, how often a port is used, loops
//! of switches, and whether every desk reaches an array.

use super::duplex;
use super::fault::{Fault, Place};
use super::model::{End, Machine, Medium, Run, Socket};
use super::names::{Names, holders_named};
use super::ports::Fitted;
use super::reader::{Part, Read, Reader, Reported};
use super::runs::{Joint, Laid};
use crate::quantity::LinkRate;
use std::collections::{BTreeMap, BTreeSet, VecDeque};

type Node_<'a> = (Machine, &'a str);

/// Every desk reaches an array; a desk and a NAS pass nothing on, only switches do.
pub(super) fn routes(
    reader: &mut Reader<'_>,
    names: &Names,
    laid: &[Laid],
    arrays: &[Part<'_>],
    desks: &[Part<'_>],
) {
    let Some(holders) = holders_named(arrays) else {
        return;
    };
    let nas = names.nas();
    let all_known = holders.iter().all(|h| nas.contains(h));
    if !reader.whole || holders.is_empty() || !all_known {
        return;
    }
    let mut next: BTreeMap<Node_<'_>, Vec<Node_<'_>>> = BTreeMap::new();
    for run in laid {
        let [Ok(a), Ok(b)] = &run.ends else {
            // where a run leads is not known, so nor is what cannot be reached
            return;
        };
        let (a, b) = ((a.machine, a.name.as_str()), (b.machine, b.name.as_str()));
        next.entry(a).or_default().push(b);
        next.entry(b).or_default().push(a);
    }
    // from every NAS with an array outwards, over switches
    let mut seen: BTreeSet<Node_<'_>> = holders.iter().map(|h| (Machine::Nas, *h)).collect();
    let mut waiting: VecDeque<Node_<'_>> = seen.iter().copied().collect();
    while let Some(here) = waiting.pop_front() {
        for &there in next.get(&here).into_iter().flatten() {
            if seen.insert(there) && there.0 == Machine::Switch {
                waiting.push_back(there);
            }
        }
    }
    for desk in desks {
        let start = (Machine::Desk, desk.name.as_str());
        let reached = seen.contains(&start);
        if !reached {
            let alone = !next.contains_key(&start);
            reader.report(Fault::new(
                desk.place.clone(),
                format!("{} reaches no array", desk.path),
                if alone {
                    "no run begins or ends here"
                } else {
                    "no run leads from here to a NAS with an array, over switches or directly"
                },
                format!(
                    "add [[run]] with from = \"{}\" and to = the next machine",
                    desk.path
                ),
            ));
        }
    }
}

/// Checks the runs against their ports and against each other.
pub(super) fn join(
    reader: &mut Reader<'_>,
    parts: &[Part<'_>],
    laid: Vec<Laid>,
    fitted: &[Fitted],
) -> Read<Vec<Run>> {
    let ports: BTreeMap<&End, &Fitted> = fitted.iter().map(|f| (&f.end, f)).collect();
    let radios: BTreeSet<&End> = laid
        .iter()
        .filter(|run| run.radio)
        .flat_map(|run| run.ends.iter().flatten())
        .collect();
    for port in fitted {
        if let Some(fault) = &port.no_such_rate
            && !radios.contains(&port.end)
        {
            reader.report(fault.clone());
        }
    }
    for run in &laid {
        itself(reader, run);
    }
    usage(reader, &laid, &ports);
    loops(reader, &laid);
    let mut runs = Vec::new();
    let mut lost = false;
    for (run, part) in laid.into_iter().zip(parts) {
        let medium = fit(reader, part, &run, &ports);
        agreed(reader, &run, &ports);
        let (laid, joint) = run.split();
        match medium.and_then(|unstated| finish(laid, joint, unstated)) {
            Ok(run) => runs.push(run),
            Err(Reported) => lost = true,
        }
    }
    if lost {
        return Err(Reported);
    }
    let knows = |end: &End| {
        let port = ports.get(end).map(|fitted| fitted.port.knows.clone());
        port.unwrap_or_default()
    };
    reader.of_one_duct(parts, &mut runs, knows)?;
    Ok(runs)
}

fn finish(run: Laid, joint: Read<Joint>, unstated: Option<Medium>) -> Read<Run> {
    let medium = match joint? {
        Joint::Known(medium) => medium,
        Joint::Unstated { .. } => unstated.ok_or(Reported)?,
    };
    run.finish(medium)
}

/// A run joins two machines.
fn itself(reader: &mut Reader<'_>, run: &Laid) {
    if let [Ok(a), Ok(b)] = &run.ends
        && (a.machine, &a.name) == (b.machine, &b.name)
    {
        let [first, second] = run.places.clone();
        reader.report(
            Fault::new(
                second,
                format!(
                    "run.{} joins {}.{} to itself",
                    run.number,
                    a.machine.word(),
                    a.name
                ),
                "the same machine again",
                "write the machine at the other end of the cable",
            )
            .also(first, "one end"),
        );
    }
}

/// Cables fit the sockets at their ends; gives the medium where nobody said what it is.
fn fit(
    reader: &mut Reader<'_>,
    part: &Part<'_>,
    run: &Laid,
    ports: &BTreeMap<&End, &Fitted>,
) -> Read<Option<Medium>> {
    let ([Ok(from), Ok(to)], Ok(joint)) = (&run.ends, &run.medium) else {
        return Err(Reported);
    };
    let (Some(from), Some(to)) = (ports.get(from), ports.get(to)) else {
        return Err(Reported);
    };
    let ends = [("from", *from), ("to", *to)];
    let medium = match joint {
        Joint::Known(medium) => Ok(medium.clone()),
        Joint::Unstated { length } => {
            let cages = ends.iter().all(|(_, f)| f.port.socket == Socket::Cage);
            reader.unstated(part, length.clone(), cages)
        }
    }?;
    let knows = ends.each_ref().map(|(_, end)| &end.port.knows[..]);
    reader.heard_neighbours(part, &medium, knows)?;
    for (key, end) in ends {
        match (&medium, end.port.socket) {
            (Medium::Copper { .. }, Socket::Cage) => {
                reader.assume(
                    part,
                    format!("{}/module", part.id(key)),
                    "a module for a twisted pair".to_owned(),
                    format!("a copper cable goes into {}, which is a cage", end.end),
                    "look whether a module sits between the cage and the plug",
                );
            }
            (Medium::Clear { word, .. }, Socket::Copper) => {
                reader.report(
                    Fault::new(
                        run.cable.clone(),
                        format!("{word} does not fit {}", end.end),
                        "the socket at this end takes a twisted pair",
                        "write socket = \"cage\" at the port, or another cable",
                    )
                    .also(end.place.clone(), "the port"),
                );
            }
            _ => {}
        }
    }
    Ok(matches!(joint, Joint::Unstated { .. }).then_some(medium))
}

/// The ends of a cable know a rate in common, and nothing negotiates more than that.
fn agreed(reader: &mut Reader<'_>, run: &Laid, ports: &BTreeMap<&End, &Fitted>) {
    let [Ok(from), Ok(to)] = &run.ends else {
        return;
    };
    let (Some(from), Some(to)) = (ports.get(from), ports.get(to)) else {
        return;
    };
    // a rate that no port has is reported already, and a radio has none
    if run.radio || from.no_such_rate.is_some() || to.no_such_rate.is_some() {
        return;
    }
    let both: Vec<LinkRate> = from
        .port
        .knows
        .iter()
        .filter(|rate| to.port.knows.contains(rate))
        .copied()
        .collect();
    let Some(highest) = both.iter().max().copied() else {
        let show = |f: &Fitted| {
            let rates: Vec<String> = f.port.knows.iter().map(LinkRate::to_string).collect();
            format!("{} knows {}", f.end, rates.join(", "))
        };
        reader.report(
            Fault::new(
                run.places[1].clone(),
                format!("run.{} joins ports that know no rate in common", run.number),
                format!("{}; {}", show(from), show(to)),
                "write 'rates' at a port that knows more, or another port",
            )
            .also(run.places[0].clone(), "the other end"),
        );
        return;
    };
    if duplex::check(reader, run, [*from, *to], &both) {
        return;
    }
    if let Ok(Some(negotiated)) = &run.negotiated
        && *negotiated > highest
    {
        let lower = if from.port.knows.last() <= to.port.knows.last() {
            from
        } else {
            to
        };
        reader.report(
            Fault::new(
                run.negotiated_at.clone(),
                format!("run.{} cannot have negotiated {negotiated}", run.number),
                format!("both ends together know no more than {highest}"),
                format!(
                    "write {highest} or less, or correct the rate of {}",
                    lower.end
                ),
            )
            .also(lower.place.clone(), "the slower port"),
        );
    }
}

/// A port is used no more often than there are of it. Radio links share the air, not the port.
fn usage(reader: &mut Reader<'_>, laid: &[Laid], ports: &BTreeMap<&End, &Fitted>) {
    let mut uses: BTreeMap<&End, Vec<&Place>> = BTreeMap::new();
    for run in laid.iter().filter(|run| !run.radio) {
        // a run to its own machine is reported as that
        if let [Ok(a), Ok(b)] = &run.ends
            && (a.machine, &a.name) == (b.machine, &b.name)
        {
            continue;
        }
        for (end, place) in run.ends.iter().zip(&run.places) {
            if let Ok(end) = end {
                uses.entry(end).or_default().push(place);
            }
        }
    }
    for (end, places) in uses {
        let Some(port) = ports.get(end) else {
            continue;
        };
        let count = port.port.count;
        if let (Some(first), Some(&beyond)) = (places.first(), places.get(count)) {
            let runs = places.len();
            let has = if count == 1 {
                "there is one such port".to_owned()
            } else {
                format!("there are {count} such ports")
            };
            reader.report(
                Fault::new(
                    beyond.clone(),
                    format!("{end} is used by {runs} runs"),
                    has,
                    format!(
                        "write count = {runs} at the port if there are so many, or another port"
                    ),
                )
                .also((*first).clone(), "used first here"),
            );
        }
    }
}

/// Switches joined in a circle pass frames on for ever.
fn loops(reader: &mut Reader<'_>, laid: &[Laid]) {
    let mut next: BTreeMap<&str, Vec<(&str, &Laid)>> = BTreeMap::new();
    for run in laid {
        let [Ok(a), Ok(b)] = &run.ends else {
            continue;
        };
        if a.machine != Machine::Switch || b.machine != Machine::Switch || a.name == b.name {
            continue;
        }
        let (a, b) = (a.name.as_str(), b.name.as_str());
        if let Some((path, other)) = way(&next, b, a) {
            let mut names = vec![a];
            names.extend(path);
            reader.report(
                Fault::new(
                    run.places[1].clone(),
                    format!("run.{} closes a loop of switches", run.number),
                    names.join(" - "),
                    "remove one run of the loop: frames would circle in it",
                )
                .also(other.places[1].clone(), "the loop leads over this run"),
            );
            continue;
        }
        next.entry(a).or_default().push((b, run));
        next.entry(b).or_default().push((a, run));
    }
}

/// The switches on the way from one to another, and the last run of it.
fn way<'a>(
    next: &BTreeMap<&'a str, Vec<(&'a str, &'a Laid)>>,
    from: &'a str,
    to: &'a str,
) -> Option<(Vec<&'a str>, &'a Laid)> {
    let mut before: BTreeMap<&str, (&'a str, &'a Laid)> = BTreeMap::new();
    let mut waiting = VecDeque::from([from]);
    while let Some(here) = waiting.pop_front() {
        for &(there, run) in next.get(here).into_iter().flatten() {
            if there != from && !before.contains_key(there) {
                before.insert(there, (here, run));
                waiting.push_back(there);
            }
        }
    }
    let last = before.get(to)?.1;
    let mut path = vec![to];
    let mut here = to;
    while here != from {
        here = before.get(here)?.0;
        path.push(here);
    }
    path.reverse();
    Some((path, last))
}
