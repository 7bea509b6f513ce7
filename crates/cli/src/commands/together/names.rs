//! The answer of many tasks in a sentence, and words for what stops each.

use crate::render::lead::{Lead, capital, listed, the};
use crate::render::places::Places;
use crate::render::prose::{counted, of_100, rate, share};
use narrows_core::quantity::units::ratio::one;
use narrows_core::site::SitePath;
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
pub(crate) fn stopped_by(task: &TaskShare, names: Places<'_>) -> String {
    let worth: Vec<&ShareLimit> = task
        .limits
        .iter()
        .filter(|l| l.share >= WORTH_NAMING)
        .take(MOST_LIMITS)
        .collect();
    worth
        .iter()
        .map(|limit| {
            let mut text = places(limit, &task.desk, names);
            if limit.alone {
                text.push_str(" (alone too)");
            }
            if limit.share < 0.99 {
                text.push(' ');
                text.push_str(&of_100(limit.share));
            }
            text
        })
        .collect::<Vec<_>>()
        .join(", ")
}

/// The places of a limit in a few words.
pub(crate) fn places(limit: &ShareLimit, desk: &str, names: Places<'_>) -> String {
    // one stream keeps to one core, all of them have all
    let cores = |id: &String| SitePath::of(id).is_cores_of_nas() && !limit.alone;
    if limit.hops.iter().any(cores) {
        names.names(&limit.hops, None)
    } else {
        names.names(&limit.hops, Some(desk))
    }
}

/// What one gets, why, and what to do next.
pub(crate) fn lead(answer: &Together, names: Places<'_>) -> Lead {
    let mut parts = Vec::new();
    if answer.from_tasks {
        parts.extend(deadlines(&answer.tasks));
        parts.extend(the_rest(&answer.tasks));
    } else {
        parts.push(each_at_once(&answer.tasks));
    }
    if let Some(text) = missed(&answer.tasks) {
        parts.insert(0, text);
    }
    let text = parts.join("; ");
    Lead {
        what: format!("{}.", capital(&text)),
        why: fullest(&answer.hops, names),
        next: next_step(answer),
    }
}

/// A rate that was asked for and is not there.
fn missed(tasks: &[TaskShare]) -> Option<String> {
    let missed = |t: &&TaskShare| t.need.is_some_and(|need| !need.met);
    let missed: Vec<&TaskShare> = tasks.iter().filter(missed).collect();
    let need = missed.first()?.need?;
    let mut names: Vec<&str> = missed.iter().map(|t| t.desk.as_str()).collect();
    names.dedup();
    Some(format!(
        "not the {} MB/s that are needed, for {}",
        rate(need.rate),
        listed(&names)
    ))
}

/// What can be done today: hold back what takes whatever there is, or say what the desks do.
fn next_step(answer: &Together) -> Option<String> {
    if !answer.from_tasks {
        return Some(
            "say what the desks do, and the answer is in frames: narrows example tasks > \
             tasks.toml, then --tasks tasks.toml."
                .to_owned(),
        );
    }
    if !answer.tasks.iter().any(TaskShare::is_short) {
        return None;
    }
    // who is stopped by the same place as somebody who is short
    let full: Vec<&String> = answer
        .tasks
        .iter()
        .filter(|t| t.is_short())
        .filter_map(|t| t.limits.first())
        .flat_map(|limit| &limit.hops)
        .collect();
    let passes = |t: &&TaskShare| {
        let mut hops = t.limits.iter().flat_map(|limit| &limit.hops);
        t.short_probability.is_none() && hops.any(|hop| full.contains(&hop))
    };
    let greedy: Vec<&TaskShare> = answer.tasks.iter().filter(passes).collect();
    let first = greedy.first()?;
    let who: Vec<String> = greedy.iter().map(|t| who(t)).collect();
    let who: Vec<&str> = who.iter().map(String::as_str).collect();
    Some(format!(
        "let {} wait for the night, or hold them back; try it: --set '{}.held-to=\"20 MB/s\"'.",
        listed(&who),
        first.id
    ))
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
    let mut parts: Vec<String> = Vec::new();
    if !short.is_empty() {
        let who: Vec<String> = short.iter().map(|t| who(t)).collect();
        let who: Vec<&str> = who.iter().map(String::as_str).collect();
        let chances: Vec<String> = short
            .iter()
            .map(|t| of_100(t.short_probability.unwrap_or_default()))
            .collect();
        let chances: Vec<&str> = chances.iter().map(String::as_str).collect();
        let verb = if who.len() == 1 { "drops" } else { "drop" };
        parts.push(format!(
            "{} {verb} frames, in {} of 100 cases",
            each(&who),
            each(&chances)
        ));
    }
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
                "{} is short in {} of 100",
                who(t),
                of_100(t.short_probability.unwrap_or_default())
            )
        })
        .collect();
    if let Some(last) = parts.last_mut().filter(|_| !risky.is_empty()) {
        last.push_str(", though ");
        last.push_str(&risky.join(" and "));
        last.push_str(" cases");
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

/// All names, with an "and" before the last.
fn each(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Desks that are named one by one.
const MOST_GROUPS: usize = 4;

fn each_at_once(tasks: &[TaskShare]) -> String {
    let many = |t: &TaskShare| rate(t.megabytes_per_s.p50);
    let (Some(first), Some(_)) = (tasks.first(), tasks.last()) else {
        return "no desk reaches an array".to_owned();
    };
    if tasks.len() < 2 {
        return format!("{} gets {} MB/s", first.desk, many(first));
    }
    let mut groups: Vec<(String, Vec<&str>, &TaskShare)> = Vec::new();
    for task in tasks {
        let got = many(task);
        match groups.iter_mut().find(|(known, ..)| *known == got) {
            Some((_, names, _)) => names.push(&task.desk),
            None => groups.push((got, vec![&task.desk], task)),
        }
    }
    groups.sort_by(|a, b| {
        let key = |t: &TaskShare| t.megabytes_per_s.p50;
        key(b.2)
            .partial_cmp(&key(a.2))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let all = counted(tasks.len(), "desk", "desks");
    if let [(got, _, task)] = &groups[..] {
        return format!(
            "with all {all} at once each gets {got} MB/s ({} alone)",
            rate(task.alone_megabytes_per_s.p50)
        );
    }
    // units and words are said once
    let said = |at: usize, (got, names, task): &(String, Vec<&str>, &TaskShare)| {
        let alone = rate(task.alone_megabytes_per_s.p50);
        let names_said = listed(names);
        match (at, names.len()) {
            (0, 1) => format!("{names_said} gets {got} MB/s ({alone} alone)"),
            (0, _) => format!("{names_said} get {got} MB/s each ({alone} alone)"),
            _ => format!("{names_said} {got} ({alone})"),
        }
    };
    let named: Vec<_> = if groups.len() > MOST_GROUPS {
        groups.iter().take(1).chain(groups.last()).collect()
    } else {
        groups.iter().collect()
    };
    let parts: Vec<String> = named
        .iter()
        .enumerate()
        .map(|(at, group)| said(at, group))
        .collect();
    let between = if groups.len() > MOST_GROUPS {
        "; the others lie between"
    } else {
        ""
    };
    format!("with all {all} at once {}{between}", parts.join(", "))
}

/// From this share of the time on a place counts as full.
const FULL: f64 = 0.995;

fn fullest(hops: &[SharedHop], names: Places<'_>) -> Option<String> {
    let shared: Vec<&SharedHop> = hops.iter().filter(|h| h.tasks > 1).collect();
    let first = shared.first()?;
    let taken = |h: &SharedHop| h.busy.p50.get::<one>();
    let full: Vec<&&SharedHop> = shared.iter().filter(|h| taken(h) > FULL).collect();
    if full.is_empty() {
        return Some(format!(
            "nothing is full; the fullest place, {}, is {} busy.",
            names.name(&first.id, None),
            share(taken(first))
        ));
    }
    let said: Vec<String> = full
        .iter()
        .take(3)
        .map(|h| {
            let name = the(&names.name(&h.id, None));
            match h.moving.filter(|m| *m > 0.1) {
                Some(moving) => {
                    format!(
                        "{name} (for {} of the time heads only move between streams)",
                        share(moving)
                    )
                }
                None => name,
            }
        })
        .collect();
    let said: Vec<&str> = said.iter().map(String::as_str).collect();
    Some(format!("nothing is left of {}.", each(&said)))
}
