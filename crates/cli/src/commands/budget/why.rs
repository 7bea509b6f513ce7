//! The working of one hop.

use crate::commands::budget::text::Shown;
use crate::render::prose::paragraph;
use crate::render::steps::trees;
use narrows_core::budget::{Flow, FlowHop};
use std::fmt::Write;

impl Shown<'_> {
    /// How the number of a hop comes about, for every flow that passes it.
    pub(crate) fn why(&self, id: &str) -> Result<String, String> {
        let answer = self.latest();
        let mut out = String::new();
        let mut known: Vec<&str> = Vec::new();
        let mut shown: Vec<String> = Vec::new();
        for flow in &answer.flows {
            for hop in &flow.hops {
                if !known.contains(&hop.id.as_str()) {
                    known.push(&hop.id);
                }
            }
            let Some(hop) = flow.hop(id) else { continue };
            let text = self.working(flow, hop);
            // the same hop has the same working for every desk
            if !shown.contains(&text) {
                let whose = if flow.desk.is_empty() {
                    String::new()
                } else {
                    format!(" (as {} {}s)", flow.desk, flow.direction.word())
                };
                let _ = writeln!(
                    out,
                    "{}{}, {}: {}{whose}\n{text}",
                    if out.is_empty() { "" } else { "\n" },
                    hop.id,
                    flow.direction.word(),
                    hop.label
                );
                shown.push(text);
            }
        }
        if out.is_empty() {
            return Err(format!("places on the path: {}", known.join(", ")));
        }
        out.push_str(&paragraph(
            "Values are those in the middle; behind them, where something is not known, what 1 in 20 lies below and above.",
            self.width,
            0,
        ));
        out.push('\n');
        Ok(out)
    }

    fn working(&self, flow: &Flow, hop: &FlowHop) -> String {
        let mut roots: Vec<(&str, usize)> = hop.step.map(|step| ("X", step)).into_iter().collect();
        roots.extend(&hop.tiring_steps);
        let mut text = trees(&flow.steps, &roots, self.width);
        if !hop.tiring_steps.is_empty() {
            let line = "In a long write it is X until B are written, X2 until F, then X3.";
            let _ = writeln!(text, "{}", paragraph(line, self.width, 0));
        }
        text
    }
}
