//! Everybody at once: what each task gets, and how full the places are that tasks share.

use super::bars::{Bar, Bars, Line, range_shown};
use super::ledger::{megabytes, numbers};
use crate::number::{Number, cases, percent};
use crate::picture::Picture;
use maud::html;
use narrows_core::budget::HopKind;
use narrows_core::quantity::in_megabytes_per_second;
use narrows_core::quantity::units::ratio::one;
use narrows_core::together::{SharedHop, TaskShare, Together};

/// A place that is busy for less of its time is left out of the picture.
const BUSY: f64 = 0.05;

/// A place that is full in a larger share of the cases is marked as narrow.
const OFTEN: f64 = 0.5;

/// What each task gets while all go on.
pub fn shares(answer: &Together) -> Picture {
    share_bars(answer).picture()
}

/// The same in pictures that fit on paper.
pub(crate) fn shares_in_parts(answer: &Together) -> Vec<Picture> {
    share_bars(answer).parts()
}

fn share_bars(answer: &Together) -> Bars {
    let rows: Vec<Bar> = answer
        .tasks
        .iter()
        .enumerate()
        .map(|(i, task)| share(task, &format!("together/tasks/{i}")))
        .collect();
    let most = rows
        .iter()
        .flat_map(|row| row.range.into_iter().chain(row.needs))
        .fold(1.0, f64::max);
    let short: Vec<&str> = answer
        .tasks
        .iter()
        .filter(|task| task.is_short())
        .map(|task| task.desk.as_str())
        .collect();
    let words = format!(
        "A bar a task, in MB/s, while all go on at once. {} Solid: in 95 of 100 cases; striped: in some; the line: the \
         middle; the diamond: what has to be there in time.",
        if short.is_empty() {
            "Nobody gets less than has to be there in time.".to_owned()
        } else {
            format!("Short in the middle case: {}.", short.join(", "))
        }
    );
    Bars {
        title: format!("{}: what each gets with all at once", answer.site),
        words,
        unit: "MB/s",
        most: most * 1.04,
        rows,
        guide: None,
    }
}

/// A task as people say it.
fn task_name(task: &TaskShare) -> String {
    format!("{}, {}", task.desk, task.does)
}

fn share(task: &TaskShare, key: &str) -> Bar {
    let [low, middle, high] = numbers(task.megabytes_per_s, &format!("{key}/megabytes_per_s"));
    let (shown, shown_columns) = range_shown(&middle, &low, &high);
    let alone = Number::rate(
        task.alone_megabytes_per_s.p50,
        format!("{key}/alone_megabytes_per_s/p50"),
    );
    let mut more = vec![Line {
        words: "with nobody else there:".to_owned(),
        number: Some(alone),
        unit: "MB/s",
    }];
    if let Some(demand) = task.demand_megabytes_per_s {
        more.insert(
            0,
            Line {
                words: "has to be there in time:".to_owned(),
                number: Some(Number::rate(
                    demand.p50,
                    format!("{key}/demand_megabytes_per_s/p50"),
                )),
                unit: "MB/s",
            },
        );
    }
    let told = task
        .short_probability
        .filter(|short| *short > 0.0)
        .map(|short| html! { "gets less than it needs " (cases(short, format!("{key}/short_probability"))) });
    Bar {
        name: task_name(task),
        shown,
        shown_columns,
        range: megabytes(task.megabytes_per_s),
        narrow: task.is_short(),
        told,
        more,
        needs: task
            .demand_megabytes_per_s
            .map(|demand| in_megabytes_per_second(demand.p50)),
    }
}

/// A shared place as people say it.
fn shared_place(hop: &SharedHop) -> String {
    match hop.kind {
        HopKind::Link => format!("cable {}", hop.label),
        HopKind::Array => format!("drives of {}", hop.label),
        _ => hop.label.clone(),
    }
}

/// How full the places are that several tasks pass; `None` where there is none.
pub fn places(answer: &Together) -> Option<Picture> {
    let rows: Vec<Bar> = answer
        .hops
        .iter()
        .enumerate()
        .filter(|(_, hop)| hop.tasks > 1 && hop.busy.p50.get::<one>() >= BUSY)
        .map(|(i, hop)| busy(hop, &format!("together/shared_hops/{i}")))
        .collect();
    if rows.is_empty() {
        return None;
    }
    Some(
        Bars {
            title: format!("{}: how full the shared places are", answer.site),
            words: "A bar a place that several pass: the part of its time that is taken while all go on. At 100 % \
                    nothing is left. Solid: in 95 of 100 cases; striped: in some; the line: the middle."
                .to_owned(),
            unit: "%",
            most: 100.0,
            rows,
            guide: None,
        }
        .picture(),
    )
}

fn busy(hop: &SharedHop, key: &str) -> Bar {
    let range = [hop.busy.p05, hop.busy.p50, hop.busy.p95].map(|share| share.get::<one>());
    let [low, middle, high] = range;
    let number =
        |value: f64, which: &str| Number::new(percent(value), format!("{key}/busy/{which}"));
    let (shown, shown_columns) = range_shown(
        &number(middle, "p50"),
        &number(low, "p05"),
        &number(high, "p95"),
    );
    let told = (hop.full_probability > 0.0).then(
        || html! { "full " (cases(hop.full_probability, format!("{key}/full_probability"))) },
    );
    let mut more = vec![Line {
        words: hop.note.clone(),
        number: None,
        unit: "",
    }];
    if let Some(moving) = hop.moving.filter(|moving| *moving > 0.01) {
        more.push(Line {
            words: "heads move between streams:".to_owned(),
            number: Some(Number::percent(moving, format!("{key}/moving"))),
            unit: "% of its time",
        });
    }
    Bar {
        name: shared_place(hop),
        shown,
        shown_columns,
        range: range.map(|share| share * 100.0),
        narrow: hop.full_probability >= OFTEN,
        told,
        more,
        needs: None,
    }
}
