use super::commands::Command;
use super::table::{Head, table};
use super::{Report, Section, said};
use crate::number::Number;
use crate::pictures::numbers;
use crate::text::{named, plain};
use maud::{Markup, html};
use narrows_core::plan::ports::{Patch, SwitchPort, Traced};
use narrows_core::quantity::units::ratio::one;

/// A port as people say it.
pub(super) fn port(port: &SwitchPort) -> String {
    format!("{} {}", port.switch, port.port)
}

/// What to carry to the closet.
pub(super) fn section(report: &Report<'_>) -> Option<Section> {
    let ports = report.ports.as_ref()?;
    let (answer, jacks) = &ports.answer;
    let listed = !jacks.is_empty();
    let mut heads = vec![Head::Tick("done"), Head::Words("desk")];
    if listed {
        heads.extend([Head::Words("jack"), Head::Words("panel port")]);
    }
    heads.extend([
        Head::Words("switch port"),
        Head::Words("today"),
        Head::Numbers("link"),
        Head::Numbers("%"),
        Head::Numbers("reads MB/s"),
    ]);
    if listed {
        heads.push(Head::Words("label is"));
    }
    let rows: Vec<Vec<Markup>> = answer
        .patches
        .iter()
        .enumerate()
        .map(|(i, patch)| row(patch, i, listed))
        .collect();
    let unsure: Vec<&Patch> = answer
        .patches
        .iter()
        .filter(|patch| patch.listed && patch.traced != Traced::Verified)
        .collect();
    let body = html! {
        (said(&ports.lines))
        p.quiet { "Switch port: any of that name. A cord that moves is marked in words under today." }
        (table("Which jack goes to which port", &heads, &rows))
        @if !unsure.is_empty() {
            p { "Trace before you rely on it:" }
            ul.ticks {
                @for patch in unsure {
                    li { (tick(&format!("{} is traced", patch.jack))) " " (named(&patch.jack))
                        @if let Some(panel) = &patch.panel { " to " (named(panel)) }
                        ", " (named(&patch.desk))
                        @if patch.traced == Traced::Once { ": traced once, trace it another way" } @else { ": nobody traced it, trace it in two ways" } }
                }
            }
        }
        @if !answer.apart.is_empty() {
            ul { @for (desk, why) in &answer.apart { li { (named(desk)) " is not patched: " (plain(why)) } } }
        }
        p.quiet { "Never put a tone on a live port or on one that gives power. A cord in the wrong port takes somebody off the network: \
            patch when nobody records, renders or copies. Ladders: two people." }
    };
    Some(Section::new(
        "patching",
        "Patch list",
        vec![Command::ports(report)],
        body,
    ))
}

/// A box to tick.
fn tick(what: &str) -> Markup {
    html! { input type="checkbox" aria-label=(plain(what)); }
}

fn row(patch: &Patch, i: usize, listed: bool) -> Vec<Markup> {
    let key = format!("ports/patches/{i}");
    let link = patch
        .links
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.1.get::<one>().total_cmp(&b.1.1.get::<one>()));
    let moves = patch.port.is_some() && !patch.stays();
    let mut cells = vec![
        tick(&format!("{} is patched", patch.desk)),
        html! { (named(&patch.desk)) },
    ];
    if listed {
        cells.push(html! { @if patch.listed { (named(&patch.jack)) } });
        cells.push(html! { @if let Some(panel) = &patch.panel { (named(panel)) } });
    }
    cells.extend([
        html! { @match &patch.port { Some(found) => { strong { (named(&port(found))) } } None => "none is left" } },
        html! { @if moves { "moves, from " (named(&port(&patch.today))) } @else { "stays" } },
        html! { @if let Some((j, (rate, _))) = link { (Number::new(rate.to_string(), format!("{key}/links/{j}/link_megabits_per_s"))) } },
        html! { @if let Some((j, (_, chance))) = link { (Number::percent(chance.get::<one>(), format!("{key}/links/{j}/probability"))) } },
        html! { @if let Some(range) = patch.read { @let [_, middle, _] = numbers(range, &format!("{key}/read_megabytes_per_s")); (middle) } },
    ]);
    if listed {
        cells.push(html! { @if patch.listed { (patch.traced.word()) } });
    }
    cells
}
