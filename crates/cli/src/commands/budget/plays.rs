//! What each desk can play.

use crate::arguments::Budget;
use crate::input::{self, Stop};
use crate::render::document::{Document, megabytes, printed};
use crate::render::lead::{Lead, listed};
use crate::render::prose::{paragraph, rate};
use crate::render::table::{Side, Table};
use crate::{Outcome, Screen};
use narrows_core::catalogue::Catalogue;
use narrows_core::site::Site;
use narrows_core::spread::Draws;
use narrows_core::together::{DeskPlays, MOST_LAYERS, plays};
use narrows_core::work::{FrameRate, Raster};
use serde::Serialize;
use std::fmt::Write;

/// Resolutions that are asked about, by their words.
const RESOLUTIONS: [&str; 3] = ["HD", "UHD", "8K-UHD"];

/// The frame rate that is asked about.
const FRAMES: &str = "25 fps";

/// The codec that the first line is about: the one most edits are cut in.
const FIRST: &str = "ProRes 422 HQ";

/// The place as it is, and as it would be.
pub(crate) struct Sites<'a> {
    pub before: &'a Site,
    pub after: Option<&'a Site>,
}

#[derive(Serialize)]
struct Body {
    frames: &'static str,
    most_layers: u32,
    desks: Vec<OneDesk>,
}

#[derive(Serialize)]
struct OneDesk {
    desk: String,
    array: String,
    codecs: Vec<OneCodec>,
}

#[derive(Serialize)]
struct OneCodec {
    codec: String,
    raster: String,
    megabytes_per_s: f64,
    layers: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    layers_after: Option<u32>,
}

const CAUTIONS: [&str; 2] = [
    "Each desk alone: narrows together says what is left when all work at once.",
    "An array is not a backup: keep a second copy elsewhere before you rely on any layout.",
];

/// One desk before and, where something changes, after.
struct Both {
    before: DeskPlays,
    after: Option<DeskPlays>,
}

impl Both {
    fn layers(&self, codec: &str, raster: Raster) -> Option<(u32, Option<u32>)> {
        let of = |plays: &DeskPlays| {
            let found = plays
                .codecs
                .iter()
                .find(|c| c.codec == codec && c.raster == raster);
            found.map(|c| c.layers)
        };
        Some((of(&self.before)?, self.after.as_ref().and_then(of)))
    }

    fn said(&self, codec: &str, raster: Raster) -> String {
        match self.layers(codec, raster) {
            None => "-".to_owned(),
            Some((before, None)) => many(before),
            Some((before, Some(after))) if before == after => many(before),
            Some((before, Some(after))) => format!("{}, then {}", many(before), many(after)),
        }
    }
}

fn many(layers: u32) -> String {
    if layers >= MOST_LAYERS {
        format!("{MOST_LAYERS}+")
    } else {
        layers.to_string()
    }
}

pub(crate) fn run(
    arguments: &Budget,
    sites: &Sites<'_>,
    catalogue: &Catalogue,
    draws: &mut Draws,
    screen: &mut Screen<'_>,
) -> Result<Outcome, Stop> {
    let help = "this is a mistake in the program; please report it";
    let mut rasters = Vec::new();
    for word in RESOLUTIONS {
        let raster = Raster::parse(word, catalogue);
        rasters.push(raster.map_err(|f| input::refuse(screen, &f.to_string(), help))?);
    }
    let frames = FrameRate::parse(FRAMES);
    let frames = frames.map_err(|f| input::refuse(screen, &f.to_string(), help))?;
    let desks: Vec<String> = arguments.desk.iter().cloned().collect();
    if let Some(name) = &arguments.desk
        && !sites.before.desks.iter().any(|d| d.name == *name)
    {
        let known: Vec<&str> = sites.before.desks.iter().map(|d| d.name.as_str()).collect();
        let what = format!("there is no desk '{name}' (desks: {})", known.join(", "));
        let help = "names of desks stand in the site file behind 'desk.'";
        return Err(input::refuse(screen, &what, help));
    }
    let mut ask = |site: &Site, screen: &mut Screen<'_>| {
        plays(site, &desks, &rasters, frames, catalogue, draws).map_err(|fault| {
            input::refuse(
                screen,
                &fault.to_string(),
                "look at the site with narrows check",
            )
        })
    };
    let before = ask(sites.before, screen)?;
    let mut after = match sites.after {
        Some(site) => Some(ask(site, screen)?),
        None => None,
    };
    let all: Vec<Both> = before
        .into_iter()
        .map(|before| {
            let same = |p: &DeskPlays| p.desk == before.desk && p.array == before.array;
            let found = after.as_mut().and_then(|all| {
                let at = all.iter().position(same)?;
                Some(all.remove(at))
            });
            Both {
                before,
                after: found,
            }
        })
        .collect();
    let printed = printed(
        arguments.format,
        || json(sites.before, &all),
        || [whole_table(&all)],
        || text(&all, &rasters, screen.width),
    )?;
    write!(screen.out, "{printed}")?;
    Ok(Outcome::Fine)
}

fn json(site: &Site, all: &[Both]) -> std::io::Result<String> {
    let desks = all.iter().map(|both| OneDesk {
        desk: both.before.desk.clone(),
        array: both.before.array.clone(),
        codecs: both
            .before
            .codecs
            .iter()
            .map(|c| OneCodec {
                codec: c.codec.clone(),
                raster: c.raster.to_string(),
                megabytes_per_s: megabytes(c.rate),
                layers: c.layers,
                layers_after: both.layers(&c.codec, c.raster).and_then(|(_, after)| after),
            })
            .collect(),
    });
    Document::of("budget")
        .site(site.name.as_str())
        .cautions(CAUTIONS)
        .answer(Body {
            frames: FRAMES,
            most_layers: MOST_LAYERS,
            desks: desks.collect(),
        })
        .text()
}

/// Everything, for a spreadsheet or a document.
fn whole_table(all: &[Both]) -> Table {
    let mut table = Table::new(&[
        ("desk", Side::Left),
        ("array", Side::Left),
        ("codec", Side::Left),
        ("resolution", Side::Left),
        ("MB/s a layer", Side::Right),
        ("layers", Side::Right),
        ("layers after", Side::Right),
    ]);
    for both in all {
        for c in &both.before.codecs {
            let after = both.layers(&c.codec, c.raster).and_then(|(_, after)| after);
            table.row(vec![
                both.before.desk.clone(),
                both.before.array.clone(),
                c.codec.clone(),
                c.raster.to_string(),
                rate(c.rate),
                c.layers.to_string(),
                after.map_or(String::new(), |layers| layers.to_string()),
            ]);
        }
    }
    table
}

/// Desks that play the same, together.
fn groups<'a>(all: &'a [Both], rasters: &[Raster]) -> Vec<(Vec<&'a str>, &'a Both)> {
    let mut found: Vec<(Vec<String>, Vec<&str>, &Both)> = Vec::new();
    for both in all {
        let cells = both.before.codecs.iter();
        let key: Vec<String> = cells
            .filter(|c| rasters.contains(&c.raster))
            .map(|c| both.said(&c.codec, c.raster))
            .chain([both.before.array.clone()])
            .collect();
        match found.iter_mut().find(|(known, ..)| *known == key) {
            Some((_, names, _)) => names.push(&both.before.desk),
            None => found.push((key, vec![both.before.desk.as_str()], both)),
        }
    }
    found
        .into_iter()
        .map(|(_, names, both)| (names, both))
        .collect()
}

fn text(all: &[Both], rasters: &[Raster], width: usize) -> String {
    let groups = groups(all, rasters);
    let mut out = lead(&groups, rasters).text(width);
    for (names, both) in &groups {
        let _ = writeln!(
            out,
            "\n{}, layers at {FRAMES} from {}:",
            listed(names),
            both.before.array
        );
        let mut heads = vec![("codec", Side::Left)];
        heads.extend(RESOLUTIONS.map(|word| (word, Side::Right)));
        let mut table = Table::new(&heads);
        let mut codecs: Vec<&str> = Vec::new();
        for c in &both.before.codecs {
            if !codecs.contains(&c.codec.as_str()) {
                codecs.push(&c.codec);
            }
        }
        for codec in codecs {
            let mut row = vec![codec.to_owned()];
            row.extend(rasters.iter().map(|raster| both.said(codec, *raster)));
            table.row(row);
        }
        out.push_str(&table.text(width));
    }
    let legend = format!(
        "Layers that hold in 95 of 100 cases, each desk alone, from the array; {MOST_LAYERS}+: {MOST_LAYERS} or more. \
         -: no rate is known there. Pictures only; the desk also has to decode them in time."
    );
    let _ = writeln!(out, "\n{}", paragraph(&legend, width, 0));
    for caution in CAUTIONS {
        let _ = writeln!(out, "{}", paragraph(caution, width, 0));
    }
    out
}

fn lead(groups: &[(Vec<&str>, &Both)], rasters: &[Raster]) -> Lead {
    let Some(uhd) = rasters.get(1) else {
        return Lead::default();
    };
    let parts: Vec<String> = groups
        .iter()
        .filter_map(|(names, both)| {
            let (before, after) = both.layers(FIRST, *uhd)?;
            let verb = if names.len() == 1 { "plays" } else { "play" };
            let then = match after {
                Some(after) if after > before => {
                    format!(", then {} ({} more)", many(after), after - before)
                }
                Some(after) if after < before => format!(", then {}", many(after)),
                _ => String::new(),
            };
            let layers = match before {
                0 => "none".to_owned(),
                1 => "1 layer".to_owned(),
                _ => format!("{} layers", many(before)),
            };
            Some(format!("{} {verb} {layers}{then}", listed(names)))
        })
        .collect();
    let given: Vec<String> = groups
        .iter()
        .filter_map(|(names, both)| {
            let given = both.before.given.first()?;
            Some(format!("{} {}", listed(names), rate(*given)))
        })
        .collect();
    Lead {
        what: format!("{FIRST} UHD at {FRAMES}: {}.", parts.join("; ")),
        why: Some(format!(
            "in 95 of 100 cases one stream gets at least, in MB/s: {}.",
            given.join("; ")
        )),
        next: Some(
            "see what a change adds: the same with --set or --compare; what all get at once: narrows together."
                .to_owned(),
        ),
    }
}
