//! What a route itself says before anything is worked out: long copper, slow ports in the way, pause frames, and
//! a switch that passes from fast to far slower ports.

use super::link::short;
use super::{BudgetFault, Warning, WarningKind};
use crate::catalogue::Catalogue;
use crate::hop::pause::longest_pause;
use crate::quantity::{LinkRate, metres, show};
use crate::route::Route;
use crate::site::{End, Machine, Medium, Run, Site, Switch};
use crate::work::Direction;

/// A run at a switch: its far end, and its rate.
type Joined<'a> = (&'a End, LinkRate);

/// All that a route says.
///
/// # Errors
/// Where the catalogue lacks the row.
pub(super) fn about_the_route(
    site: &Site,
    route: &Route,
    direction: Direction,
    catalogue: &Catalogue,
) -> Result<Vec<Warning>, BudgetFault> {
    let mut found = about_runs(site, route);
    found.extend(about_pauses(site, route));
    // what is written goes from a slow port to a faster one
    if direction == Direction::Read {
        let far_slower = catalogue.number("switch.far-slower")?.likely;
        found.extend(about_steps_down(site, route, far_slower));
    }
    Ok(found)
}

/// Warns of long copper, and of a port in the way that is slower than both machines'.
fn about_runs(site: &Site, route: &Route) -> Vec<Warning> {
    let mut found = Vec::new();
    for link in &route.links {
        let Some(run) = site.runs.get(link.run) else {
            continue;
        };
        if let Medium::Copper { length, .. } = &run.medium
            && length.median() > metres(100.0)
        {
            found.push(Warning::new(
                WarningKind::LongRun,
                format!("run.{}", run.number),
                format!(
                    "{} of copper; standards end at 100 m",
                    crate::quantity::show(length.median())
                ),
                "put a switch half-way, or use fibre",
            ));
        }
    }
    let top = |end: &crate::site::End| site.port(end).and_then(|p| p.knows.iter().copied().max());
    let tops: Vec<(String, LinkRate)> = route
        .links
        .iter()
        .flat_map(|l| [&l.near, &l.far])
        .filter_map(|end| Some((end.to_string(), top(end)?)))
        .collect();
    let ends = [tops.first(), tops.last()];
    let Some(least_end) = ends.iter().flatten().map(|(_, r)| *r).min() else {
        return found;
    };
    let slow: Vec<(String, LinkRate)> = tops
        .iter()
        .filter(|(name, rate)| *rate < least_end && name.starts_with("switch."))
        .cloned()
        .collect();
    if let Some((place, rate)) = slow.into_iter().min_by_key(|(_, rate)| *rate) {
        found.push(Warning::new(
            WarningKind::SlowPortInTheWay,
            place.clone(),
            format!("a {rate} port lies between machines that know {least_end} or more"),
            "move the run to a faster port, or replace that switch",
        ));
    }
    found
}

/// Warns where another run at a switch on the way is slower and the switch sends pause frames.
///
/// One flow alone is not held back: nothing is sent to the slow port meanwhile.
fn about_pauses(site: &Site, route: &Route) -> Vec<Warning> {
    let mut found = Vec::new();
    for switch in &site.switches {
        let pauses = switch.pause.as_ref().is_some_and(|p| *p.value.likeliest());
        let mut own: Vec<usize> = Vec::new();
        for link in &route.links {
            if [&link.near, &link.far].iter().any(|end| is_at(end, switch)) {
                own.push(link.run);
            }
        }
        if !pauses || own.is_empty() {
            continue;
        }
        let (mut ours, mut others) = (Vec::new(), Vec::new());
        for (index, run) in site.runs.iter().enumerate() {
            if let Some(joined) = joined(site, switch, run) {
                if own.contains(&index) {
                    ours.push(joined);
                } else {
                    others.push(joined);
                }
            }
        }
        let least = |runs: &[Joined<'_>]| runs.iter().map(|(_, rate)| *rate).min();
        let (Some(own_rate), Some(slow)) = (least(&ours), least(&others)) else {
            continue;
        };
        if slow >= own_rate {
            continue;
        }
        let all = ours.iter().chain(&others);
        let fast = all.copied().max_by_key(|(end, rate)| (*rate, *end));
        let slowest = others.iter().find(|(_, rate)| *rate == slow);
        let (Some((fast_end, fast)), Some((slow_end, _))) = (fast, slowest) else {
            continue;
        };
        found.push(Warning::new(
            WarningKind::PausedBySlow,
            format!("switch.{}", switch.name),
            format!(
                "it sends pause frames: {} at {slow} can hold {} at {fast} back, {} at a time",
                short(slow_end),
                short(fast_end),
                show(longest_pause(fast, u16::MAX)),
            ),
            "turn flow control off on that switch, or bring both ports to one rate",
        ));
    }
    found
}

/// Warns where a switch on the way passes what is read from a fast port to a far slower one and nothing
/// is known to hold the sender back: frames are lost where a burst overruns its memory.
fn about_steps_down(site: &Site, route: &Route, far_slower: f64) -> Vec<Warning> {
    let mut found = Vec::new();
    // from the NAS to the desk, as what is read goes
    let mut before: Option<LinkRate> = None;
    for link in route.links.iter().rev() {
        let run = site.runs.get(link.run);
        let rate = run.and_then(|run| Some((run, super::link::common(site, run)?)));
        let Some((run, best)) = rate.and_then(|(run, c)| Some((run, c.into_iter().max()?))) else {
            before = None;
            continue;
        };
        let switch = site.switches.iter().find(|s| is_at(&link.far, s));
        if let (Some(fast), Some(switch)) = (before, switch)
            && fast.megabits() >= far_slower * best.megabits()
            && switch.pause.is_none()
            && run.drops.is_none()
        {
            found.push(Warning::new(
                    WarningKind::FastToSlow,
                    format!("switch.{}", switch.name),
                    format!(
                        "it passes from {fast} to far slower ports: a small switch loses frames there when \
                         much comes at once"
                    ),
                    "where such a desk reads slower than it writes, count its retransmissions, and turn \
                     flow control on at the fast port",
                ));
        }
        before = Some(best);
    }
    found
}

fn is_at(end: &End, switch: &Switch) -> bool {
    end.machine == Machine::Switch && end.name == switch.name
}

/// What a run joins to a switch, and the rate that its ends know; `None` for radio.
fn joined<'a>(site: &Site, switch: &Switch, run: &'a Run) -> Option<Joined<'a>> {
    let far = if is_at(&run.from, switch) {
        &run.to
    } else if is_at(&run.to, switch) {
        &run.from
    } else {
        return None;
    };
    let best = super::link::common(site, run)?.into_iter().max()?;
    Some((far, best))
}
