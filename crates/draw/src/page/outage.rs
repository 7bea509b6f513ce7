use super::commands::Command;
use super::table::{Head, table};
use super::{Report, Section, said};
use crate::number::Number;
use crate::text::{listed, named, plain};
use maud::{Markup, html};
use narrows_core::quantity::{Information, Power, Time, show, three_digits, units};
use narrows_keeping::Range;
use narrows_keeping::outage::SupplyAnswer;

fn watts(power: Power, at: String) -> Number {
    Number::new(three_digits(power.get::<units::power::watt>()), at)
}

/// Minutes; nothing where it is below what a table of blocks knows.
fn minutes(time: Time, at: String) -> Markup {
    let count = time.get::<units::time::minute>();
    if count <= 0.0 {
        return html! { "under 5" };
    }
    html! { (Number::new(three_digits(count), at)) }
}

fn gigabytes(size: Information, at: String) -> Number {
    Number::new(three_digits(size.get::<units::information::gigabyte>()), at)
}

/// What backup supplies carry, and for how long.
pub(super) fn section(report: &Report<'_>) -> Option<Section> {
    let found = report.outage.as_ref()?;
    let answer = &found.answer;
    let body = html! {
        (said(&found.lines))
        @for (i, supply) in answer.supplies.iter().enumerate() { (one(supply, i)) }
        @if !answer.unprotected.is_empty() {
            @let names: Vec<String> = answer.unprotected.iter().map(|name| plain(name)).collect();
            p { "On no supply: " bdi { (listed(&names)) } ". Whatever passes there stops with the mains." }
        }
    };
    Some(Section::new(
        "outage",
        "When the mains go",
        vec![Command::outage(report)],
        body,
    ))
}

fn one(supply: &SupplyAnswer, i: usize) -> Markup {
    let key = format!("outage/supplies/{i}");
    let heads = [
        Head::Words("on it"),
        Head::Numbers("at rest W"),
        Head::Numbers("at work W"),
        Head::Numbers("drives starting W"),
    ];
    let loads: Vec<Vec<Markup>> = supply
        .loads
        .iter()
        .enumerate()
        .map(|(j, load)| {
            let key = format!("{key}/loads/{j}");
            vec![
                html! { (named(&load.id)) },
                html! { (watts(load.quiet_watts.p50, format!("{key}/quiet_watts/p50"))) },
                html! { (watts(load.busy_watts.p50, format!("{key}/busy_watts/p50"))) },
                html! { (watts(load.start_watts.p50, format!("{key}/start_watts/p50"))) },
            ]
        })
        .collect();
    html! {
        article {
            h3 { (named(&supply.supply)) }
            (table("What hangs on it", &heads, &loads))
            (lasting(supply, &key))
            (gaps(supply, &key))
            (stop(supply, &key))
        }
    }
}

fn lasting(supply: &SupplyAnswer, key: &str) -> Markup {
    let heads = [
        Head::Words("battery"),
        Head::Numbers("lasts min"),
        Head::Numbers("from"),
        Head::Numbers("to"),
    ];
    let row = |name: &str, range: &Range<Time>, field: &str| {
        vec![
            html! { (name) },
            html! { strong { (minutes(range.p50, format!("{key}/{field}/p50"))) } },
            html! { (minutes(range.p05, format!("{key}/{field}/p05"))) },
            html! { (minutes(range.p95, format!("{key}/{field}/p95"))) },
        ]
    };
    let mut rows = vec![
        row("new", &supply.lasts_new_s, "lasts_new_s"),
        row("today", &supply.lasts_s, "lasts_s"),
        row("worn out", &supply.lasts_worn_s, "lasts_worn_s"),
    ];
    if let Some(range) = &supply.lasts_network_only_s {
        rows.push(row("today, desks unplugged", range, "lasts_network_only_s"));
    }
    html! {
        (table("How long it lasts, if its battery lives", &heads, &rows))
        p.quiet { "Its battery is dead, and nobody knows, in "
            (Number::percent(supply.dead_probability, format!("{key}/dead_probability"))) " of 100 cases; all that hangs on it holds through the change-over in "
            (Number::percent(supply.change_over_probability, format!("{key}/change_over_probability"))) " of 100." }
    }
}

fn gaps(supply: &SupplyAnswer, key: &str) -> Markup {
    let heads = [
        Head::Words("gap of the mains"),
        Head::Numbers("nobody notices, of 100"),
    ];
    let rows: Vec<Vec<Markup>> = supply
        .gaps
        .iter()
        .enumerate()
        .map(|(j, gap)| {
            let key = format!("{key}/gaps/{j}");
            vec![
                html! {
                    @if gap.from_s < gap.to_s { (Number::new(show(gap.from_s), format!("{key}/from_s"))) " to " }
                    (Number::new(show(gap.to_s), format!("{key}/to_s")))
                },
                html! { (Number::percent(gap.ridden_probability, format!("{key}/ridden_probability"))) },
            ]
        })
        .collect();
    table("Gaps that it rides through", &heads, &rows)
}

fn stop(supply: &SupplyAnswer, key: &str) -> Markup {
    let Some(stop) = &supply.stop else {
        return html! {};
    };
    let key = format!("{key}/stop");
    html! {
        p {
            "Stopping " (named(&stop.nas)) " in order takes " (minutes(stop.takes_s.p50, format!("{key}/takes_s/p50")))
            " min (" (minutes(stop.takes_s.p05, format!("{key}/takes_s/p05"))) " to " (minutes(stop.takes_s.p95, format!("{key}/takes_s/p95"))) "). "
            @if stop.begin_after_s.p05 > Time::default() {
                "Begin " (minutes(stop.begin_after_s.p05, format!("{key}/begin_after_s/p05"))) " min after the mains go at the latest. "
            } @else {
                "Begin at once when the mains go. "
            }
            @if !stop.waits_for_drives {
                "If power just goes, up to " (gigabytes(stop.lost_bytes.p50, format!("{key}/lost_bytes/p50"))) " GB in its memory are gone."
            }
        }
    }
}
