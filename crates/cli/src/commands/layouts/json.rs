//! The answer as a program reads it. Keys are a contract: see docs/json.md.

use crate::commands::layouts::text::Shown;
use crate::render::document::{Document, Known, Price, megabytes, share};
use narrows_core::budget::RateRange;
use narrows_core::plan::{Got, Met, RequestRange, Row, Views};
use narrows_core::quantity::units::operation_rate::operation_per_second;
use narrows_core::quantity::{Measure, OperationRate, Time, six_digits};
use serde::Serialize;

#[derive(Serialize)]
struct Body {
    bays: usize,
    streams: usize,
    survive: usize,
    met: bool,
    order: &'static str,
    looked_at: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    stopped: Option<Known>,
    left_out: usize,
    layouts: Vec<One>,
    nearest: Vec<One>,
    near_misses: Vec<One>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    others: Vec<Body>,
}

#[derive(Serialize)]
struct One {
    layout: String,
    class: String,
    drives: usize,
    spares: usize,
    survives_any: usize,
    usable_bytes: u64,
    comfortable_bytes: u64,
    read_empty_megabytes_per_s: RateRange,
    read_megabytes_per_s: RateRange,
    write_empty_megabytes_per_s: RateRange,
    write_megabytes_per_s: RateRange,
    read_streams_megabytes_per_s: RateRange,
    write_streams_megabytes_per_s: RateRange,
    read_degraded_megabytes_per_s: Option<RateRange>,
    read_degraded_two_megabytes_per_s: Option<RateRange>,
    read_rebuilding_megabytes_per_s: Option<RateRange>,
    read_scrubbing_megabytes_per_s: Option<RateRange>,
    random_reads_per_s: Requests,
    random_writes_per_s: Requests,
    random_reads_degraded_per_s: Option<Requests>,
    rebuild_s: Option<Seen>,
    array_lost_a_year: Seen,
    lost_to_drives_a_year: f64,
    lost_to_drives_a_year_at_worst: f64,
    lost_to_common_causes_a_year: f64,
    file_damaged_a_year: f64,
    price: Option<Price>,
    price_per_terabyte: Option<Price>,
    needs: Vec<NeedMet>,
    beaten: bool,
    same_figures: Vec<String>,
    buys: String,
}

#[derive(Serialize)]
struct Seen {
    optimistic: f64,
    typical: f64,
    pessimistic: f64,
}

#[derive(Serialize)]
struct Requests {
    p05: f64,
    p50: f64,
    p95: f64,
}

#[derive(Serialize)]
struct NeedMet {
    need: String,
    met: bool,
    probability: f64,
    short_share: f64,
    has_bytes: Option<u64>,
    has_megabytes_per_s: Option<f64>,
    has_requests_per_s: Option<f64>,
}

fn seen<Q: Measure>(views: &Views<Q>) -> Seen {
    Seen {
        optimistic: six_digits(views.optimistic.base()),
        typical: six_digits(views.typical.base()),
        pessimistic: six_digits(views.pessimistic.base()),
    }
}

fn a_second(rate: OperationRate) -> f64 {
    six_digits(rate.get::<operation_per_second>())
}

fn requests(range: RequestRange) -> Requests {
    Requests {
        p05: a_second(range.p05),
        p50: a_second(range.p50),
        p95: a_second(range.p95),
    }
}

fn need(met: &Met) -> NeedMet {
    let (mut bytes, mut rate, mut requests) = (None, None, None);
    match met.got {
        Got::Space(space) => bytes = Some(space.get()),
        Got::Rate(median) => rate = Some(megabytes(median)),
        Got::Requests(median) => requests = Some(a_second(median)),
    }
    NeedMet {
        need: met.need.to_string(),
        met: met.met,
        probability: share(met.chance),
        short_share: share(met.short),
        has_bytes: bytes,
        has_megabytes_per_s: rate,
        has_requests_per_s: requests,
    }
}

fn of(row: &Row) -> One {
    let rates = row.rates;
    One {
        layout: row.layout.to_string(),
        class: row.class.clone(),
        drives: row.layout.all_drives(),
        spares: row.layout.spares().len(),
        survives_any: row.survives_any,
        usable_bytes: row.usable.get(),
        comfortable_bytes: row.comfortable.get(),
        read_empty_megabytes_per_s: rates.read_empty,
        read_megabytes_per_s: rates.read,
        write_empty_megabytes_per_s: rates.write_empty,
        write_megabytes_per_s: rates.write,
        read_streams_megabytes_per_s: rates.read_together,
        write_streams_megabytes_per_s: rates.write_together,
        read_degraded_megabytes_per_s: rates.read_degraded,
        read_degraded_two_megabytes_per_s: rates.read_degraded_two,
        read_rebuilding_megabytes_per_s: rates.read_rebuilding,
        read_scrubbing_megabytes_per_s: rates.read_scrubbing,
        random_reads_per_s: requests(rates.random_read),
        random_writes_per_s: requests(rates.random_write),
        random_reads_degraded_per_s: rates.random_read_degraded.map(requests),
        rebuild_s: row.rebuild.as_ref().map(seen::<Time>),
        array_lost_a_year: seen(&row.loss.array),
        lost_to_drives_a_year: share(row.loss.by_drives),
        lost_to_drives_a_year_at_worst: share(row.loss.by_drives_at_worst),
        lost_to_common_causes_a_year: share(row.loss.by_common_causes),
        file_damaged_a_year: share(row.loss.file_damaged),
        price: row.price.as_ref().map(Price::of),
        price_per_terabyte: row.price_per_terabyte.as_ref().map(Price::of),
        needs: row.needs.iter().map(need).collect(),
        beaten: row.beaten,
        same_figures: row.same.clone(),
        buys: row.buys.clone(),
    }
}

/// The first number of bays, and the others beside it.
pub(crate) fn render(all: &[Shown<'_>]) -> std::io::Result<String> {
    let Some((shown, others)) = all.split_first() else {
        return Ok(String::new());
    };
    let mut answer = body(shown);
    answer.others = others.iter().map(body).collect();
    Document::of("layouts")
        .assumptions(shown.assumptions)
        .cautions(shown.cautions())
        .answer(answer)
        .text()
}

fn body(shown: &Shown<'_>) -> Body {
    let answer = shown.answer;
    Body {
        bays: shown.question.bays,
        streams: shown.question.streams,
        survive: shown.question.survive,
        met: answer.met(),
        order: answer.order,
        looked_at: answer.looked_at,
        stopped: answer.stopped.map(Known::of),
        left_out: shown.left_out(),
        layouts: answer
            .rows
            .iter()
            .filter(|row| shown.arguments.all || !row.beaten)
            .map(of)
            .collect(),
        nearest: answer.nearest.iter().map(of).collect(),
        near_misses: answer.near_misses.iter().map(of).collect(),
        others: Vec::new(),
    }
}
