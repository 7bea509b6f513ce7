//! What texts of people come to: the unit that is taken, layers as a rate, and no first line against its causes.

use super::super::{
    Exactness, Explanation, Listener, Observations, Statement, Verdict, explain, needs_material,
    play,
};
use crate::catalogue::Catalogue;
use crate::explain::{Amount, careful};
use crate::quantity::in_megabytes_per_second;
use crate::site::read;

/// Fewer draws than usual: no probability is looked at.
const DRAWS: usize = 256;

fn one_desk() -> &'static str {
    let all = narrows_data::SITES.iter();
    all.clone()
        .find(|(name, _)| *name == "one-desk")
        .map(|(_, text)| *text)
        .unwrap()
}

fn told(texts: &[&str]) -> Observations {
    let catalogue = Catalogue::embedded().unwrap();
    let site = read(one_desk(), &[], &catalogue).unwrap();
    let listener = Listener::at(&site).unwrap();
    let mut told = Observations {
        sites: vec![(site, 1.0)],
        path_told: true,
        array_told: true,
        draws: DRAWS,
        ..Observations::default()
    };
    for text in texts {
        let found = listener
            .understand(text)
            .unwrap_or_else(|f| panic!("{text}: {f}"));
        for statement in found.statements {
            match statement {
                Statement::Reading(reading) => told.readings.push(reading),
                Statement::Remark(remark) => told.remarks.push(remark),
            }
        }
    }
    told
}

fn explained(texts: &[&str]) -> Explanation {
    explain(&told(texts), &Catalogue::embedded().unwrap()).unwrap()
}

#[test]
fn a_number_is_spoken_of_in_the_unit_that_its_cause_gives_it() {
    let found = explained(&["I pull rushes down at around 420 megs a second"]);
    assert!(
        found.in_words.starts_with("Taken as 420 Mb/s: 52.5 MB/s"),
        "{}",
        found.in_words
    );
    assert_eq!(found.verdict, Verdict::Slow);
    let shown = found.readings[0].understood.map(in_megabytes_per_second);
    assert!((shown.unwrap() - 52.5).abs() < 0.01);
    // what the unit says and the way can carry stays as it is written
    let found = explained(&["copy read 112 MB/s"]);
    assert!(found.in_words.starts_with("112 MB/s"), "{}", found.in_words);
}

#[test]
fn property_no_first_line_contradicts_the_causes_beside_it() {
    for what in ["copy read", "copy write", "raw tcp read"] {
        for unit in ["", " MB/s", " mb/s", " mbps", " gbps", " Mb/s"] {
            for number in ["9.4", "52", "112", "420", "940"] {
                let text = format!("{what} {number}{unit}");
                if text.ends_with("940 gbps") {
                    // refused: no machine moves that
                    continue;
                }
                let found = explained(&[&text]);
                let first = &found.in_words;
                let more = first.contains("more than");
                match found.verdict {
                    Verdict::Slow => assert!(!more, "{text}: {first} {}", found.why),
                    Verdict::TooFast => assert!(more, "{text}: {first} {}", found.why),
                    Verdict::Normal => assert!(
                        !more || first.contains("a little"),
                        "{text}: {first} {}",
                        found.why
                    ),
                    Verdict::Unclear => {}
                }
            }
        }
    }
}

#[test]
fn layers_become_a_rate_with_two_ends() {
    let catalogue = Catalogue::embedded().unwrap();
    let mut known = told(&["plays two layers of ProRes 422 HQ UHD 25 fps, stutters on three"]);
    assert!(play(&mut known, &catalogue).is_empty());
    let Amount::Rate(rate) = &known.readings[0].amount else {
        panic!("{:?}", known.readings[0]);
    };
    let [low, high] = [rate.meanings[0].low, rate.meanings[0].high].map(in_megabytes_per_second);
    // the white paper prints 737 Mb/s a layer
    assert!((low / (2.0 * 737.0 / 8.0) - 1.0).abs() < 0.005, "{low}");
    assert!((high / (3.0 * 737.0 / 8.0) - 1.0).abs() < 0.005, "{high}");
    assert_eq!(rate.exactness, Exactness::Range);
    // without a frame rate it is an interval that holds them all
    let mut open = told(&["plays two layers of ProRes 422 HQ UHD, stutters on three"]);
    assert!(play(&mut open, &catalogue).is_empty());
    let Amount::Rate(rate) = &open.readings[0].amount else {
        panic!("{:?}", open.readings[0]);
    };
    let wide = [rate.meanings[0].low, rate.meanings[0].high].map(in_megabytes_per_second);
    assert!(wide[0] < low && wide[1] > high, "{wide:?}");
    let mut unknown = told(&["plays two layers, stutters on three"]);
    let asked = play(&mut unknown, &catalogue);
    assert_eq!(asked.len(), 1);
    assert!(needs_material(&unknown) && asked[0].choices.len() > 1);
}

#[test]
fn two_times_in_one_sentence_are_two_rates() {
    for text in [
        "was 110 MB/s last week, 60 now",
        "it was 110 MB/s in March, now 60 MB/s",
    ] {
        let told = told(&[text]);
        let Some(Amount::Rate(now)) = told.readings.first().map(|r| &r.amount) else {
            panic!("{text}: {told:?}");
        };
        let then = told.remarks[0].rate.as_ref().unwrap();
        let rates = [now, then].map(|rate| in_megabytes_per_second(rate.likeliest()));
        assert!(
            (rates[0] - 60.0).abs() < 0.1 && (rates[1] - 110.0).abs() < 0.1,
            "{text}"
        );
    }
}

#[test]
fn what_may_be_trouble_is_asked_with_the_copy_first() {
    let told = told(&[]);
    let listener = Listener::at(&told.sites[0].0).unwrap();
    let found = listener.understand("it beeps").unwrap();
    assert!(found.statements.is_empty() && found.feared);
    assert_eq!(found.choices[0].id, "array-alarm");
    let lines = careful(told.sites.first().map(|(site, _)| site));
    assert!(lines[0].contains("second copy") && lines[1].starts_with("Until then: no rebuild"));
    let feared = Observations {
        feared: true,
        ..told
    };
    let found = explain(&feared, &Catalogue::embedded().unwrap()).unwrap();
    assert_eq!(&found.before_all[..2], &lines[..]);
}
