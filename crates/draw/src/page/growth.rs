use super::commands::Command;
use super::table::{Head, table};
use super::{Report, Section, said};
use crate::number::Number;
use crate::pictures::{growth, months, terabytes};
use crate::text::plain;
use maud::{Markup, html};
use narrows_core::quantity::{Information, three_digits};
use narrows_keeping::Range;

/// When the array is full.
pub(super) fn section(report: &Report<'_>) -> Option<Section> {
    let found = report.growth.as_ref()?;
    let full = &found.answer.full;
    let heads = [
        Head::Words("reached"),
        Head::Numbers("TB"),
        Head::Numbers("in months"),
        Head::Numbers("from"),
        Head::Numbers("to"),
    ];
    let row = |name: &str,
               (size, key): (Information, &str),
               (range, months_key): (&Range<f64>, &str)| {
        let month = |count: f64, at: &str| {
            Number::new(months(count), format!("growth/full/{months_key}/{at}"))
        };
        vec![
            html! { (plain(name)) },
            html! { (Number::new(three_digits(terabytes(size)), format!("growth/full/{key}"))) },
            html! { strong { (month(range.p50, "p50")) } },
            html! { (month(range.p05, "p05")) },
            html! { (month(range.p95, "p95")) },
        ]
    };
    let rows: Vec<Vec<Markup>> = vec![
        row(
            "comfortable fill",
            (full.comfortable_bytes, "comfortable_bytes"),
            (&full.comfortable_months, "comfortable_months"),
        ),
        row(
            "the end",
            (full.usable_bytes, "usable_bytes"),
            (&full.full_months, "full_months"),
        ),
    ];
    let body = html! {
        (said(&found.lines))
        div.pair { div.one { figure { (growth(&found.answer).inside("growth")) } } }
        (table("When space runs out, months from now", &heads, &rows))
        p.quiet { "from, to: 1 in 20 is sooner, 1 in 20 later." }
    };
    Some(Section::new(
        "growth",
        "When it is full",
        vec![Command::growth(report)],
        body,
    ))
}
