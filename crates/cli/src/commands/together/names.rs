//! The answer of many tasks in a sentence, and words for what stops each.

use crate::render::prose::{counted, rate, share};
use narrows_core::quantity::units::ratio::one;
use narrows_core::together::{ShareLimit, SharedHop, TaskShare, Together};

/// A limit in a smaller share of the cases is not named.
const WORTH_NAMING: f64 = 0.1;

/// More limits than a line can hold.
const MOST_LIMITS: usize = 3;

/// Tasks that are named one by one.
const MOST_NAMED: usize = 2;

/// A deadline that is missed more often than this is named, even where it holds in the median.
const RISKY: f64 = 0.05;

/// What stops a task, with the shares of cases.
pub(crate) fn stopped_by(task: &TaskShare) -> String {
    let worth: Vec<&ShareLimit> = task
        .limits
        .iter()
        .filter(|l| l.share >= WORTH_NAMING)
        .take(MOST_LIMITS)
        .collect();
    worth
        .iter()
        .map(|limit| {
            let mut text = places(limit);
            if limit.alone {
                text.push_str(" (alone too)");
            }
            if limit.share < 0.99 {
                text.push(' ');
                text.push_str(&share(limit.share));
            }
            text
        })
        .collect::<Vec<_>>()
        .join(", ")
}

/// The places of a limit in a few words.
pub(crate) fn places(limit: &ShareLimit) -> String {
    let names: Vec<String> = limit.hops.iter().map(|id| place(id, limit.alone)).collect();
    names.join(" with ")
}

/// A site path in a few words.
fn place(id: &str, alone: bool) -> String {
    let parts: Vec<&str> = id.split('.').collect();
    match parts[..] {
        ["array", name] => format!("array {name}"),
        ["desk", _, "disk"] => "own disk".to_owned(),
        ["desk", name, "cpu"] => format!("{name}'s processor"),
        ["nas", name, "cpu"] if alone => format!("{name}'s processor"),
        ["nas", name, "cpu"] => format!("all cores of {name}"),
        ["nas", name, "array-work"] => format!("{name}'s work on the array"),
        ["nas", _, "requests"] => "requests under way".to_owned(),
        ["nas", _, "window"] => "window of one stream".to_owned(),
        _ => id.to_owned(),
    }
}

/// The answer in a sentence.
pub(crate) fn headline(answer: &Together) -> String {
    let mut parts = Vec::new();
    if answer.from_tasks {
        parts.extend(deadlines(&answer.tasks));
        parts.extend(the_rest(&answer.tasks));
    } else {
        parts.push(slowest_and_fastest(&answer.tasks));
    }
    parts.extend(fullest(&answer.hops));
    let text = parts.join("; ");
    let mut letters = text.chars();
    let first: String = letters
        .next()
        .map(|c| c.to_uppercase().collect())
        .unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

fn who(task: &TaskShare) -> String {
    format!("{} {}", task.desk, task.does)
}

fn deadlines(tasks: &[TaskShare]) -> Vec<String> {
    let timed: Vec<&TaskShare> = tasks
        .iter()
        .filter(|t| t.short_probability.is_some())
        .collect();
    let short: Vec<&&TaskShare> = timed.iter().filter(|t| t.is_short()).collect();
    let mut parts: Vec<String> = short
        .iter()
        .map(|t| {
            let needed = t
                .demand_megabytes_per_s
                .map_or(String::new(), |d| rate(d.p50));
            let lacks = t.short_by_megabytes_per_s.map_or(String::new(), rate);
            format!(
                "{} drops frames in {} of cases (needs {needed} MB/s, lacks {lacks} then)",
                who(t),
                share(t.short_probability.unwrap_or_default())
            )
        })
        .collect();
    let well = timed.len() - short.len();
    match (timed.len(), well, short.len()) {
        (0, ..) | (_, 0, _) => {}
        (1, 1, _) => parts.push(format!(
            "{} gets what it needs",
            timed.first().map_or(String::new(), |t| who(t))
        )),
        (all, _, 0) => parts.push(format!("all {all} that play in time get what they need")),
        (_, 1, _) => parts.push("the other one gets what it needs".to_owned()),
        (_, well, _) => parts.push(format!("the other {well} get what they need")),
    }
    let risky: Vec<String> = timed
        .iter()
        .filter(|t| !t.is_short() && t.short_probability.unwrap_or_default() >= RISKY)
        .map(|t| {
            format!(
                "{} is short in {}",
                who(t),
                share(t.short_probability.unwrap_or_default())
            )
        })
        .collect();
    if let Some(last) = parts.last_mut().filter(|_| !risky.is_empty()) {
        last.push_str(", though ");
        last.push_str(&risky.join(" and "));
        last.push_str(" of cases");
    }
    parts
}

/// What is left for those without a deadline.
fn the_rest(tasks: &[TaskShare]) -> Vec<String> {
    let rest: Vec<&TaskShare> = tasks
        .iter()
        .filter(|t| t.short_probability.is_none())
        .collect();
    if rest.len() <= MOST_NAMED {
        return rest
            .iter()
            .map(|t| format!("{} is left {} MB/s", who(t), rate(t.megabytes_per_s.p50)))
            .collect();
    }
    let middle = |t: &&&TaskShare| t.megabytes_per_s.p50;
    let order = |a: &&&TaskShare, b: &&&TaskShare| {
        middle(a)
            .partial_cmp(&middle(b))
            .unwrap_or(std::cmp::Ordering::Equal)
    };
    let (Some(least), Some(most)) = (rest.iter().min_by(order), rest.iter().max_by(order)) else {
        return Vec::new();
    };
    vec![format!(
        "{} take what is left, from {} MB/s ({}) to {} ({})",
        counted(rest.len(), "task", "tasks"),
        rate(least.megabytes_per_s.p50),
        who(least),
        rate(most.megabytes_per_s.p50),
        who(most)
    )]
}

fn slowest_and_fastest(tasks: &[TaskShare]) -> String {
    let order = |a: &&TaskShare, b: &&TaskShare| {
        let (a, b) = (a.megabytes_per_s.p50, b.megabytes_per_s.p50);
        a.partial_cmp(&b).unwrap_or(std::cmp::Ordering::Equal)
    };
    let (Some(least), Some(most)) = (tasks.iter().min_by(order), tasks.iter().max_by(order)) else {
        return "no desk reaches an array".to_owned();
    };
    let many = |t: &TaskShare| rate(t.megabytes_per_s.p50);
    if tasks.len() < 2 {
        return format!("{} gets {} MB/s", least.desk, many(least));
    }
    format!(
        "with all {} at once, {} gets {} MB/s ({} alone) and {} {} ({} alone)",
        counted(tasks.len(), "desk", "desks"),
        least.desk,
        many(least),
        rate(least.alone_megabytes_per_s.p50),
        most.desk,
        many(most),
        rate(most.alone_megabytes_per_s.p50)
    )
}

fn fullest(hops: &[SharedHop]) -> Option<String> {
    let hop = hops.iter().find(|h| h.tasks > 1)?;
    let taken = hop.busy.p50.get::<one>();
    let name = place(&hop.id, false);
    Some(if taken > 0.995 {
        let also = hops
            .iter()
            .filter(|h| h.tasks > 1 && h.busy.p50.get::<one>() > 0.995)
            .count();
        if also > 1 {
            format!(
                "{} are full, {name} first",
                counted(also, "place", "places")
            )
        } else {
            format!("{name} is full")
        }
    } else {
        format!(
            "the fullest place is {name}, at {} of its second",
            share(taken)
        )
    })
}
