use narrows_core::budget::Warning;
use narrows_core::plan::air::{Answer, LinkRow, Placement, RoomRow};
use narrows_core::site::Assumption;
use serde::Serialize;

/// The answer as a program reads it. Keys are a contract: see docs/json.md.
#[derive(Serialize)]
struct Document<'a> {
    version: &'a str,
    command: &'a str,
    site: &'a str,
    warnings: &'a [Warning],
    assumptions: &'a [Assumption],
    cautions: &'a [String],
    answer: Body<'a>,
}

#[derive(Serialize)]
struct Body<'a> {
    need_megabytes_per_s: f64,
    links: &'a [LinkRow],
    rooms: &'a [RoomRow],
    placements: &'a [Placement],
}

pub(crate) fn render(answer: &Answer) -> serde_json::Result<String> {
    let document = Document {
        version: env!("CARGO_PKG_VERSION"),
        command: "wireless",
        site: &answer.site,
        warnings: &answer.warnings,
        assumptions: &answer.assumptions,
        cautions: &answer.cautions,
        answer: Body {
            need_megabytes_per_s: answer.need_megabytes_per_s,
            links: &answer.links,
            rooms: &answer.rooms,
            placements: &answer.placements,
        },
    };
    let mut text = serde_json::to_string_pretty(&document)?;
    text.push('\n');
    Ok(text)
}
