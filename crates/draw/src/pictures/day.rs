//! A day: a line a job over the hours.

use super::bars::WIDTH;
use crate::number::{Number, cases};
use crate::picture::{Anchor, Fill, Picture, at, label, strait};
use crate::scale::Scale;
use crate::text::cut;
use maud::{Markup, html};
use narrows_core::day::{Day, Played, clock};
use narrows_core::quantity::units::ratio::one;
use narrows_core::quantity::{Time, units};

const EDGE: f64 = 4.0;
const ROW: f64 = 60.0;
const TOP: f64 = 6.0;

/// Hours from midnight of the first day.
fn hours(time: Time) -> f64 {
    time.get::<units::time::hour>()
}

/// Draws the jobs in the order of the list.
pub fn day(played: &Day) -> Picture {
    let jobs = &played.jobs;
    let first = jobs
        .iter()
        .map(|job| hours(job.job.earliest))
        .fold(f64::INFINITY, f64::min);
    let ends = jobs.iter().flat_map(|job| {
        let due = job.job.due.map(hours);
        let end = job.ends.map(|ends| hours(ends.p95));
        due.into_iter().chain(end)
    });
    let last = ends.fold(first + 1.0, f64::max);
    let (from, to) = (first.floor().min(last), last.ceil());
    let scale = Scale::new(from, to, EDGE, WIDTH - EDGE);
    let foot = TOP + ROW * jobs.len() as f64;
    let late: Vec<&str> = jobs
        .iter()
        .filter(|job| !job.is_in_time())
        .map(|job| job.job.what.as_str())
        .collect();
    let words = format!(
        "A line a job, from when it may begin to when it ends. {} Striped: it ends in there in 90 of 100 cases; the flag: when it is due.",
        if late.is_empty() {
            "All are done in time in the middle case.".to_owned()
        } else {
            format!("Late: {}.", late.join(", "))
        }
    );
    let step = [1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 96.0]
        .into_iter()
        .find(|step| (to - from) / step <= 7.0)
        .unwrap_or(168.0);
    let ticks: Vec<f64> = (0..=8)
        .map(|i| ((from / step).ceil() + f64::from(i)) * step)
        .filter(|hour| *hour <= to)
        .collect();
    let body = html! {
        g.scale {
        @for tick in &ticks {
            @let x = scale.at(*tick);
            path.grid d={ "M" (at(x)) " " (at(TOP)) "V" (at(foot)) } {}
            @let anchor = if x < 20.0 { Anchor::Start } else if x > WIDTH - 20.0 { Anchor::End } else { Anchor::Middle };
            (label(x, foot + 16.0, "soft small", anchor, &html! { (format!("{:02}:00", (*tick as u64) % 24)) }))
            @if *tick > 23.5 && (*tick as u64).is_multiple_of(24) {
                (label(x, foot + 30.0, "soft small", anchor, &html! { "next day" }))
            }
        }
        }
        path.axis d={ "M" (at(EDGE)) " " (at(foot)) "H" (at(WIDTH - EDGE)) } {}
        @for (i, job) in jobs.iter().enumerate() { (one_job(job, i, &scale, TOP + ROW * i as f64)) }
    };
    Picture::new("The day, job by job", &words, (WIDTH, foot + 36.0), body)
}

fn one_job(job: &Played, i: usize, scale: &Scale, top: f64) -> Markup {
    let late = !job.is_in_time();
    let y = top + 13.0;
    let bar = y + 22.0;
    let lead = if late { 20.0 } else { EDGE };
    let key = format!("together-day/day/jobs/{i}");
    let begin = scale.at(hours(job.job.earliest));
    let (sure, maybe) = if late {
        (Some(Fill::Narrow), Fill::NarrowMaybe)
    } else {
        (None, Fill::Maybe)
    };
    let ends = job.ends.map(|ends| {
        let number = Number::new(clock(ends.p50), format!("{key}/ends_s/p50"));
        (
            number,
            [ends.p05, ends.p95].map(|time| scale.at(hours(time))),
        )
    });
    html! {
        @if late { (strait(EDGE + 6.0, y - 4.5, 12.0)) }
        (label(lead, y, "strong", Anchor::Start, &html! { (cut(&job.job.what, 30)) }))
        (label(WIDTH - EDGE, y, "", Anchor::End, &html! {
            @if let Some((number, _)) = &ends { "ends " tspan.strong { (number.drawn()) } } @else { "does not end" }
        }))
        (label(EDGE, y + 14.0, if late { "small told" } else { "small soft" }, Anchor::Start, &html! {
            (cut(&format!("{} to {}", job.job.from, job.job.to), 24))
            @if let Some(chance) = job.in_time { ", in time " (cases(chance.get::<one>(), format!("{key}/in_time_probability"))) }
        }))
        @match &ends {
            Some((_, [low, high])) => {
                @if let Some(sure) = sure {
                    rect fill=(sure.url()) x=(at(begin)) y=(at(bar)) width=(at((low - begin).max(1.0))) height="12" {}
                } @else {
                    rect.flow x=(at(begin)) y=(at(bar)) width=(at((low - begin).max(1.0))) height="12" {}
                }
                rect fill=(maybe.url()) x=(at(*low)) y=(at(bar)) width=(at(high - low)) height="12" {}
            }
            None => { rect fill=(Fill::NarrowMaybe.url()) x=(at(begin)) y=(at(bar)) width=(at(scale.at(f64::MAX) - begin)) height="12" {} }
        }
        @if let Some(due) = job.job.due {
            @let x = scale.at(hours(due));
            path.tick d={ "M" (at(x)) " " (at(bar + 14.0)) "v-20" } {}
            path.solid d={ "M" (at(x)) " " (at(bar - 6.0)) "h-9l3 4l-3 4h9z" } {}
        }
    }
}
