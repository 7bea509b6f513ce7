//! An explanation as a program reads it. Keys are a contract: see docs/json.md.

use super::heard::Question;
use crate::commands::explain::text::Shown;
use crate::render::document::{Document, megabytes};
use narrows_core::explain::{LeftOut, OneWay, RateUnit};
use narrows_core::quantity::{DataRate, six_digits};
use serde::Serialize;

#[derive(Serialize)]
struct Answer<'a> {
    verdict: &'static str,
    before_all: &'a [String],
    in_words: &'a str,
    why: &'a str,
    next_step: &'a str,
    readings: Vec<Reading<'a>>,
    remarks: Vec<Remark<'a>>,
    choices: Vec<Choice<'a>>,
    unused_columns: &'a [String],
    causes: Vec<Cause<'a>>,
    families: Vec<Family<'a>>,
    none_of_these: f64,
    ruled_out: Vec<RuledOut<'a>>,
    next_tests: Vec<Test<'a>>,
    would_help: &'a [String],
}

#[derive(Serialize)]
struct Reading<'a> {
    text: &'a str,
    what: &'static str,
    direction: Option<&'static str>,
    value_low: Option<f64>,
    value_high: Option<f64>,
    unit: Option<&'static str>,
    unused_text: &'a str,
    megabytes_per_s: Option<f64>,
    mebibytes_per_s: Option<f64>,
    megabits_per_s: Option<f64>,
    expected_megabytes_per_s: Option<Range>,
    expected_each_way: Vec<EachWay>,
    left_out: Option<&'static str>,
}

#[derive(Serialize)]
struct Remark<'a> {
    text: &'a str,
    id: Option<&'a str>,
    meaning: Option<&'a str>,
    unused_text: &'a str,
}

/// What a text may mean.
#[derive(Serialize)]
struct Choice<'a> {
    text: &'a str,
    id: &'a str,
    meaning: &'a str,
    probability: f64,
}

#[derive(Serialize)]
struct Range {
    p05: f64,
    p50: f64,
    p95: f64,
}

#[derive(Serialize)]
struct EachWay {
    direction: &'static str,
    megabytes_per_s: Range,
}

#[derive(Serialize)]
struct Cause<'a> {
    id: &'a str,
    family: &'a str,
    place: &'a str,
    probability: f64,
    words: &'a str,
    speaks_for: &'a [String],
    speaks_against: &'a [String],
    remedy: &'a str,
    once_fixed_megabytes_per_s: Option<Range>,
    once_fixed_each_way: Vec<EachWay>,
    together_with: Option<&'a str>,
    together_at: Option<&'a str>,
}

#[derive(Serialize)]
struct Family<'a> {
    family: &'a str,
    probability: f64,
}

#[derive(Serialize)]
struct RuledOut<'a> {
    id: &'a str,
    family: &'a str,
    why: &'a str,
}

#[derive(Serialize)]
struct Test<'a> {
    id: &'a str,
    place: &'a str,
    words: &'a str,
    minutes: f64,
    gain_bits: f64,
    outcomes: Vec<Outcome<'a>>,
    caution: &'a str,
}

#[derive(Serialize)]
struct Outcome<'a> {
    outcome: &'a str,
    points_to: String,
}

fn range(rates: [DataRate; 3]) -> Range {
    let [p05, p50, p95] = rates.map(megabytes);
    Range { p05, p50, p95 }
}

pub(crate) fn render(shown: &Shown<'_>) -> std::io::Result<String> {
    let found = shown.explanation;
    Document::of("explain")
        .site(shown.site)
        .assumptions(shown.assumptions)
        .cautions(&found.cautions)
        .answer(Answer {
            verdict: found.verdict.word(),
            before_all: &found.before_all,
            in_words: &found.in_words,
            why: &found.why,
            next_step: &found.next_step,
            readings: readings(shown),
            remarks: remarks(shown),
            choices: choices(shown.questions),
            unused_columns: shown.unused,
            causes: causes(shown),
            families: found
                .families
                .iter()
                .map(|family| Family {
                    family: &family.family,
                    probability: six_digits(family.probability),
                })
                .collect(),
            none_of_these: six_digits(found.none_of_these),
            ruled_out: found
                .ruled_out
                .iter()
                .map(|one| RuledOut {
                    id: &one.id,
                    family: &one.family,
                    why: &one.why,
                })
                .collect(),
            next_tests: tests(shown),
            would_help: &found.would_help,
        })
        .text()
}

fn readings<'a>(shown: &'a Shown<'a>) -> Vec<Reading<'a>> {
    let all = shown.explanation.readings.iter();
    all.enumerate()
        .map(|(index, reading)| {
            let value = shown.values.get(index).and_then(Option::as_ref);
            let count =
                |unit: RateUnit| reading.understood.map(|rate| six_digits(unit.count(rate)));
            Reading {
                text: &reading.text,
                what: reading.what.word(),
                direction: reading.direction.map(narrows_core::work::Direction::word),
                value_low: value.and_then(|value| value.low).map(six_digits),
                value_high: value.and_then(|value| value.high).map(six_digits),
                unit: value.map(|value| value.unit),
                unused_text: shown.left_over(&reading.text),
                megabytes_per_s: count(RateUnit::Megabytes),
                mebibytes_per_s: count(RateUnit::Mebibytes),
                megabits_per_s: count(RateUnit::Megabits),
                expected_megabytes_per_s: only(&reading.expected),
                expected_each_way: each_way(&reading.expected),
                left_out: reading.left_out.map(LeftOut::word),
            }
        })
        .collect()
}

/// The range, where there is one direction.
fn only(ways: &[OneWay]) -> Option<Range> {
    match ways {
        [way] => Some(range(way.rates)),
        _ => None,
    }
}

fn each_way(ways: &[OneWay]) -> Vec<EachWay> {
    ways.iter()
        .map(|way| EachWay {
            direction: way.direction.word(),
            megabytes_per_s: range(way.rates),
        })
        .collect()
}

fn remarks<'a>(shown: &'a Shown<'a>) -> Vec<Remark<'a>> {
    let told = shown.told.remarks.iter().map(|remark| Remark {
        text: &remark.text,
        id: Some(&remark.id),
        meaning: Some(shown.meaning(remark)),
        unused_text: shown.left_over(&remark.text),
    });
    let aside = shown.aside.iter().map(|remark| Remark {
        text: &remark.text,
        id: None,
        meaning: None,
        unused_text: shown.left_over(&remark.text),
    });
    told.chain(aside).collect()
}

fn choices(questions: &[Question]) -> Vec<Choice<'_>> {
    let mut all = Vec::new();
    for question in questions {
        all.extend(question.choices.iter().map(|choice| Choice {
            text: &question.text,
            id: &choice.id,
            meaning: &choice.meaning,
            probability: six_digits(choice.probability),
        }));
    }
    all
}

fn causes<'a>(shown: &Shown<'a>) -> Vec<Cause<'a>> {
    let all = shown.explanation.causes.iter();
    all.map(|cause| Cause {
        id: &cause.id,
        family: &cause.family,
        place: &cause.place,
        probability: six_digits(cause.probability),
        words: &cause.words,
        speaks_for: &cause.speaks_for,
        speaks_against: &cause.speaks_against,
        remedy: &cause.remedy,
        once_fixed_megabytes_per_s: only(&cause.once_fixed),
        once_fixed_each_way: each_way(&cause.once_fixed),
        together_with: cause.together_with.as_deref(),
        together_at: cause.together_at.as_deref(),
    })
    .collect()
}

fn tests<'a>(shown: &Shown<'a>) -> Vec<Test<'a>> {
    let all = shown.explanation.next_tests.iter();
    all.map(|test| Test {
        id: &test.id,
        place: &test.place,
        words: &test.words,
        minutes: six_digits(test.minutes),
        gain_bits: six_digits(test.gain_bits),
        outcomes: test
            .outcomes
            .iter()
            .map(|found| Outcome {
                outcome: &found.words,
                points_to: found.families.join(" or "),
            })
            .collect(),
        caution: &test.caution,
    })
    .collect()
}
