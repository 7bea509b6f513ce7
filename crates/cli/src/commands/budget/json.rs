//! The answer as a program reads it. Keys are a contract: see docs/json.md.

use crate::commands::budget::text::Shown;
use crate::render::document::Document;
use narrows_core::budget::{Answer, Change, Flow};
use serde::Serialize;

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

pub(crate) fn render(shown: &Shown<'_>) -> std::io::Result<String> {
    let latest = shown.after.unwrap_or(shown.before);
    Document::of("budget")
        .site(latest.site.as_str())
        .warnings(&latest.warnings)
        .assumptions(&latest.assumptions)
        .cautions(&latest.cautions)
        .answer(match shown.after {
            None => Body::One(flows(shown.before)),
            Some(after) => Body::Two {
                before: flows(shown.before),
                after: flows(after),
                changes: shown.changes,
            },
        })
        .text()
}
