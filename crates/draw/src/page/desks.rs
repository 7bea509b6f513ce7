use super::commands::Command;
use super::{Report, Section};
use crate::number::Number;
use crate::pictures::{ledger, numbers, who};
use crate::text::{named, plain};
use maud::{Markup, html};
use narrows_core::budget::{Flow, HopKind};
use narrows_core::quantity::{DataRate, in_megabytes_per_second};

/// A smaller chance that a cable gives no link is left to the command.
const NO_LINK: f64 = 0.01;

/// More desks than these are shown by one of each kind.
const EACH: usize = 12;

/// Less is lost in the scatter of two copies of one file.
const TWENTIETH: f64 = 0.05;

/// Whether two ways have the same places, the same narrow one, and rates within a twentieth.
fn alike(a: &Flow, b: &Flow) -> bool {
    let kinds = |flow: &Flow| -> Vec<HopKind> { flow.hops.iter().map(|hop| hop.kind).collect() };
    let narrow = |flow: &Flow| -> Vec<HopKind> {
        let limit = flow.limits.first();
        let ids = limit.into_iter().flat_map(|limit| &limit.hops);
        ids.filter_map(|id| flow.hop(id))
            .map(|hop| hop.kind)
            .collect()
    };
    let near = |a: DataRate, b: DataRate| {
        let (a, b) = (in_megabytes_per_second(a), in_megabytes_per_second(b));
        (a - b).abs() <= TWENTIETH * a.max(b)
    };
    let (x, y) = (a.megabytes_per_s, b.megabytes_per_s);
    a.direction == b.direction
        && a.array == b.array
        && kinds(a) == kinds(b)
        && narrow(a) == narrow(b)
        && near(x.p05, y.p05)
        && near(x.p50, y.p50)
        && near(x.p95, y.p95)
}

/// One desk of each kind, with those that are alike.
fn grouped(names: &[String], flows: &[Flow]) -> Vec<(String, Vec<String>)> {
    let of = |name: &str| -> Vec<&Flow> { flows.iter().filter(|flow| who(flow) == name).collect() };
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    for name in names {
        let mine = of(name);
        let same = |first: &str| {
            let theirs = of(first);
            mine.len() == theirs.len() && mine.iter().zip(&theirs).all(|(a, b)| alike(a, b))
        };
        match groups.iter_mut().find(|(first, _)| same(first)) {
            Some((_, others)) => others.push(name.clone()),
            None => groups.push((name.clone(), Vec::new())),
        }
    }
    groups
}

/// The desks whose ledgers are shown, each with those that are like it.
fn shown(flows: &[Flow]) -> Vec<(String, Vec<String>)> {
    let mut names: Vec<String> = Vec::new();
    for flow in flows {
        let name = who(flow);
        if !names.contains(&name) {
            names.push(name);
        }
    }
    if names.len() > EACH {
        grouped(&names, flows)
    } else {
        names.into_iter().map(|name| (name, Vec::new())).collect()
    }
}

/// Whether the page shows the ledger of a flow.
pub fn is_shown(flows: &[Flow]) -> Vec<bool> {
    let groups = shown(flows);
    let first = |flow: &Flow| groups.iter().any(|(name, _)| who(flow) == *name);
    flows.iter().map(first).collect()
}

/// A ledger a desk and direction.
pub(super) fn section(report: &Report<'_>) -> Section {
    let flows = &report.budget.answer.flows;
    let groups = shown(flows);
    let body = html! {
        p { "A bar a place on the path, from the desk's disk to the drives: what it carries at most. The shortest is the narrow one. \
             Solid is reached in 95 of 100 cases, striped in some; the dotted line is what the desk gets." }
        @if flows.is_empty() { p.said { "No desk reaches the drives over a link that comes up." } }
        @for (name, others) in &groups {
            article {
                h3 { (named(name)) }
                @if !others.is_empty() {
                    p { "Alike, within a twentieth: " @for (i, other) in others.iter().enumerate() { @if i > 0 { ", " } (named(other)) } "." }
                }
                div.pair {
                    @for (i, flow) in flows.iter().enumerate().filter(|(_, flow)| who(flow) == *name) {
                        div.one {
                            (heading(flow, i))
                            figure { (ledger(flow, i).inside(&format!("ledger-{i}"))) }
                            (branches(flow, i))
                        }
                    }
                }
            }
        }
    };
    Section::new("desks", "Desk by desk", vec![Command::better(report)], body)
}

fn heading(flow: &Flow, i: usize) -> Markup {
    let [low, middle, high] = numbers(
        flow.megabytes_per_s,
        &format!("budget/flows/{i}/megabytes_per_s"),
    );
    let time = Number::duration(
        flow.hundred_gigabytes_s.p50,
        format!("budget/flows/{i}/hundred_gigabytes_s/p50"),
    );
    html! {
        p.rate {
            (flow.direction.word()) "s " strong { (middle) } " MB/s"
            @if low.text() != high.text() { span.quiet { " (" (low) " to " (high) ")" } }
            span.quiet { ", 100 GB in " (time) }
        }
        @if flow.no_link_probability >= NO_LINK {
            p.told { "In " (Number::percent(flow.no_link_probability, format!("budget/flows/{i}/no_link_probability")))
                " of 100 cases a cable on the path gives no link at all." }
        }
    }
}

fn branches(flow: &Flow, i: usize) -> Markup {
    html! {
        @if !flow.branches.is_empty() {
            p.quiet { "What is not known yet splits this:" }
            ul.quiet {
                @for (j, branch) in flow.branches.iter().enumerate() {
                    @let key = format!("budget/flows/{i}/branches/{j}");
                    @let [low, middle, high] = numbers(branch.megabytes_per_s, &format!("{key}/megabytes_per_s"));
                    li {
                        (Number::percent(branch.probability, format!("{key}/probability"))) " of 100: "
                        strong { (middle) } " (" (low) " to " (high) "), " (plain(&branch.when))
                    }
                }
            }
        }
    }
}
