//! The answer as a program reads it. Keys are a contract: see docs/json.md.

use crate::commands::together::room_json::Room;
use crate::commands::together::text::Shown;
use crate::render::document::Document;
use narrows_core::together::{SharedHop, TaskShare, Together, Total};
use serde::Serialize;

#[derive(Serialize)]
struct Shares<'a> {
    from_tasks: bool,
    tasks: &'a [TaskShare],
    shared_hops: &'a [SharedHop],
    totals: &'a [Total],
}

#[derive(Serialize)]
#[serde(untagged)]
enum Body<'a> {
    One {
        #[serde(flatten)]
        shares: Shares<'a>,
        room: Room<'a>,
    },
    Two {
        before: Shares<'a>,
        after: Shares<'a>,
        room: Room<'a>,
    },
}

fn shares(answer: &Together) -> Shares<'_> {
    Shares {
        from_tasks: answer.from_tasks,
        tasks: &answer.tasks,
        shared_hops: &answer.hops,
        totals: &answer.totals,
    }
}

pub(crate) fn render(shown: &Shown<'_>) -> std::io::Result<String> {
    let latest = shown.latest();
    Document::of("together")
        .site(latest.site.as_str())
        .warnings(&latest.warnings)
        .assumptions(&latest.assumptions)
        .cautions(&latest.cautions)
        .answer(match shown.after {
            None => Body::One {
                shares: shares(shown.before),
                room: Room::of(shown.room),
            },
            Some(after) => Body::Two {
                before: shares(shown.before),
                after: shares(after),
                room: Room::of(shown.room),
            },
        })
        .text()
}
