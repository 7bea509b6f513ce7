use super::commands::Command;
use super::table::{Head, table};
use super::{Report, Section, said};
use crate::number::Number;
use crate::pictures::day;
use crate::text::named;
use maud::{Markup, html};
use narrows_core::day::{Played, clock};
use narrows_core::quantity::units::ratio::one;

/// Jobs over the hours.
pub(super) fn section(report: &Report<'_>) -> Option<Section> {
    let played = report.day.as_ref()?;
    let heads = [
        Head::Words("job"),
        Head::Numbers("begins"),
        Head::Numbers("ends"),
        Head::Numbers("done by, 95 of 100"),
        Head::Numbers("due"),
        Head::Numbers("in time %"),
        Head::Words("waits for"),
    ];
    let rows: Vec<Vec<Markup>> = played
        .answer
        .jobs
        .iter()
        .enumerate()
        .map(|(i, job)| row(job, i))
        .collect();
    let body = html! {
        (said(&played.lines))
        div.pair { div.one { figure { (day(&played.answer).inside("day")) } } }
        (table("The jobs of the day", &heads, &rows))
        p.quiet { "Only the jobs of the list run in this day: what desks play beside them is not in it. +1: the next day." }
    };
    Some(Section::new(
        "day",
        "The day",
        vec![Command::day(report)],
        body,
    ))
}

fn row(job: &Played, i: usize) -> Vec<Markup> {
    let key = format!("together-day/day/jobs/{i}");
    let hour = |time, at: &str| Number::new(clock(time), format!("{key}/{at}"));
    vec![
        html! { (named(&job.job.what)) },
        html! { (hour(job.job.earliest, "earliest_s")) },
        html! { @match job.ends { Some(ends) => { strong { (hour(ends.p50, "ends_s/p50")) } } None => "does not end" } },
        html! { @if let Some(ends) = job.ends { (hour(ends.p95, "ends_s/p95")) } },
        html! { @if let Some(due) = job.job.due { (hour(due, "due_s")) } },
        html! { @if let Some(chance) = job.in_time { (Number::percent(chance.get::<one>(), format!("{key}/in_time_probability"))) } },
        html! { @if let Some((what, _)) = job.waits.first() { (named(what)) } },
    ]
}
