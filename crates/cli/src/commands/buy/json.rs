//! Purchases as a program reads them. Keys are a contract: see docs/json.md.

use crate::commands::buy::text::{Shown, why_nothing};
use crate::render::document::{Document, Known, Price, bytes, megabytes, seconds, share};
use narrows_core::budget::RateRange;
use narrows_core::plan::purchases::{Cord, Help, Purchase, Waiting};
use narrows_core::quantity::Time;
use serde::Serialize;

#[derive(Serialize)]
struct Body<'a> {
    met: bool,
    needs: bool,
    spend: Option<Price>,
    need_megabytes_per_s: Option<f64>,
    assumed_bytes_a_day: Option<f64>,
    looked_at: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    stopped: Option<Known>,
    fell_out: usize,
    today: Row<'a>,
    purchases: Vec<Row<'a>>,
    first: Option<usize>,
    best: Option<usize>,
    offers: Vec<Offered<'a>>,
}

#[derive(Serialize)]
struct Row<'a> {
    offers: Vec<&'a str>,
    price: Price,
    desks_met: usize,
    waits_s: Range,
    saves_s: Range,
    helps_probability: f64,
    beats_probability: f64,
    desks: Vec<Gets<'a>>,
}

#[derive(Serialize)]
struct Gets<'a> {
    desk: &'a str,
    read_megabytes_per_s: RateRange,
    write_megabytes_per_s: RateRange,
    waits_s: Range,
    met_probability: f64,
}

/// Null where it is endless.
#[derive(Serialize)]
struct Range {
    mean: Option<f64>,
    p05: Option<f64>,
    p50: Option<f64>,
    p95: Option<f64>,
}

#[derive(Serialize)]
struct Offered<'a> {
    id: &'a str,
    label: Option<&'a str>,
    price: Price,
    helps: &'static str,
    with: Vec<&'a str>,
    why: Option<String>,
    cords: Vec<Moved<'a>>,
}

#[derive(Serialize)]
struct Moved<'a> {
    desk: &'a str,
    switch: &'a str,
    port: &'a str,
}

fn finite(time: Time) -> Option<f64> {
    Some(seconds(time)).filter(|seconds| seconds.is_finite())
}

fn range(waits: &Waiting) -> Range {
    Range {
        mean: finite(waits.mean),
        p05: finite(waits.p05),
        p50: finite(waits.p50),
        p95: finite(waits.p95),
    }
}

fn row<'a>(shown: &'a Shown<'_>, purchase: &'a Purchase) -> Row<'a> {
    Row {
        offers: purchase.offers.iter().map(|o| shown.offer(*o)).collect(),
        price: Price::of(&purchase.price),
        desks_met: purchase.desks_met,
        waits_s: range(&purchase.waits),
        saves_s: range(&purchase.saves),
        helps_probability: share(purchase.helps),
        beats_probability: share(purchase.beats),
        desks: purchase
            .desks
            .iter()
            .map(|desk| Gets {
                desk: &desk.desk,
                read_megabytes_per_s: desk.read,
                write_megabytes_per_s: desk.write,
                waits_s: range(&desk.waits),
                met_probability: share(desk.met),
            })
            .collect(),
    }
}

fn moved(cord: &Cord) -> Moved<'_> {
    Moved {
        desk: &cord.desk,
        switch: &cord.switch,
        port: &cord.port,
    }
}

pub(crate) fn render(shown: &Shown<'_>) -> std::io::Result<String> {
    let answer = shown.answer;
    let offers = shown.question.offers.iter().zip(&answer.helps);
    let offers = offers.map(|(offer, help)| {
        let (helps, with, why) = match help {
            Help::Alone => ("alone", Vec::new(), None),
            Help::With(others) => {
                let others = others.iter().map(|o| shown.offer(*o)).collect();
                ("with-others", others, None)
            }
            Help::NotLookedAt => ("not-looked-at", Vec::new(), None),
            Help::TooDear => ("too-dear", Vec::new(), None),
            Help::Nothing(why) => ("nothing", Vec::new(), Some(why_nothing(why))),
        };
        Offered {
            id: &offer.id,
            label: offer.label.as_deref(),
            price: Price::of(&offer.price),
            helps,
            with,
            why,
            cords: offer.cords.iter().map(moved).collect(),
        }
    });
    Document::of("buy")
        .site(answer.site.as_str())
        .assumptions(&answer.assumptions)
        .cautions(shown.cautions())
        .answer(Body {
            met: answer.met(),
            needs: answer.needs,
            spend: shown.question.spend.as_ref().map(Price::of),
            need_megabytes_per_s: shown.question.need.map(megabytes),
            assumed_bytes_a_day: answer.assumed.map(bytes),
            looked_at: answer.looked_at,
            stopped: answer.stopped.map(Known::of),
            fell_out: answer.fell_out,
            today: row(shown, &answer.today),
            purchases: answer.purchases.iter().map(|p| row(shown, p)).collect(),
            first: answer.first,
            best: answer.best,
            offers: offers.collect(),
        })
        .text()
}
