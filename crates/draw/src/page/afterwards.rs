use super::commands::Command;
use super::table::{Head, table};
use super::{Report, Section};
use crate::pictures::{numbers, who};
use crate::text::{named, plain};
use maud::{Markup, html};

/// What each desk should read and write once all is plugged in, with room for what it does.
pub(super) fn section(report: &Report<'_>) -> Section {
    let flows = &report.budget.answer.flows;
    let several = report.site.arrays.len() > 1;
    let mut heads = vec![Head::Words("desk")];
    if several {
        heads.push(Head::Words("drives"));
    }
    heads.extend([
        Head::Words("way"),
        Head::Numbers("should be"),
        Head::Numbers("from"),
        Head::Numbers("to"),
        Head::Numbers("look into it below"),
        Head::Hand("what it was"),
        Head::Hand("when, by whom"),
    ]);
    let rows: Vec<Vec<Markup>> = flows
        .iter()
        .enumerate()
        .map(|(i, flow)| {
            let key = format!("budget/flows/{i}/megabytes_per_s");
            let [low, middle, high] = numbers(flow.megabytes_per_s, &key);
            let mut row = vec![html! { (named(&who(flow))) }];
            if several {
                row.push(html! { (named(&flow.array)) });
            }
            row.extend([
                html! { (flow.direction.word()) "s" },
                html! { strong { (middle) } },
                html! { (low) },
                html! { (high) },
                html! { (low) },
                html! {},
                html! {},
            ]);
            row
        })
        .collect();
    let body = html! {
        p { "Copy one file of 20 GB or more, each desk alone, nobody else at work, and read the steady number of the copy, in MB/s. \
             A smaller file sits in memory and reads too fast." }
        (table("What each desk should read and write, in MB/s", &heads, &rows))
        p { "Below that number: " code { "narrows explain " (plain(report.files.site)) " --measured \"DESK copy read 80 MB/s\"" }
            " says which place is at fault, and what to check next." }
    };
    Section::new(
        "afterwards",
        "Afterwards: what it should be",
        vec![Command::budget(report)],
        body,
    )
}
