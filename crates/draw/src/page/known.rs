use super::commands::Command;
use super::table::{Head, table};
use super::{Report, Section};
use crate::text::{cut, named, plain};
use maud::{Markup, html};
use narrows_core::site::Assumption;

/// More ids of one kind are counted.
const NAMED: usize = 2;

/// What nobody said, and how to find out; alike things in one row.
pub(super) fn assumed(report: &Report<'_>) -> Option<Section> {
    let all = &report.budget.answer.assumptions;
    if all.is_empty() {
        return None;
    }
    let mut groups: Vec<(Vec<&str>, &Assumption)> = Vec::new();
    for one in all {
        let alike = |other: &Assumption| {
            other.value == one.value
                && other.find_out == one.find_out
                && kind(&other.id) == kind(&one.id)
        };
        match groups.iter_mut().find(|(_, first)| alike(first)) {
            Some((ids, _)) => ids.push(&one.id),
            None => groups.push((vec![&one.id], one)),
        }
    }
    let rows: Vec<Vec<Markup>> = groups
        .iter()
        .map(|(ids, one)| {
            vec![
                html! { bdi { (some_of(ids)) } },
                html! { (plain(&one.value)) },
                html! { (plain(&one.find_out)) },
            ]
        })
        .collect();
    let heads = [
        Head::Words("not known"),
        Head::Words("taken to be"),
        Head::Words("how to find out"),
    ];
    let asked = report.budget.answer.worth_asking_for();
    let body = html! {
        @if let Some((flow, unknown)) = asked {
            p.said { "What would narrow the answers most: " (named(&unknown.id)) " (now " (plain(&unknown.text))
                "), most of all those of " (named(&flow.desk)) "." }
        }
        (table("What is assumed, because nobody said", &heads, &rows))
        p.quiet { "a..b..c: 1 in 20 is below a, half below b, 1 in 20 above c." }
    };
    Some(Section::new(
        "assumed",
        "What is assumed",
        vec![Command::check(report)],
        body,
    ))
}

/// An id without the name of the thing.
fn kind(id: &str) -> String {
    let mut parts: Vec<&str> = id.split('.').collect();
    if let Some(name) = parts.get_mut(1) {
        *name = "*";
    }
    parts.join(".")
}

fn some_of(ids: &[&str]) -> String {
    let first: Vec<String> = ids.iter().take(NAMED).map(|id| cut(id, 60)).collect();
    match ids.len().saturating_sub(NAMED) {
        0 => first.join(", "),
        more => format!("{} and {more} more", first.join(", ")),
    }
}

/// What may hurt, and what is only an estimate.
pub(super) fn cautions(report: &Report<'_>) -> Section {
    let body = html! {
        ul { @for caution in &report.cautions { li { (plain(caution)) } } }
    };
    Section::new("cautions", "Mind", Vec::new(), body)
}
