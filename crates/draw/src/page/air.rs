use super::commands::Command;
use super::table::{Head, table};
use super::{Report, Section, said};
use crate::number::Number;
use crate::pictures::{numbers, rooms};
use crate::text::{named, plain};
use maud::{Markup, html};
use narrows_core::quantity::three_digits;

/// Width of the drawing, so that letters keep their size on a phone.
const WIDTH: f64 = 360.0;

/// What desks and rooms get through the air.
pub(super) fn section(report: &Report<'_>) -> Option<Section> {
    let found = report.air.as_ref()?;
    let answer = &found.answer;
    let heads = [
        Head::Words("desk"),
        Head::Words("through"),
        Head::Numbers("reads MB/s"),
        Head::Numbers("from"),
        Head::Numbers("to"),
        Head::Numbers("writes MB/s"),
        Head::Numbers("wired MB/s"),
        Head::Words("what limits"),
    ];
    let links: Vec<Vec<Markup>> = answer
        .links
        .iter()
        .enumerate()
        .map(|(i, link)| {
            let key = format!("wireless/links/{i}");
            let [low, middle, high] = numbers(
                link.read_megabytes_per_s,
                &format!("{key}/read_megabytes_per_s"),
            );
            let [_, writes, _] = numbers(
                link.write_megabytes_per_s,
                &format!("{key}/write_megabytes_per_s"),
            );
            let wired = Number::new(
                three_digits(link.wired_megabytes_per_s),
                format!("{key}/wired_megabytes_per_s"),
            );
            vec![
                html! { (named(&link.desk)) },
                html! { (named(&link.access_point)) },
                html! { strong { (middle) } },
                html! { (low) },
                html! { (high) },
                html! { (writes) },
                html! { (wired) },
                html! { (plain(&link.limit)) },
            ]
        })
        .collect();
    let need = Number::new(
        three_digits(answer.need_megabytes_per_s),
        "wireless/need_megabytes_per_s",
    );
    let body = html! {
        (said(&found.lines))
        @if !answer.rooms.is_empty() {
            p { "The chance that a desk in a room, alone on the air, reads " (need) " MB/s:" }
            div.pair { div.one { figure { (rooms(report.site, answer, WIDTH).inside("rooms")) } } }
            (in_rooms(report)) }
        @if !links.is_empty() { (table("Desks on the air, and what a wired port of 1 Gb/s would give", &heads, &links)) }
        p.quiet { "Estimates from published losses, no survey. from, to: 1 in 20 is slower, 1 in 20 faster." }
    };
    Some(Section::new(
        "air",
        "Through the air",
        vec![Command::wireless(report)],
        body,
    ))
}

fn in_rooms(report: &Report<'_>) -> Markup {
    let heads = [
        Head::Words("room"),
        Head::Words("best point"),
        Head::Numbers("reads MB/s"),
        Head::Numbers("from"),
        Head::Numbers("to"),
        Head::Numbers("wired MB/s"),
        Head::Numbers("enough, of 100"),
        Head::Words("in a word"),
    ];
    let found = report.air.iter().flat_map(|found| &found.answer.rooms);
    let rows: Vec<Vec<Markup>> = found
        .enumerate()
        .map(|(i, room)| {
            let key = format!("wireless/rooms/{i}");
            let [low, middle, high] = numbers(room.read_megabytes_per_s, &format!("{key}/read_megabytes_per_s"));
            vec![
                html! { (named(&room.room)) },
                html! { (named(&room.access_point)) },
                html! { strong { (middle) } },
                html! { (low) },
                html! { (high) },
                html! { (Number::new(three_digits(room.wired_megabytes_per_s), format!("{key}/wired_megabytes_per_s"))) },
                html! { (Number::percent(room.need_probability, format!("{key}/need_probability"))) },
                html! { (room.shade.word()) },
            ]
        })
        .collect();
    table("Room by room", &heads, &rows)
}
