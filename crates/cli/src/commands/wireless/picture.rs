//! Rooms seen from above, a storey below the other, with the chance of the need in each.

use narrows_core::plan::air::{Answer, Shade};
use narrows_core::quantity::{Length, three_digits, units};
use narrows_core::site::{Room, Site};
use std::collections::BTreeSet;
use std::fmt::Write;

const LEFT: f64 = 60.0;
const TOP: f64 = 84.0;
/// Pixels of a metre, and between two storeys.
const METRE: f64 = 34.0;
const BETWEEN: f64 = 54.0;
/// Pixels of a line of text.
const LINE: f64 = 17.0;

const STYLE: &str = "
    .paper { fill: #ffffff } .ink { fill: #1a1a1a } .soft { fill: #555555 }
    .wall { stroke: #1a1a1a; stroke-width: 2 } .point { fill: #1a1a1a; stroke: #ffffff; stroke-width: 2 }
    .hatch { stroke: #1a1a1a; stroke-width: 1; opacity: 0.35 }
    .sure { fill: #cfe8d8 } .likely { fill: #e9eccb } .doubtful { fill: #f6ddbd } .hardly { fill: #efc9c5 }
    .untold { fill: #e6e6e6 }
    text { font: 14px system-ui, sans-serif } .title { font-size: 17px; font-weight: 600 } .name { font-weight: 600 }
    @media (prefers-color-scheme: dark) {
      .paper { fill: #16181c } .ink { fill: #eeeeee } .soft { fill: #b5b5b5 } .wall { stroke: #eeeeee }
      .point { fill: #eeeeee; stroke: #16181c } .hatch { stroke: #eeeeee }
      .sure { fill: #1f4a35 } .likely { fill: #46491c } .doubtful { fill: #5a3d17 } .hardly { fill: #5c2522 }
      .untold { fill: #34383f }
    }
";

fn metres(length: Length) -> f64 {
    length.get::<units::length::meter>()
}

/// A text without what the format would obey.
fn safe(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

fn class(shade: Option<Shade>) -> &'static str {
    shade.map_or("untold", Shade::word)
}

/// What is drawn in a room: chance, its word, and the access points or jacks in it.
struct Told {
    chance: Option<(f64, Shade)>,
    points: Vec<String>,
}

/// The largest placement where some were asked for, else what there is.
fn told(site: &Site, answer: &Answer, room: &Room) -> Told {
    if let Some(place) = answer.placements.last() {
        let found = place.rooms.iter().find(|r| r.room == room.name);
        let here = |name: &&String| {
            let jack = site.house.jacks.iter().find(|j| j.name == **name);
            jack.is_some_and(|jack| jack.room == room.name)
        };
        return Told {
            chance: found.map(|r| (r.need_probability, r.shade)),
            points: place.jacks.iter().filter(here).cloned().collect(),
        };
    }
    let found = answer.rooms.iter().find(|r| r.room == room.name);
    Told {
        chance: found.map(|r| (r.need_probability, r.shade)),
        points: site
            .switches
            .iter()
            .filter(|s| {
                let cell = s.cell.as_ref();
                cell.is_some_and(|cell| cell.room.as_ref() == Some(&room.name))
            })
            .map(|s| s.name.clone())
            .collect(),
    }
}

/// Draws all storeys, the highest on top.
pub(crate) fn draw(site: &Site, answer: &Answer) -> String {
    let rooms = &site.house.rooms;
    let ends = |room: &Room| {
        let [left, front, wide, deep] = room.plan.map(metres);
        (left + wide, front + deep)
    };
    let width = rooms.iter().map(|r| ends(r).0).fold(0.0, f64::max);
    let floors: BTreeSet<u32> = rooms.iter().map(|room| room.floor).collect();
    let need = three_digits(answer.need_megabytes_per_s);
    let title = format!(
        "{}: chance of reading {need} MB/s through the air",
        site.name
    );
    let mut body = String::new();
    let mut top = TOP;
    for floor in floors.iter().rev() {
        let here: Vec<&Room> = rooms.iter().filter(|room| room.floor == *floor).collect();
        let depth = here.iter().map(|r| ends(r).1).fold(0.0, f64::max);
        let _ = writeln!(
            body,
            "<text class=\"soft\" x=\"{LEFT}\" y=\"{:.0}\">storey {floor}</text>",
            top - 8.0
        );
        for room in here {
            one_room(&mut body, room, &told(site, answer, room), top);
        }
        top += depth * METRE + BETWEEN;
    }
    let (all_wide, all_high) = (f64::max(width * METRE + 2.0 * LEFT, 560.0), top + LINE);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {all_wide:.0} {all_high:.0}\" \
         width=\"{all_wide:.0}\" height=\"{all_high:.0}\" role=\"img\" aria-label=\"{0}\">\n\
         <title>{0}</title>\n<style>{STYLE}</style>\n\
         <defs><pattern id=\"lines\" width=\"9\" height=\"9\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><line class=\"hatch\" x1=\"0\" y1=\"0\" x2=\"0\" y2=\"9\"/></pattern></defs>\n\
         <rect class=\"paper\" width=\"100%\" height=\"100%\"/>\n\
         <text class=\"ink title\" x=\"{LEFT}\" y=\"34\">{0}</text>\n",
        safe(&title)
    );
    out.push_str(&body);
    let _ = writeln!(
        out,
        "<text class=\"soft\" x=\"{LEFT}\" y=\"{:.0}\">A dot is an access point. Hatched: less than \
         2 in 3. Estimates, no survey.</text>\n</svg>",
        all_high - LINE
    );
    out
}

fn one_room(out: &mut String, room: &Room, told: &Told, top: f64) {
    let [left, front, wide, deep] = room.plan.map(metres);
    let (x, y) = (LEFT + left * METRE, top + front * METRE);
    let (w, h) = (wide * METRE, deep * METRE);
    let shade = told.chance.map(|(_, shade)| shade);
    let rect = |out: &mut String, attributes: &str| {
        let _ = writeln!(
            out,
            "<rect {attributes} x=\"{x:.1}\" y=\"{y:.1}\" width=\"{w:.1}\" height=\"{h:.1}\"/>"
        );
    };
    rect(out, &format!("class=\"{} wall\"", class(shade)));
    if matches!(shade, Some(Shade::Doubtful | Shade::Hardly)) {
        rect(out, "fill=\"url(#lines)\"");
    }
    let mut lines = vec![("ink name", room.name.clone())];
    match told.chance {
        Some((chance, shade)) => {
            lines.push(("ink", format!("{:.0} of 100", 100.0 * chance)));
            lines.push(("ink", shade.word().to_owned()));
        }
        None => lines.push(("soft", "not known".to_owned())),
    }
    for (line, (class, text)) in lines.iter().enumerate() {
        let _ = writeln!(
            out,
            "<text class=\"{class}\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            x + 8.0,
            y + LINE * (line as f64 + 1.2),
            safe(text)
        );
    }
    for (at, name) in told.points.iter().enumerate() {
        let (cx, cy) = (x + 14.0, y + h - 14.0 - LINE * at as f64);
        let _ = writeln!(
            out,
            "<circle class=\"point\" cx=\"{cx:.1}\" cy=\"{cy:.1}\" r=\"6\"/>\
             <text class=\"ink\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            cx + 12.0,
            cy + 5.0,
            safe(name)
        );
    }
}
