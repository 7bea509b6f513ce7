use super::commands::Command;
use super::table::{Head, table};
use super::{Report, Section, said};
use crate::number::Number;
use crate::text::named;
use maud::{Markup, html};
use narrows_core::quantity::{Time, three_digits, units};
use narrows_keeping::backup::{Backup, CopyAnswer};

/// Events that cost less than this share of all are left to the command.
const WORTH_A_ROW: f64 = 0.01;

/// Hours at three digits.
fn hours(time: Time, at: String) -> Number {
    Number::new(three_digits(time.get::<units::time::hour>()), at)
}

/// Copies elsewhere, how old, how long until work goes on, and what is lost.
pub(super) fn section(report: &Report<'_>) -> Option<Section> {
    let found = report.copies.as_ref()?;
    let answer = &found.answer;
    let heads = [
        Head::Words("copy"),
        Head::Words("kind"),
        Head::Numbers("a run, h"),
        Head::Numbers("age, h"),
        Head::Numbers("1 in 20, h"),
        Head::Numbers("a project back, h"),
        Head::Numbers("all back, h"),
        Head::Numbers("fails, of 100"),
    ];
    let rows: Vec<Vec<Markup>> = answer
        .copies
        .iter()
        .enumerate()
        .map(|(i, copy)| row(copy, i))
        .collect();
    let body = html! {
        (said(&found.lines))
        (table("How old each copy is, and hours until work goes on", &heads, &rows))
        p.quiet { "age: of the newest whole copy, in the mean and in 1 of 20 moments; back: hours until work goes on. \
            fails: it does not give back what is in it." }
        (events(answer))
        (drill(answer))
    };
    Some(Section::new(
        "copies",
        "The copies",
        vec![Command::backup(report)],
        body,
    ))
}

fn row(copy: &CopyAnswer, i: usize) -> Vec<Markup> {
    let key = format!("backup/copies/{i}");
    let nothing = || html! { "\u{2013}" };
    vec![
        html! { (named(&copy.copy)) },
        html! { (copy.kind) },
        match (&copy.run_bytes, &copy.run_s) {
            (None, _) => nothing(),
            (Some(_), None) => html! { "never ends" },
            (Some(_), Some(run)) => html! { (hours(run.p50, format!("{key}/run_s/p50"))) },
        },
        html! { (hours(copy.mean_age_s, format!("{key}/mean_age_s"))) },
        html! { (hours(copy.old_age_s, format!("{key}/old_age_s"))) },
        html! { (hours(copy.restore.project.takes_s.p50, format!("{key}/restore/project/takes_s/p50"))) },
        match &copy.restore.everything {
            None => nothing(),
            Some(back) => {
                html! { strong { (hours(back.takes_s.p50, format!("{key}/restore/everything/takes_s/p50"))) } }
            }
        },
        html! { (Number::percent(copy.own_failure_probability, format!("{key}/own_failure_probability"))) },
    ]
}

fn events(answer: &Backup) -> Markup {
    let losses = &answer.losses;
    let heads = [
        Head::Words("event"),
        Head::Numbers("hours a year"),
        Head::Numbers("without copies"),
    ];
    let rows: Vec<Vec<Markup>> = losses
        .events
        .iter()
        .enumerate()
        .filter(|(_, event)| event.hours_a_year > WORTH_A_ROW * losses.hours_a_year.likely)
        .map(|(i, event)| {
            let key = format!("backup/events/{i}");
            let number =
                |hours: f64, at: &str| Number::new(three_digits(hours), format!("{key}/{at}"));
            vec![
                html! { (event.words) },
                html! { strong { (number(event.hours_a_year, "hours_a_year")) } },
                html! { (number(event.bare_hours_a_year, "bare_hours_a_year")) },
            ]
        })
        .collect();
    html! {
        @if !rows.is_empty() {
            h3 { "Work lost in a year, in the mean" }
            (table("Hours of work lost in a year, by what happens", &heads, &rows))
            p.quiet { "A ranking, no promise." }
        }
    }
}

/// Getting a project back, to be ticked off.
fn drill(answer: &Backup) -> Markup {
    let away = answer
        .copies
        .iter()
        .enumerate()
        .filter(|(_, copy)| copy.restore.everything.is_some())
        .max_by(|(_, a), (_, b)| {
            a.own_failure_probability
                .total_cmp(&b.own_failure_probability)
        });
    let Some((i, copy)) = away else {
        return html! {};
    };
    let project = &copy.restore.project;
    let key = format!("backup/copies/{i}/restore/project");
    let heads = [Head::Tick("done"), Head::Words("step"), Head::Numbers("h")];
    let step = |words: &str, time: Option<Number>| {
        vec![
            html! {},
            html! { (words) },
            html! { @if let Some(time) = time { (time) } },
        ]
    };
    let rows = vec![
        step(
            "pick a project that nobody works on, and write down how many files it has",
            None,
        ),
        step(
            "find the copy, its key and its manual",
            Some(hours(project.before_s.p50, format!("{key}/before_s/p50"))),
        ),
        step(
            "copy the project beside the old one",
            Some(hours(project.moving_s.p50, format!("{key}/moving_s/p50"))),
        ),
        step("count the files, open ten, play one through", None),
        step(
            "write down the date and the time that it took; in all",
            Some(hours(project.takes_s.p50, format!("{key}/takes_s/p50"))),
        ),
    ];
    html! {
        h3 { "Try it, with " (named(&copy.copy)) }
        (table("A project back from a copy", &heads, &rows))
    }
}
