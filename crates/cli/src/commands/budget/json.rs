use crate::commands::budget::text::Shown;
use narrows_core::budget::{Answer, Change, Flow, Warning};
use narrows_core::site::Assumption;
use serde::Serialize;

/// The answer as a program reads it. Keys are a contract: see docs/json.md.
#[derive(Serialize)]
struct Document<'a> {
    version: &'a str,
    command: &'a str,
    site: &'a str,
    warnings: &'a [Warning],
    assumptions: &'a [Assumption],
    cautions: &'a [String],
    answer: Body<'a>,
}

#[derive(Serialize)]
struct Flows<'a> {
    flows: &'a [Flow],
}

#[derive(Serialize)]
#[serde(untagged)]
enum Body<'a> {
    One(Flows<'a>),
    Two {
        before: Flows<'a>,
        after: Flows<'a>,
        changes: &'a [Change],
    },
}

fn flows(answer: &Answer) -> Flows<'_> {
    Flows {
        flows: &answer.flows,
    }
}

pub(crate) fn render(shown: &Shown<'_>) -> serde_json::Result<String> {
    let latest = shown.after.unwrap_or(shown.before);
    let document = Document {
        version: env!("CARGO_PKG_VERSION"),
        command: "budget",
        site: &latest.site,
        warnings: &latest.warnings,
        assumptions: &latest.assumptions,
        cautions: &latest.cautions,
        answer: match shown.after {
            None => Body::One(flows(shown.before)),
            Some(after) => Body::Two {
                before: flows(shown.before),
                after: flows(after),
                changes: shown.changes,
            },
        },
    };
    let mut text = serde_json::to_string_pretty(&document)?;
    text.push('\n');
    Ok(text)
}
