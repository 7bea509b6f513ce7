use super::commands::Command;
use super::table::{Head, table};
use super::{Report, Section, said};
use crate::number::Number;
use crate::text::{named, plain};
use maud::{Markup, html};
use narrows_core::explain::{CauseFound, Explanation};
use narrows_core::quantity::{in_megabytes_per_second, three_digits};

/// A cause that is less likely is left to the command.
const TOLD: f64 = 0.03;

/// What a number that was read means.
pub(super) fn section(report: &Report<'_>) -> Option<Section> {
    let reading = report.reading.as_ref()?;
    let found = &reading.answer;
    let body = html! {
        (said(&reading.lines))
        (read(found))
        @if !found.causes.is_empty() {
            h3 { "What it may be" }
            ol.causes {
                @for (i, cause) in found.causes.iter().enumerate().filter(|(i, c)| *i == 0 || c.probability >= TOLD) {
                    (one_cause(cause, i))
                }
            }
        }
        @if !found.next_tests.is_empty() {
            h3 { "What to look at next" }
            @for (i, test) in found.next_tests.iter().enumerate() {
                p { (if i == 0 { "First " } else { "Or " }) (plain(&test.place)) ": " (plain(&test.words)) ", "
                    (Number::new(format!("{:.0}", test.minutes), format!("explain/next_tests/{i}/minutes"))) " min." }
            }
        }
    };
    let by = vec![Command::explain(report)];
    Some(Section::new("reading", "What was read", by, body))
}

fn read(found: &Explanation) -> Markup {
    let heads = [
        Head::Words("read off"),
        Head::Numbers("MB/s"),
        Head::Words("way"),
        Head::Numbers("expected"),
        Head::Numbers("from"),
        Head::Numbers("to"),
    ];
    let mut rows = Vec::new();
    for (i, reading) in found.readings.iter().enumerate() {
        let key = format!("explain/readings/{i}");
        let understood = html! {
            @if let Some(rate) = reading.understood {
                strong { (Number::new(three_digits(in_megabytes_per_second(rate)), format!("{key}/megabytes_per_s"))) }
            }
        };
        let name = html! { (named(&reading.text)) };
        if reading.expected.is_empty() {
            rows.push(vec![
                name,
                understood,
                html! {},
                html! {},
                html! {},
                html! {},
            ]);
            continue;
        }
        for (j, way) in reading.expected.iter().enumerate() {
            let number = |rate, which: &str| {
                Number::rate(
                    rate,
                    format!("{key}/expected_each_way/{j}/megabytes_per_s/{which}"),
                )
            };
            let [low, middle, high] = way.rates;
            rows.push(vec![
                name.clone(),
                understood.clone(),
                html! { (way.direction.word()) },
                html! { (number(middle, "p50")) },
                html! { (number(low, "p05")) },
                html! { (number(high, "p95")) },
            ]);
        }
    }
    html! { @if !rows.is_empty() { (table("What was read, and what is expected, in MB/s", &heads, &rows)) } }
}

fn one_cause(cause: &CauseFound, i: usize) -> Markup {
    html! {
        li {
            strong { (Number::percent(cause.probability, format!("explain/causes/{i}/probability"))) " of 100" } ": " (plain(&cause.words))
            @if !cause.place.is_empty() { span.quiet { " [" (named(&cause.place)) "]" } }
            "."
            @if !cause.remedy.is_empty() { br; "Do: " (plain(&cause.remedy)) "." }
        }
    }
}
