//! What there is room for beside the tasks, and what desks that handle single pictures see.

use crate::commands::day::text::hours;
use crate::render::lead::the;
use crate::render::places::Places;
use crate::render::prose::{counted, item, paragraph, rate, share};
use crate::render::table::{Side, Table};
use narrows_core::quantity::{Frequency, Ratio, Time, show, three_digits, units};
use narrows_core::room::{Overload, Room};
use narrows_core::together::{Handling, MoreDesks, Pausing, SEVERAL, Sees, SiteRoom};
use std::fmt::Write;

/// The sections; empty where there is nothing to say.
pub(crate) fn section(room: &SiteRoom, places: Places<'_>, width: usize) -> String {
    let mut out = String::new();
    if !room.more.is_empty() {
        out.push_str("\nRoom for more desks, each with its own port and cable:\n");
        out.push_str(&table(&room.more, places).text(width));
        for line in legend(room) {
            let _ = writeln!(out, "{}", paragraph(&line, width, 0));
        }
        for more in &room.more {
            if let Some(text) = crowd(more, room.read_ahead, places) {
                let _ = writeln!(out, "{}", item(&text, width));
            }
        }
    }
    if !room.handling.is_empty() {
        out.push_str("\nSingle pictures, in the middle and with nobody else there:\n");
        for handling in &room.handling {
            let _ = writeln!(out, "{}", item(&seen(handling), width));
        }
    }
    out
}

fn table(more: &[MoreDesks], places: Places<'_>) -> Table {
    let mut table = Table::new(&[
        ("desks like", Side::Left),
        ("MB/s", Side::Right),
        ("more", Side::Right),
        ("in 95 %", Side::Right),
        ("if they pause", Side::Right),
        ("full first", Side::Left),
    ]);
    for one in more {
        table.row(vec![
            one.desks.join(", "),
            rate(one.rate),
            one.at_once.middle.to_string(),
            one.at_once.surely.to_string(),
            match &one.pausing {
                Pausing::Few => "the same".to_owned(),
                Pausing::NotTold(_) => "not told".to_owned(),
                Pausing::Counted { room, .. } => room.more().to_string(),
            },
            one.place
                .as_ref()
                .map_or_else(String::new, |id| places.name(id, None)),
        ]);
    }
    table
}

fn legend(room: &SiteRoom) -> Vec<String> {
    let mut lines = vec![
        "more: how many more fit if all play at once, in the middle; in 95 %: in 95 of 100 cases. \
         Taken are all needs, and all that is held to a rate."
            .to_owned(),
    ];
    let few = room.more.iter().any(|m| m.pausing == Pausing::Few);
    let mut text = format!(
        "if they pause: in the middle, with desks that stop and start on their own, overloaded at \
         most once in {}",
        hours(period(room.limits.spells))
    );
    if few {
        text.push_str(
            "; \"the same\" where the path has room for six such streams or fewer, since pauses gain \
             nothing there",
        );
    }
    let mut untold: Vec<&str> = Vec::new();
    for more in &room.more {
        if let Pausing::NotTold(tasks) = &more.pausing {
            for task in tasks {
                if !untold.contains(&task.as_str()) {
                    untold.push(task);
                }
            }
        }
    }
    if !untold.is_empty() {
        let _ = write!(
            text,
            "; \"not told\" because active or spell is missing at {}",
            untold.join(", ")
        );
    }
    text.push('.');
    lines.push(text);
    let counted = |m: &MoreDesks| matches!(m.pausing, Pausing::Counted { .. });
    if room.more.iter().any(counted) {
        lines.push(
            "They are taken to pause independently of each other; for a screening of the whole \
             team or a shared deadline the column more is the honest one."
                .to_owned(),
        );
    }
    if !room.not_counted.is_empty() {
        lines.push(format!(
            "Not in the count: {}, which {} whatever there is. Hold {} to a rate, or let {} run at \
             night.",
            room.not_counted.join(", "),
            if room.not_counted.len() == 1 {
                "takes"
            } else {
                "take"
            },
            it(room),
            it(room),
        ));
    }
    lines
}

fn it(room: &SiteRoom) -> &'static str {
    if room.not_counted.len() == 1 {
        "it"
    } else {
        "them"
    }
}

fn period(often: Frequency) -> Time {
    narrows_core::quantity::ratio(1.0) / often
}

/// What a crowd of desks that pause does to the path.
fn crowd(more: &MoreDesks, read_ahead: Time, places: Places<'_>) -> Option<String> {
    let Pausing::Counted {
        room:
            Room::Crowd {
                more: count,
                with,
                beyond,
                ..
            },
        active,
        spell,
    } = &more.pausing
    else {
        return None;
    };
    let place = more
        .place
        .as_ref()
        .map_or_else(|| "the path".to_owned(), |id| the(&places.name(id, None)));
    let mut text = format!(
        "{} like {}, at work {} of the time in spells of {}: of {place} {}.",
        counted(*count as usize, "more desk", "more desks"),
        more.desks.join(", "),
        share(active.get::<units::ratio::one>()),
        show(*spell),
        overloaded(with, read_ahead)
    );
    if let Some(beyond) = beyond {
        let _ = write!(text, " With one more {}.", overloaded(beyond, read_ahead));
    }
    Some(text)
}

fn overloaded(overload: &Overload, read_ahead: Time) -> String {
    let Some(spell) = overload.spell else {
        return "nothing is asked that it does not carry".to_owned();
    };
    format!(
        "too much is asked {} of the time: {} for {} each, and a read-ahead of {} runs dry {}",
        small_share(overload.chance),
        times(overload.spells),
        show(spell),
        show(read_ahead),
        stalls(overload.stalls(read_ahead))
    )
}

/// The formula behind it is rough where read-ahead is long.
fn stalls(often: Frequency) -> String {
    let told = times(often);
    if told.starts_with("less") {
        told
    } else {
        format!("about {told}")
    }
}

/// A share that may be far below one percent.
fn small_share(share: Ratio) -> String {
    format!("{} %", small(share.get::<units::ratio::percent>()))
}

/// Three digits, or an upper end where there are too many noughts to read.
fn small(value: f64) -> String {
    if value > 0.0 && value < 0.001 {
        "less than 0.001".to_owned()
    } else {
        three_digits(value)
    }
}

fn times(often: Frequency) -> String {
    let an_hour = often.get::<units::frequency::per_hour>();
    if an_hour >= 1.0 {
        format!("{} times an hour", three_digits(an_hour))
    } else if an_hour * 24.0 >= 1.0 {
        format!("{} times a day", three_digits(an_hour * 24.0))
    } else {
        format!("{} times a day", small(an_hour * 24.0))
    }
}

fn seen(handling: &Handling) -> String {
    let a_second = |f: Frequency| three_digits(f.get::<units::frequency::hertz>());
    let who = format!("{}, {}", handling.desk, handling.material);
    match handling.sees {
        Sees::Scrubbing {
            places,
            comfort,
            place,
            decoded,
        } => {
            let mut text = format!(
                "{who}: {} places a second while dragging through cold material ({} feel free); a \
                 place takes {}",
                a_second(places),
                a_second(comfort),
                show(place)
            );
            if let Some(decoded) = decoded {
                let _ = write!(
                    text,
                    ", its whole group, of which {} pictures are decoded in the mean",
                    three_digits(decoded.get::<units::ratio::one>())
                );
            }
            text.push('.');
            text
        }
        Sees::Sequence {
            one_by_one,
            several,
            asked,
        } => format!(
            "{who}: {} pictures a second if each file is fetched after the other, {} with {SEVERAL} \
             at once; {} are asked for.",
            a_second(one_by_one),
            a_second(several),
            a_second(asked)
        ),
    }
}
