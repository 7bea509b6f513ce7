use super::commands::Command;
use super::{Report, Section, said};
use crate::number::Number;
use crate::pictures::{numbers, places, shares_in_parts};
use crate::text::{named, plain};
use maud::html;

/// What each gets while all go on, and which places are full.
pub(super) fn section(report: &Report<'_>) -> Section {
    let answer = &report.together.answer;
    let full = places(answer);
    let body = html! {
        (said(&report.together.lines))
        @if !answer.from_tasks {
            p.quiet { "Nobody said what the desks do: all read a large file at once. With --tasks this says who drops frames." }
        }
        div.pair {
            div.one {
                h3 { "What each gets" }
                @for (i, part) in shares_in_parts(answer).iter().enumerate() { figure { (part.inside(&format!("shares-{i}"))) } }
            }
            @if let Some(full) = &full {
                div.one { h3 { "How full the shared places are" } figure { (full.inside("places")) } }
            }
        }
        @if !answer.totals.is_empty() {
            p { "All together: "
                @for (i, total) in answer.totals.iter().enumerate() {
                    @let [low, middle, high] = numbers(total.megabytes_per_s, &format!("together/totals/{i}/megabytes_per_s"));
                    @if i > 0 { "; " }
                    strong { (middle) } " MB/s "
                    @if total.direction == narrows_core::work::Direction::Read { "from " } @else { "to " }
                    (named(&total.array)) " (" (low) " to " (high) ")"
                }
                "."
            }
        }
        @let short: Vec<_> = answer.tasks.iter().enumerate().filter(|(_, t)| t.is_short()).collect();
        @if !short.is_empty() {
            ul {
                @for (i, task) in short {
                    @let key = format!("together/tasks/{i}");
                    li {
                        (named(&task.desk)) " " (task.does) " drops frames in "
                        @if let Some(chance) = task.short_probability { (Number::percent(chance, format!("{key}/short_probability"))) }
                        " of 100 cases"
                        @if let Some(by) = task.short_by_megabytes_per_s {
                            ", then lacks " (Number::rate(by, format!("{key}/short_by_megabytes_per_s"))) " MB/s"
                        }
                        @if let Some(material) = &task.material { " (" (plain(material)) ")" }
                        "."
                    }
                }
            }
        }
    };
    Section::new(
        "together",
        "Everybody at once",
        vec![Command::together(report)],
        body,
    )
}
