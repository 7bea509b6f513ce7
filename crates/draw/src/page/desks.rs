use super::commands::Command;
use super::{Report, Section};
use crate::number::Number;
use crate::pictures::{ledger, numbers, who};
use crate::text::plain;
use maud::{Markup, html};
use narrows_core::budget::Flow;

/// A smaller chance that a cable gives no link is left to the command.
const NO_LINK: f64 = 0.01;

/// A ledger a desk and direction.
pub(super) fn section(report: &Report<'_>) -> Section {
    let flows = &report.budget.answer.flows;
    let mut names: Vec<String> = Vec::new();
    for flow in flows {
        let name = who(flow);
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let body = html! {
        p { "A bar a place on the path, from the desk's disk to the drives: what it carries at most. The shortest is the narrow one. \
             Solid is reached in 95 of 100 cases, striped in some; the dotted line is what the desk gets." }
        @if flows.is_empty() { p.said { "No desk reaches the drives over a link that comes up." } }
        @for name in &names {
            article {
                h3 { bdi { (plain(name)) } }
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
    Section::new("desks", "Desk by desk", vec![Command::budget(report)], body)
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
