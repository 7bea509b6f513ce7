//! What the next better part of each place would give.

use crate::commands::budget::lead::whose;
use crate::render::lead::listed;
use crate::render::prose::{item, rate};
use narrows_core::budget::{Answer, Better, Flow};
use narrows_core::quantity::DataRate;
use std::fmt::Write;

/// Each part once, with every desk and way that gains by it.
pub(crate) fn text(answer: &Answer, width: usize) -> String {
    let mut parts: Vec<(&Better, Vec<String>)> = Vec::new();
    for flow in &answer.flows {
        for hop in &flow.hops {
            let Some(better) = &hop.next_better else {
                continue;
            };
            let gain = gain(flow, better.megabytes_per_s.p50);
            match parts.iter_mut().find(|(known, _)| known.set == better.set) {
                Some((_, gains)) if !gains.contains(&gain) => gains.push(gain),
                Some(_) => {}
                None => parts.push((better, vec![gain])),
            }
        }
    }
    if parts.is_empty() {
        return "\nNo better part of any one place gives a twentieth more.\n".to_owned();
    }
    let mut out = "\nThe next better part of each place, one at a time, in MB/s:\n".to_owned();
    for (better, gains) in parts {
        let gains: Vec<&str> = gains.iter().map(String::as_str).collect();
        let text = format!(
            "With {}: {}. Try it: --set '{}'",
            better.part,
            listed(&gains),
            better.set.join("' --set '")
        );
        let _ = writeln!(out, "{}", item(&text, width));
    }
    out
}

fn gain(flow: &Flow, then: DataRate) -> String {
    format!(
        "{} {}s {} in place of {}",
        whose(flow),
        flow.direction.word(),
        rate(then),
        rate(flow.megabytes_per_s.p50)
    )
}
