//! The answer as a program reads it. Keys are a contract: see docs/json.md.

use crate::render::document::Document;
use narrows_core::plan::air::{Answer, LinkRow, Placement, RoomRow};
use serde::Serialize;

#[derive(Serialize)]
struct Body<'a> {
    need_megabytes_per_s: f64,
    links: &'a [LinkRow],
    rooms: &'a [RoomRow],
    placements: &'a [Placement],
}

pub(crate) fn render(answer: &Answer) -> std::io::Result<String> {
    Document::of("wireless")
        .site(answer.site.as_str())
        .warnings(&answer.warnings)
        .assumptions(&answer.assumptions)
        .cautions(&answer.cautions)
        .answer(Body {
            need_megabytes_per_s: answer.need_megabytes_per_s,
            links: &answer.links,
            rooms: &answer.rooms,
            placements: &answer.placements,
        })
        .text()
}
