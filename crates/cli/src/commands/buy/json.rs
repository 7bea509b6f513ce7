//! Purchases as a program reads them. Keys are a contract: see docs/json.md.

use crate::commands::buy::text::{Shown, one, why_nothing};
use crate::render::document::Known;
use narrows_core::budget::RateRange;
use narrows_core::plan::purchases::{Cord, Help, Purchase, Waiting};
use narrows_core::quantity::{Money, Time, in_megabytes_per_second, units};
use narrows_core::site::Assumption;
use serde::Serialize;

#[derive(Serialize)]
struct Document<'a> {
    version: &'static str,
    command: &'static str,
    site: &'a str,
    assumptions: &'a [Assumption],
    cautions: Vec<&'static str>,
    answer: Body<'a>,
}

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
struct Price {
    hundredths: i64,
    currency: String,
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

fn six_digits(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

fn seconds(time: Time) -> Option<f64> {
    let seconds = time.get::<units::time::second>();
    seconds.is_finite().then(|| six_digits(seconds))
}

fn range(waits: &Waiting) -> Range {
    Range {
        mean: seconds(waits.mean),
        p05: seconds(waits.p05),
        p50: seconds(waits.p50),
        p95: seconds(waits.p95),
    }
}

fn price(money: &Money) -> Price {
    Price {
        hundredths: money.hundredths,
        currency: money.currency.clone(),
    }
}

fn row<'a>(shown: &'a Shown<'_>, purchase: &'a Purchase) -> Row<'a> {
    Row {
        offers: purchase.offers.iter().map(|o| shown.offer(*o)).collect(),
        price: price(&purchase.price),
        desks_met: purchase.desks_met,
        waits_s: range(&purchase.waits),
        saves_s: range(&purchase.saves),
        helps_probability: six_digits(one(purchase.helps)),
        beats_probability: six_digits(one(purchase.beats)),
        desks: purchase
            .desks
            .iter()
            .map(|desk| Gets {
                desk: &desk.desk,
                read_megabytes_per_s: desk.read,
                write_megabytes_per_s: desk.write,
                waits_s: range(&desk.waits),
                met_probability: six_digits(one(desk.met)),
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

pub(crate) fn render(shown: &Shown<'_>) -> serde_json::Result<String> {
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
            price: price(&offer.price),
            helps,
            with,
            why,
            cords: offer.cords.iter().map(moved).collect(),
        }
    });
    let document = Document {
        version: env!("CARGO_PKG_VERSION"),
        command: "buy",
        site: &answer.site,
        assumptions: &answer.assumptions,
        cautions: shown.cautions(),
        answer: Body {
            met: answer.met(),
            needs: answer.needs,
            spend: shown.question.spend.as_ref().map(price),
            need_megabytes_per_s: shown
                .question
                .need
                .map(|need| six_digits(in_megabytes_per_second(need))),
            assumed_bytes_a_day: answer
                .assumed
                .map(|size| six_digits(size.get::<units::information::byte>())),
            looked_at: answer.looked_at,
            stopped: answer.stopped.map(Known::of),
            fell_out: answer.fell_out,
            today: row(shown, &answer.today),
            purchases: answer.purchases.iter().map(|p| row(shown, p)).collect(),
            first: answer.first,
            best: answer.best,
            offers: offers.collect(),
        },
    };
    let mut text = serde_json::to_string_pretty(&document)?;
    text.push('\n');
    Ok(text)
}
