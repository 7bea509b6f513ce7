//! The first lines of a budget.

use crate::commands::budget::names::meaning;
use crate::commands::budget::text::Shown;
use crate::render::danger::danger;
use crate::render::lead::{Lead, listed, the};
use crate::render::parts;
use crate::render::places::Places;
use crate::render::prose::{of_100, rate};
use crate::render::unknowns;
use narrows_core::budget::{Change, Flow};
use narrows_core::quantity::three_digits;
use narrows_core::site::SitePath;
use narrows_core::work::Direction;

/// From this share on, a path most likely gives no link, which comes before any rate.
const MOST_LIKELY: f64 = 0.5;

/// More groups of desks than a line names one by one.
const MOST_GROUPS: usize = 4;

/// A place decides alone from this share of the cases on.
pub(crate) const DECIDES: f64 = 0.9;

/// Further places are named down to this share.
const WORTH_NAMING: f64 = 0.1;

/// Desks that get the same.
struct Group<'a> {
    names: Vec<&'a str>,
    first: &'a Flow,
}

/// Who a flow belongs to: its desk, or the array where no desk is asked about.
pub(crate) fn whose(flow: &Flow) -> &str {
    if flow.desk.is_empty() {
        &flow.array
    } else {
        &flow.desk
    }
}

/// As [`whose`], of a change.
pub(crate) fn whose_change(change: &Change) -> &str {
    if change.desk.is_empty() {
        &change.array
    } else {
        &change.desk
    }
}

fn middle(flow: &Flow) -> String {
    rate(flow.megabytes_per_s.p50)
}

fn range(flow: &Flow) -> String {
    let r = flow.megabytes_per_s;
    format!("({} to {})", rate(r.p05), rate(r.p95))
}

/// The better of several paths of a desk stands for it.
fn one_a_desk(flows: &[Flow], direction: Direction) -> Vec<&Flow> {
    let mut found: Vec<&Flow> = Vec::new();
    for flow in flows.iter().filter(|f| f.direction == direction) {
        match found.iter_mut().find(|f| whose(f) == whose(flow)) {
            Some(known) if known.megabytes_per_s.p50 < flow.megabytes_per_s.p50 => *known = flow,
            Some(_) => {}
            None => found.push(flow),
        }
    }
    found
}

fn grouped<'a>(flows: &[&'a Flow], alike: impl Fn(&Flow) -> String) -> Vec<Group<'a>> {
    let mut groups: Vec<(String, Group<'a>)> = Vec::new();
    for flow in flows {
        let key = alike(flow);
        match groups.iter_mut().find(|(known, _)| *known == key) {
            Some((_, group)) => group.names.push(whose(flow)),
            None => groups.push((
                key,
                Group {
                    names: vec![whose(flow)],
                    first: flow,
                },
            )),
        }
    }
    groups.into_iter().map(|(_, group)| group).collect()
}

/// A path that most likely gives no link, before any rate.
fn dead(flows: &[Flow]) -> Option<String> {
    let dead = flows
        .iter()
        .max_by(|a, b| a.no_link_probability.total_cmp(&b.no_link_probability))
        .filter(|flow| flow.no_link_probability > MOST_LIKELY)?;
    Some(format!(
        "In {} of 100 cases a cable of {} gives no link at all. Where it does: ",
        of_100(dead.no_link_probability),
        dead.desk
    ))
}

/// A need that is not met comes before the rates.
fn needed(flows: &[Flow]) -> Option<String> {
    let need = flows.iter().find_map(|f| f.need)?;
    let wanted = rate(need.rate);
    let missed: Vec<(&Flow, f64)> = flows
        .iter()
        .filter_map(|f| Some((f, f.need.filter(|n| !n.met)?.probability)))
        .collect();
    let Some((best, chance)) = missed.iter().max_by(|a, b| a.1.total_cmp(&b.1)) else {
        return Some(format!(
            "The {wanted} MB/s that are needed are there in at least 95 of 100 cases. "
        ));
    };
    let mut names: Vec<&str> = missed.iter().map(|(f, _)| whose(f)).collect();
    names.dedup();
    let near = if *chance > 0.0 {
        format!(
            "; nearest is {} {}ing in {} of 100 cases",
            whose(best),
            best.direction.word().trim_end_matches('e'),
            of_100(*chance)
        )
    } else {
        String::new()
    };
    Some(format!(
        "Not the {wanted} MB/s that are needed, for {}{near}. ",
        listed(&names)
    ))
}

impl Shown<'_> {
    pub(crate) fn places(&self) -> Places<'_> {
        Places::of(self.site)
    }

    /// What one gets, why, and what to do next.
    pub(crate) fn lead(&self) -> Lead {
        if self.after.is_some() {
            return self.changed();
        }
        let flows = &self.before.flows;
        let mut what = danger(self.site).unwrap_or_default();
        what.push_str(&dead(flows).unwrap_or_default());
        what.push_str(&needed(flows).unwrap_or_default());
        what.push_str(&rates(flows));
        what.push_str(&self.pieces(flows).unwrap_or_default());
        Lead {
            what,
            why: self.why_so(flows),
            next: self.next_step(),
        }
    }

    /// How many small pieces a second that is, where pieces were asked for.
    fn pieces(&self, flows: &[Flow]) -> Option<String> {
        let size = self.arguments.random.as_ref()?;
        let reads = one_a_desk(flows, Direction::Read);
        let first = reads.first()?;
        let [low, middle, high] = first.requests_per_s?.a_second().map(three_digits);
        let who = if reads.len() > 1 {
            format!(" for {}", whose(first))
        } else {
            String::new()
        };
        Some(format!(
            " Reading, that is {middle} pieces of {size} a second ({low} to {high}){who}."
        ))
    }

    /// The narrowest places.
    fn why_so(&self, flows: &[Flow]) -> Option<String> {
        let reads = one_a_desk(flows, Direction::Read);
        if let [flow] = reads[..] {
            let named = self.limits_of(flow);
            return (!named.is_empty()).then(|| format!("{named}."));
        }
        let key = |flow: &Flow| self.place_for(flow, false);
        let groups = grouped(&reads, key);
        let parts: Vec<String> = groups
            .iter()
            .take(MOST_GROUPS)
            .map(|group| {
                let place = the(&self.place_for(group.first, group.names.len() == 1));
                let share = group.first.limits.first().map_or(1.0, |l| l.share);
                let often = if share < DECIDES { "most often " } else { "" };
                format!("for {} {often}{place}", listed(&group.names))
            })
            .collect();
        let rest = groups.len().saturating_sub(MOST_GROUPS);
        let more = if rest > 0 {
            format!("; {rest} other places below")
        } else {
            String::new()
        };
        Some(format!(
            "the narrowest place is {}{more}.",
            parts.join("; ")
        ))
    }

    fn place_for(&self, flow: &Flow, own: bool) -> String {
        let desk = Some(flow.desk.as_str());
        flow.limits.first().map_or(String::new(), |limit| {
            let name = self.places().names(&limit.hops, desk);
            if own {
                name
            } else {
                name.replace("its ", "their ")
            }
        })
    }

    /// The places that hold one flow back, with how often.
    fn limits_of(&self, flow: &Flow) -> String {
        let desk = Some(flow.desk.as_str());
        let worth: Vec<_> = flow
            .limits
            .iter()
            .filter(|l| l.share >= WORTH_NAMING)
            .take(3)
            .collect();
        let Some((first, rest)) = worth.split_first() else {
            return String::new();
        };
        let name = self.places().names(&first.hops, desk);
        if first.share >= DECIDES {
            return format!("the narrowest place is {}", the(&name));
        }
        let others: Vec<String> = rest
            .iter()
            .map(|l| {
                let name = the(&self.places().names(&l.hops, desk));
                format!("{name} in {}", of_100(l.share))
            })
            .collect();
        let others = if others.is_empty() {
            String::new()
        } else {
            format!(", {}", others.join(", "))
        };
        format!(
            "the narrowest place is {} in {} of 100 cases{others}",
            the(&name),
            of_100(first.share)
        )
    }

    /// What to do next: find out what splits the answer; else the part that holds a desk back.
    fn next_step(&self) -> Option<String> {
        let answer = self.latest();
        if let Some((_, unknown)) = answer.worth_asking_for() {
            return Some(unknowns::step(unknown, &answer.assumptions, self.places()));
        }
        if let Some(tried) = self.tried.first() {
            return Some(format!("{}.", tried.said(self.places())));
        }
        let warning = answer.warnings.first()?;
        Some(format!("{}.", warning.next))
    }

    /// What a change does, in the first line; where it does nothing, at once why.
    fn changed(&self) -> Lead {
        let after = self.latest();
        let mut before = danger(self.site).unwrap_or_default();
        before.push_str(&needed(&after.flows).unwrap_or_default());
        let noticed: Vec<&Change> = self.changes.iter().filter(|c| c.noticeable).collect();
        if noticed.is_empty() {
            return self.unchanged(&before);
        }
        let mut groups: Vec<((&str, String), Vec<&str>)> = Vec::new();
        let mut sorted = noticed.clone();
        let far = |c: &Change| c.factor_p50.ln().abs().max(c.factor_p95.ln().abs());
        sorted.sort_by(|a, b| far(b).total_cmp(&far(a)));
        for change in &sorted {
            let said = (change.direction, self.said_of(change));
            match groups.iter_mut().find(|(known, _)| *known == said) {
                Some((_, names)) if !names.contains(&whose_change(change)) => {
                    names.push(whose_change(change));
                }
                Some(_) => {}
                None => groups.push((said, vec![whose_change(change)])),
            }
        }
        let parts: Vec<String> = groups
            .iter()
            .take(2)
            .map(|((verb, said), names)| {
                let s = if names.len() == 1 { "s" } else { "" };
                format!("{} {verb}{s} {said}", listed(names))
            })
            .collect();
        let rest = groups.len().saturating_sub(2);
        let more = match rest {
            0 => String::new(),
            _ => format!("; {rest} more in the table"),
        };
        let best = sorted.first().and_then(|c| {
            after.flows.iter().find(|f| {
                f.desk == c.desk && f.array == c.array && f.direction.word() == c.direction
            })
        });
        Lead {
            what: format!("{before}{} {}{more}.", self.there(), parts.join("; ")),
            why: best.map(|flow| {
                let named = self.limits_of(flow);
                format!("{named}, for {}.", whose(flow))
            }),
            next: self.erasing().or_else(|| self.next_step()),
        }
    }

    /// Where the figures hold: after a change, or at the other place.
    fn there(&self) -> String {
        if self.arguments.compare.is_some() {
            format!("At {}", self.latest().site)
        } else {
            "Then".to_owned()
        }
    }

    fn said_of(&self, change: &Change) -> String {
        let find = |flows: &[Flow]| {
            flows
                .iter()
                .find(|f| {
                    f.desk == change.desk
                        && f.array == change.array
                        && f.port == change.port
                        && f.direction.word() == change.direction
                })
                .map_or(String::new(), middle)
        };
        let often = if change.gains_probability > 0.99 || change.loses_probability > 0.99 {
            String::new()
        } else {
            format!(" ({})", meaning(change))
        };
        format!(
            "{} MB/s in place of {}{often}",
            find(&self.latest().flows),
            find(&self.before.flows)
        )
    }

    /// A change that nobody would notice: what holds back all the same, and what would help with it.
    fn unchanged(&self, needed: &str) -> Lead {
        let Some(flow) = self.concerned() else {
            return Lead {
                what: format!("{needed}No difference that anybody would notice."),
                why: None,
                next: self.erasing(),
            };
        };
        if self.arguments.compare.is_some() {
            return Lead {
                what: format!("{needed}No desk would notice which of the two it is in."),
                why: Some(format!("{}.", self.limits_of(flow))),
                next: None,
            };
        }
        let what = format!(
            "{needed}Still {} MB/s for {}: {} changes nothing that anybody would notice.",
            middle(flow),
            whose(flow),
            if self.arguments.set.len() == 1 {
                "this alone"
            } else {
                "all this"
            }
        );
        let next = self.tried.first().map(|tried| {
            let range = tried.after.megabytes_per_s;
            format!(
                "with {} too it reads {} MB/s ({} to {}), {} times as fast.",
                parts::part(&tried.better, self.places()),
                rate(range.p50),
                rate(range.p05),
                rate(range.p95),
                three_digits(tried.times())
            )
        });
        Lead {
            what,
            why: Some(format!("{}.", self.limits_of(flow))),
            next: self.erasing().or(next),
        }
    }

    /// The flow that a change was meant for: that of a desk which it names, else the first.
    pub(crate) fn concerned(&self) -> Option<&Flow> {
        concerned(&self.arguments.set, &self.latest().flows)
    }

    /// Another layout is another array.
    fn erasing(&self) -> Option<String> {
        let layout = |set: &&String| {
            let path = set.split('=').next().unwrap_or_default();
            matches!(SitePath::of(path), SitePath::Array(_, Some("layout")))
        };
        self.arguments.set.iter().find(layout)?;
        Some(
            "before anything else a complete second copy, with files opened from it: a change of \
             layout usually erases the array."
                .to_owned(),
        )
    }
}

/// The reading of the desk that a change names, else of the first.
pub(crate) fn concerned<'a>(sets: &[String], flows: &'a [Flow]) -> Option<&'a Flow> {
    let named = |flow: &&Flow| {
        let of_it = |set: &String| matches!(SitePath::of(set), SitePath::Desk(desk, Some(_)) if desk == flow.desk);
        flow.direction == Direction::Read && sets.iter().any(of_it)
    };
    let read = |flow: &&Flow| flow.direction == Direction::Read;
    flows.iter().find(named).or_else(|| flows.iter().find(read))
}

/// What each desk gets, alike ones together.
fn rates(flows: &[Flow]) -> String {
    let reads = one_a_desk(flows, Direction::Read);
    let writes = one_a_desk(flows, Direction::Write);
    let written = |flow: &Flow| {
        let write = writes.iter().find(|w| whose(w) == whose(flow));
        write.map_or(String::new(), |w| format!(" and writes {}", both(w)))
    };
    if let [flow] = reads[..] {
        return format!(
            "{} reads about {} MB/s {}{}.",
            whose(flow),
            middle(flow),
            range(flow),
            written(flow)
        );
    }
    let key = |flow: &Flow| middle(flow);
    let mut groups = grouped(&reads, key);
    if let [group] = &groups[..] {
        return format!(
            "All {} desks read about {} MB/s {}{}, each alone.",
            group.names.len(),
            middle(group.first),
            range(group.first),
            written(group.first).replace("writes", "write")
        );
    }
    groups.sort_by(|a, b| {
        let key = |g: &Group<'_>| g.first.megabytes_per_s.p50;
        key(b)
            .partial_cmp(&key(a))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let (Some(first), Some(last)) = (groups.first(), groups.last()) else {
        return "No desk reaches an array over a link that comes up.".to_owned();
    };
    if groups.len() > MOST_GROUPS {
        return format!(
            "Each alone, {} reads {} MB/s {}, {} {}; the other {} lie between.",
            listed(&first.names),
            middle(first.first),
            range(first.first),
            listed(&last.names),
            middle(last.first),
            reads.len() - first.names.len() - last.names.len()
        );
    }
    let rest: Vec<String> = groups
        .iter()
        .skip(1)
        .map(|g| format!("{} {}", listed(&g.names), middle(g.first)))
        .collect();
    format!(
        "Each alone, {} reads about {} MB/s {}, {}.",
        listed(&first.names),
        middle(first.first),
        range(first.first),
        rest.join(", ")
    )
}

fn both(flow: &Flow) -> String {
    format!("{} {}", middle(flow), range(flow))
}
