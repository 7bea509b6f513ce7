//! The answer as a program reads it. Keys are a contract: see docs/json.md.

use crate::commands::day::text::{CAUTIONS, Shown};
use crate::render::document::{Document, bytes, megabytes, seconds, share};
use narrows_core::budget::TimeRange;
use narrows_core::day::Played;
use serde::Serialize;

#[derive(Serialize)]
struct Body<'a> {
    day: Day<'a>,
}

#[derive(Serialize)]
struct Day<'a> {
    in_time: bool,
    cases: usize,
    jobs: Vec<Job<'a>>,
}

#[derive(Serialize)]
#[allow(clippy::struct_field_names)] // keys of the contract
struct Job<'a> {
    job: &'a str,
    from: String,
    to: String,
    size_bytes: f64,
    read_back: bool,
    earliest_s: f64,
    due_s: Option<f64>,
    ends_s: Option<TimeRange>,
    in_time: bool,
    in_time_probability: Option<f64>,
    done_when_due_share: Option<f64>,
    late_by_s: Option<f64>,
    megabytes_per_s: f64,
    needs_megabytes_per_s: Option<f64>,
    waits: Vec<Wait<'a>>,
}

#[derive(Serialize)]
struct Wait<'a> {
    #[serde(rename = "for")]
    what: &'a str,
    share: f64,
}

fn job(played: &Played) -> Job<'_> {
    Job {
        job: &played.job.what,
        from: played.job.from.to_string(),
        to: played.job.to.to_string(),
        size_bytes: bytes(played.size),
        read_back: played.job.read_back,
        earliest_s: seconds(played.job.earliest),
        due_s: played.job.due.map(seconds),
        ends_s: played.ends,
        in_time: played.is_in_time(),
        in_time_probability: played.in_time.map(share),
        done_when_due_share: played.done_when_due.map(share),
        late_by_s: played.late_by.map(seconds),
        megabytes_per_s: megabytes(played.rate),
        needs_megabytes_per_s: played.needs.map(megabytes),
        waits: played
            .waits
            .iter()
            .map(|(what, part)| Wait {
                what,
                share: share(*part),
            })
            .collect(),
    }
}

pub(crate) fn render(shown: &Shown<'_>) -> std::io::Result<String> {
    Document::of("together")
        .site(shown.site.name.as_str())
        .warnings(shown.warnings)
        .assumptions(&shown.site.assumptions)
        .cautions(CAUTIONS)
        .answer(Body {
            day: Day {
                in_time: shown.day.in_time(),
                cases: shown.day.cases,
                jobs: shown.day.jobs.iter().map(job).collect(),
            },
        })
        .text()
}
