use crate::commands::day::text::{CAUTIONS, Shown};
use narrows_core::budget::{TimeRange, Warning};
use narrows_core::day::Played;
use narrows_core::quantity::{Measure, Ratio, Time, in_megabytes_per_second};
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
    cautions: [&'a str; 2],
    answer: Body<'a>,
}

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

fn six_digits(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

fn share(value: Ratio) -> f64 {
    six_digits(value.base())
}

fn time(value: Time) -> f64 {
    six_digits(value.base())
}

fn job(played: &Played) -> Job<'_> {
    Job {
        job: &played.job.what,
        from: played.job.from.to_string(),
        to: played.job.to.to_string(),
        size_bytes: six_digits(played.size.base()),
        read_back: played.job.read_back,
        earliest_s: time(played.job.earliest),
        due_s: played.job.due.map(time),
        ends_s: played.ends,
        in_time: played.is_in_time(),
        in_time_probability: played.in_time.map(share),
        done_when_due_share: played.done_when_due.map(share),
        late_by_s: played.late_by.map(time),
        megabytes_per_s: six_digits(in_megabytes_per_second(played.rate)),
        needs_megabytes_per_s: played
            .needs
            .map(|rate| six_digits(in_megabytes_per_second(rate))),
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

pub(crate) fn render(shown: &Shown<'_>) -> serde_json::Result<String> {
    let document = Document {
        version: env!("CARGO_PKG_VERSION"),
        command: "together",
        site: &shown.site.name,
        warnings: shown.warnings,
        assumptions: &shown.site.assumptions,
        cautions: CAUTIONS,
        answer: Body {
            day: Day {
                in_time: shown.day.in_time(),
                cases: shown.day.cases,
                jobs: shown.day.jobs.iter().map(job).collect(),
            },
        },
    };
    let mut text = serde_json::to_string_pretty(&document)?;
    text.push('\n');
    Ok(text)
}
