//! The patch list as a program reads it. Keys are a contract: see docs/json.md.

use crate::commands::ports::text::{CAUTIONS, Shown, megabits};
use crate::render::document::{Document, Known, bytes, megabytes, seconds, share};
use narrows_core::budget::RateRange;
use narrows_core::plan::ports::{Carried, Patch, Shared, SwitchPort};
use serde::Serialize;

#[derive(Serialize)]
struct Answer<'a> {
    met: bool,
    waits_today_s: Option<f64>,
    waits_s: Option<f64>,
    assumed_bytes_a_day: Option<f64>,
    patches: Vec<Line<'a>>,
    streams: Vec<Stream<'a>>,
    shared_links: Vec<Link<'a>>,
    relieved: &'a [String],
    given_up: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    stopped: Option<Known>,
    not_patched: Vec<Apart<'a>>,
    spare_jacks: Vec<&'a str>,
    free_ports: Vec<Free<'a>>,
}

#[derive(Serialize)]
struct Line<'a> {
    desk: &'a str,
    jack: Option<&'a str>,
    run: Option<&'a str>,
    panel_port: Option<&'a str>,
    room: Option<&'a str>,
    traced: Option<&'static str>,
    today: Place<'a>,
    port: Option<Place<'a>>,
    moves: bool,
    links: Vec<Chance>,
    holds_probability: Option<f64>,
    read_megabytes_per_s: Option<RateRange>,
    write_megabytes_per_s: Option<RateRange>,
    waits_today_s: Option<f64>,
    waits_s: Option<f64>,
}

#[derive(Serialize)]
struct Place<'a> {
    switch: &'a str,
    port: &'a str,
    link_megabits_per_s: f64,
}

#[derive(Serialize)]
struct Chance {
    link_megabits_per_s: f64,
    probability: f64,
}

#[derive(Serialize)]
struct Stream<'a> {
    desk: &'a str,
    does: &'a str,
    direction: &'static str,
    needs_megabytes_per_s: f64,
    gets_megabytes_per_s: f64,
    own_link_probability: f64,
    full: &'a [String],
    met: bool,
}

#[derive(Serialize)]
struct Link<'a> {
    run: &'a str,
    between: &'a [String; 2],
    direction: &'static str,
    carries_megabytes_per_s: f64,
    wanted_megabytes_per_s: f64,
}

#[derive(Serialize)]
struct Apart<'a> {
    desk: &'a str,
    why: &'a str,
}

#[derive(Serialize)]
struct Free<'a> {
    #[serde(flatten)]
    port: Place<'a>,
    count: usize,
}

fn port(port: &SwitchPort) -> Place<'_> {
    Place {
        switch: &port.switch,
        port: &port.port,
        link_megabits_per_s: megabits(port.rate),
    }
}

fn line(patch: &Patch) -> Line<'_> {
    Line {
        desk: &patch.desk,
        jack: patch.listed.then_some(patch.jack.as_str()),
        run: (!patch.listed).then_some(patch.jack.as_str()),
        panel_port: patch.panel.as_deref(),
        room: patch.room.as_deref(),
        traced: patch.listed.then(|| patch.traced.word()),
        today: port(&patch.today),
        port: patch.port.as_ref().map(port),
        moves: patch.port.is_some() && !patch.stays(),
        links: patch
            .links
            .iter()
            .map(|(rate, chance)| Chance {
                link_megabits_per_s: megabits(*rate),
                probability: share(*chance),
            })
            .collect(),
        holds_probability: patch.holds.map(share),
        read_megabytes_per_s: patch.read,
        write_megabytes_per_s: patch.write,
        waits_today_s: patch.waits_today.map(seconds),
        waits_s: patch.waits.map(seconds),
    }
}

fn stream(stream: &Carried) -> Stream<'_> {
    Stream {
        desk: &stream.desk,
        does: &stream.what,
        direction: stream.direction.word(),
        needs_megabytes_per_s: megabytes(stream.demand),
        gets_megabytes_per_s: megabytes(stream.gets),
        own_link_probability: share(stream.chance),
        full: &stream.full,
        met: stream.met,
    }
}

fn link(shared: &Shared) -> Link<'_> {
    Link {
        run: &shared.run,
        between: &shared.between,
        direction: shared.direction.word(),
        carries_megabytes_per_s: megabytes(shared.carries),
        wanted_megabytes_per_s: megabytes(shared.wanted),
    }
}

pub(crate) fn render(shown: &Shown<'_>) -> std::io::Result<String> {
    let answer = shown.answer;
    let (before, after) = answer.waits();
    Document::of("ports")
        .site(answer.site.as_str())
        .assumptions(shown.assumptions)
        .cautions(CAUTIONS)
        .answer(Answer {
            met: answer.met(),
            waits_today_s: before.map(seconds),
            waits_s: after.map(seconds),
            assumed_bytes_a_day: answer.assumed.map(bytes),
            patches: answer.patches.iter().map(line).collect(),
            streams: answer.streams.iter().map(stream).collect(),
            shared_links: answer.shared.iter().map(link).collect(),
            relieved: &answer.relieved,
            given_up: answer.given_up,
            stopped: answer.stopped.map(Known::of),
            not_patched: answer
                .apart
                .iter()
                .map(|(desk, why)| Apart { desk, why })
                .collect(),
            spare_jacks: shown
                .jacks
                .iter()
                .filter(|jack| jack.desk.is_none())
                .map(|jack| jack.label.as_str())
                .collect(),
            free_ports: answer
                .free
                .iter()
                .map(|(free, count)| Free {
                    port: port(free),
                    count: *count,
                })
                .collect(),
        })
        .text()
}
