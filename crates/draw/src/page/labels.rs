use super::patching::port;
use super::{Report, Section};
use crate::text::{cut, plain};
use maud::{Markup, html};
use narrows_core::plan::ports::Patch;

/// Letters that fit on a label.
const LETTERS: usize = 40;

/// Labels to cut out: a pair for each cord and a pair for each jack, one for either end.
pub(super) fn section(report: &Report<'_>) -> Option<Section> {
    let (answer, jacks) = &report.ports.as_ref()?.answer;
    if jacks.is_empty() {
        return None;
    }
    let patched: Vec<&Patch> = answer
        .patches
        .iter()
        .filter(|p| p.listed && p.port.is_some())
        .collect();
    let body = html! {
        p { "Two alike for each cable: one for either end. Cut along the dashes; fold round the cord, or stick beside the jack. Trace a jack before you label it." }
        h3 { "Cords in the closet" }
        ul.labels {
            @for patch in &patched {
                @let panel = patch.panel.as_deref().unwrap_or(&patch.jack);
                @let to = patch.port.as_ref().map_or(String::new(), port);
                @for end in ["panel end", "switch end"] { (one(&patch.desk, &format!("{panel} \u{2194} {to}"), end)) }
            }
        }
        h3 { "Jacks" }
        ul.labels {
            @for jack in jacks {
                @let panel = jack.panel.as_deref().unwrap_or("panel port: ______");
                @let room = jack.room.as_deref().unwrap_or("");
                @for end in ["in the room", "at the panel"] {
                    (one(&jack.label, &format!("{panel}{}{room}", if room.is_empty() { "" } else { " \u{b7} " }), end))
                }
            }
        }
    };
    Some(Section::new(
        "labels",
        "Labels to cut out",
        Vec::new(),
        body,
    ))
}

fn one(name: &str, what: &str, end: &str) -> Markup {
    html! {
        li { strong { bdi { (cut(name, LETTERS / 2)) } } span { bdi { (cut(&plain(what), LETTERS)) } } small { (end) } }
    }
}
