//! One flow hop by hop: what each place carries, and which of them is the narrow one.

use super::bars::{Bar, Bars, Line, range_shown};
use crate::number::{Number, cases, of_hundred};
use crate::picture::Picture;
use maud::html;
use narrows_core::budget::{Flow, FlowHop, HopKind, RateRange};
use narrows_core::quantity::in_megabytes_per_second;

/// A limit in a smaller share of the cases is not told in a picture.
const TOLD: f64 = 0.1;

/// What the desk gets without a place has to be so much more to be told.
const WORTH: f64 = 1.05;

/// The foot of the scale ends at so much more than what the desk gets at best.
const ROOM: f64 = 1.8;

/// Low, middle and high in MB/s.
pub(crate) fn megabytes(range: RateRange) -> [f64; 3] {
    [range.p05, range.p50, range.p95].map(in_megabytes_per_second)
}

/// Three numbers of a rate under one key.
pub(crate) fn numbers(range: RateRange, key: &str) -> [Number; 3] {
    [
        Number::rate(range.p05, format!("{key}/p05")),
        Number::rate(range.p50, format!("{key}/p50")),
        Number::rate(range.p95, format!("{key}/p95")),
    ]
}

/// A hop as people say it.
fn place(hop: &FlowHop) -> String {
    match hop.kind {
        HopKind::Link => format!("cable {}", hop.label),
        HopKind::Array => format!("drives of {}", hop.label),
        _ => hop.label.clone(),
    }
}

/// Who and which way, as a sentence begins.
pub(crate) fn who(flow: &Flow) -> String {
    if flow.desk.is_empty() {
        format!("{} on its own NAS", flow.array)
    } else {
        flow.desk.clone()
    }
}

/// Draws the flow at a position of the answer.
pub fn ledger(flow: &Flow, position: usize) -> Picture {
    let key = format!("budget/flows/{position}");
    let rows = flow
        .hops
        .iter()
        .enumerate()
        .map(|(i, hop)| row(flow, position, hop, &format!("{key}/hops/{i}")))
        .collect();
    let [_, middle, high] = megabytes(flow.megabytes_per_s);
    let title = format!(
        "{} {}s {}, place by place",
        who(flow),
        flow.direction.word(),
        flow.array
    );
    Bars {
        words: words(flow),
        title,
        unit: "MB/s",
        most: high * ROOM,
        rows,
        guide: Some((
            middle,
            format!("{} {}s about this", who(flow), flow.direction.word()),
        )),
    }
    .picture()
}

fn words(flow: &Flow) -> String {
    let [low, middle, high] = numbers(flow.megabytes_per_s, "");
    let narrow = flow.limits.first().map_or(String::new(), |limit| {
        let places: Vec<String> = limit
            .hops
            .iter()
            .filter_map(|id| flow.hop(id))
            .map(place)
            .collect();
        format!(
            " The narrowest place is {}, {}.",
            places.join(" with "),
            of_hundred(limit.share)
        )
    });
    format!(
        "A bar a place from the desk to the drives. The desk {}s {} MB/s, {} to {}.{narrow} Solid: carried in 95 of \
         100 cases; striped: in some; the line: the middle; a gap at the right: the bar goes on.",
        flow.direction.word(),
        middle.text(),
        low.text(),
        high.text()
    )
}

/// The other places that hold a flow back as much as this one, so that it alone changes nothing.
fn alike(flow: &Flow, hop: &FlowHop, hops: &[String]) -> Option<String> {
    let others: Vec<String> = hops
        .iter()
        .filter(|id| **id != hop.id)
        .filter_map(|id| flow.hop(id))
        .map(place)
        .collect();
    match &others[..] {
        [] => None,
        [one] => Some(one.clone()),
        [one, other] => Some(format!("{one} and {other}")),
        [first, .., last] => Some(format!("{first}, {} more and {last}", others.len() - 2)),
    }
}

fn row(flow: &Flow, position: usize, hop: &FlowHop, key: &str) -> Bar {
    let ceiling = hop.ceiling_megabytes_per_s;
    let [low, middle, high] = numbers(ceiling, &format!("{key}/ceiling_megabytes_per_s"));
    let (shown, shown_columns) = range_shown(&middle, &low, &high);
    let limit = flow
        .limits
        .iter()
        .enumerate()
        .find(|(i, limit)| limit.hops.contains(&hop.id) && (*i == 0 || limit.share >= TOLD));
    let first = matches!(limit, Some((0, _)));
    let told = limit.map(|(i, limit)| {
        let at = format!("budget/flows/{position}/limits/{i}/share");
        html! {
            @if limit.hops.len() > 1 { "with others " }
            "narrowest " (cases(limit.share, at)) @if !first { " too" }
        }
    });
    let mut more = vec![Line {
        words: hop.note.clone(),
        number: None,
        unit: "",
    }];
    let got = in_megabytes_per_second(flow.megabytes_per_s.p50);
    if let Some(better) = &hop.next_better {
        more.push(Line {
            words: format!("with {}:", better.part),
            number: Some(Number::rate(
                better.megabytes_per_s.p50,
                format!("{key}/next_better/megabytes_per_s/p50"),
            )),
            unit: "MB/s",
        });
    } else if let Some(rate) = hop.if_lifted_megabytes_per_s
        && in_megabytes_per_second(rate) > WORTH * got
    {
        more.push(Line {
            words: "were it faster than all others:".to_owned(),
            number: Some(Number::rate(
                rate,
                format!("{key}/if_lifted_megabytes_per_s"),
            )),
            unit: "MB/s",
        });
    } else if let Some((_, limit)) = limit
        && let Some(others) = alike(flow, hop, &limit.hops)
    {
        more.push(Line {
            words: format!("no faster alone: {others} would have to be better too"),
            number: None,
            unit: "",
        });
    }
    Bar {
        name: place(hop),
        shown,
        shown_columns,
        range: megabytes(ceiling),
        narrow: first,
        told,
        more,
        needs: None,
    }
}
