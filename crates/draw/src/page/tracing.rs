use super::table::{Head, table};
use super::{Report, Section};
use crate::text::named;
use maud::{Markup, html};
use narrows_core::plan::ports::Traced;
use narrows_core::site::Machine;

/// More panel ports are traced in parts.
const MOST: usize = 48;

/// How many rounds tell so many panel ports apart, when a port is live or not in each and live in
/// one at least: the least r with 2^r - 1 >= ports.
fn rounds(ports: usize) -> u32 {
    usize::BITS - ports.leading_zeros()
}

/// Whether a panel port, counted from 1, is live in a round, counted from 0.
fn live(port: usize, round: u32) -> bool {
    port >> round & 1 == 1
}

/// A sheet to find out which jack is which panel port; `None` where all are traced twice.
pub(super) fn section(report: &Report<'_>) -> Option<Section> {
    let jacks = report
        .ports
        .as_ref()
        .map_or(&[][..], |ports| &ports.answer.1);
    let (panels, names, known) = if jacks.is_empty() {
        let desks = report
            .site
            .runs
            .iter()
            .filter(|run| run.from.machine == Machine::Desk || run.to.machine == Machine::Desk);
        (vec![None; desks.count().min(MOST)], Vec::new(), false)
    } else {
        let open: Vec<_> = jacks
            .iter()
            .filter(|jack| jack.traced != Traced::Verified)
            .take(MOST)
            .collect();
        let panels = open.iter().map(|jack| jack.panel.clone()).collect();
        (
            panels,
            open.iter().map(|jack| jack.label.clone()).collect(),
            true,
        )
    };
    let count = panels.len();
    if count == 0 {
        return None;
    }
    let rounds = rounds(count);
    let body = html! {
        p { "Which jack ends at which panel port, in " strong { (rounds) @if rounds == 1 { " walk" } @else { " walks" } } " for " (count)
            @if count == 1 { " port" } @else { " ports" } ", alone, with a laptop and a cord:" }
        ol {
            li { "In the closet, in each round, patch to a switch that is on only the panel ports marked for it; unplug the others." }
            li { "Walk to every jack with the laptop. Write yes where its link light comes on, no where it stays dark." }
            li { "The yes and no of a jack, read across, is one row of the first table: that is its panel port." }
        }
        p.quiet { "A jack that stays dark in every round ends elsewhere, or is broken. Two jacks with the same row are one cable split in two. \
            Pull no cord that somebody works on, and none that gives power to a camera or a phone." }
        (codes(&panels, rounds))
        (blank(&names, count, rounds, known))
    };
    Some(Section::new(
        "tracing",
        "Tracing the jacks",
        Vec::new(),
        body,
    ))
}

const ROUNDS: [&str; 7] = [
    "round 1", "round 2", "round 3", "round 4", "round 5", "round 6", "round 7",
];

fn heads(first: Head, second: Head, rounds: u32) -> Vec<Head> {
    let mut found = vec![first];
    found.extend(
        ROUNDS
            .iter()
            .take(rounds as usize)
            .map(|text| Head::Words(text)),
    );
    found.push(second);
    found
}

/// In which rounds each panel port is live.
fn codes(panels: &[Option<String>], rounds: u32) -> Markup {
    let rows: Vec<Vec<Markup>> = panels
        .iter()
        .enumerate()
        .map(|(i, panel)| {
            let mut row = vec![html! {
                @match panel { Some(panel) => { (named(panel)) } None => { (i + 1) ". ______" } }
            }];
            row.extend(
                (0..rounds).map(
                    |round| html! { @if live(i + 1, round) { strong { "yes" } } @else { "no" } },
                ),
            );
            row.push(html! {});
            row
        })
        .collect();
    table(
        "Patched to a switch in",
        &heads(Head::Words("panel port"), Head::Hand("jack"), rounds),
        &rows,
    )
}

/// What each jack says, to be filled in.
fn blank(names: &[String], count: usize, rounds: u32, known: bool) -> Markup {
    let rows: Vec<Vec<Markup>> = (0..count)
        .map(|i| {
            let mut row = vec![match names.get(i) {
                Some(name) if known => html! { (named(name)) },
                _ => html! { "______" },
            }];
            row.extend((0..rounds).map(|_| html! { "yes \u{25a1} no \u{25a1}" }));
            row.push(html! {});
            row
        })
        .collect();
    table(
        "Link light at",
        &heads(Head::Words("jack"), Head::Hand("panel port"), rounds),
        &rows,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_panel_port_has_rounds_of_its_own_and_fewer_would_not_do() {
        for ports in 1..=MOST {
            let all = rounds(ports);
            let mut seen: Vec<Vec<bool>> = (1..=ports)
                .map(|port| (0..all).map(|round| live(port, round)).collect())
                .collect();
            assert!(
                seen.iter().all(|code| code.contains(&true)),
                "a port that is never live"
            );
            seen.sort();
            seen.dedup();
            assert_eq!(seen.len(), ports);
            assert!(
                (1usize << (all - 1)) - 1 < ports,
                "{ports} ports in {all} rounds"
            );
            assert!(all as usize <= ROUNDS.len());
        }
    }
}
