//! What a place gives where nothing is at fault is not called a fault.

use super::super::{Explanation, Verdict, explain};
use super::drawn::{Luck, site_text};
use super::reasoning::{copy, told};
use crate::catalogue::Catalogue;
use crate::quantity::{Measure, in_megabytes_per_second};
use crate::site::read;
use crate::work::Direction;
use rand_pcg::Pcg64Mcg;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Places beside the examples.
const DRAWN: usize = 8;

/// Draws that causes are weighed on: fewer than usual, for time; what is expected is a budget's own.
const DRAWS: usize = 192;

/// A range of such a factor says little of a number in it, and the answer may say so.
const WIDE: f64 = 10.0;

fn explained(site: &str, desk: &str, way: Direction, rate: f64) -> Explanation {
    let mut all = told(site, vec![copy(desk, way, rate)]);
    all.draws = DRAWS;
    explain(&all, &Catalogue::embedded().unwrap()).unwrap()
}

/// What is wrong about answers to numbers between the 10th and the 95th percentile of one way.
fn wrong(site: &str, desk: &str, way: Direction) -> Vec<String> {
    let any = explained(site, desk, way, 50.0);
    let Some(expected) = any.readings[0].expected.first() else {
        return Vec::new();
    };
    let [low, middle, high] = expected.rates.map(in_megabytes_per_second);
    let mut found = Vec::new();
    for rate in [
        low * 1.02,
        f64::midpoint(low, middle),
        middle,
        f64::midpoint(middle, high),
        high * 0.98,
    ] {
        let answer = explained(site, desk, way, rate);
        let open = answer.verdict == Verdict::Unclear && high > low * WIDE;
        let said = ["is possible here", "is what", "a little more than"];
        let says = said.iter().any(|words| answer.in_words.contains(words));
        let may = open && answer.in_words.contains("so wide a range says little");
        if !(answer.verdict == Verdict::Normal && says || may) {
            found.push(format!("{desk} {way:?} {rate}: {}", answer.in_words));
        }
    }
    found
}

#[test]
fn property_no_number_that_is_expected_is_called_a_fault() {
    let mut luck = Luck(Pcg64Mcg::new(20_261_130));
    let mut sites: Vec<String> = narrows_data::SITES
        .iter()
        .map(|(_, text)| (*text).to_owned())
        .collect();
    sites.extend((0..DRAWN).map(|_| site_text(&mut luck)));
    let catalogue = Catalogue::embedded().unwrap();
    let mut ways = Vec::new();
    for site in &sites {
        for desk in read(site, &[], &catalogue).unwrap().desks {
            ways.extend(Direction::BOTH.map(|way| (site.as_str(), desk.name.clone(), way)));
        }
    }
    assert!(ways.len() > 2 * (DRAWN + narrows_data::SITES.len()));
    let next = AtomicUsize::new(0);
    let all = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..std::thread::available_parallelism().map_or(1, usize::from) {
            scope.spawn(|| {
                while let Some((site, desk, way)) = ways.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let found = wrong(site, desk, *way);
                    all.lock().unwrap().extend(found);
                }
            });
        }
    });
    let all = all.into_inner().unwrap();
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn what_is_below_all_places_is_called_so() {
    let (_, site) = narrows_data::SITES[0];
    let any = explained(site, "cut-1", Direction::Read, 50.0);
    let low = any.readings[0].expected[0].rates[0];
    let answer = explained(
        site,
        "cut-1",
        Direction::Read,
        in_megabytes_per_second(low) * 0.3,
    );
    assert_eq!(answer.verdict, Verdict::Slow);
    assert!(low.base() > 0.0);
}
