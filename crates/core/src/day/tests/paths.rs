use super::reading::site;
use crate::budget::{self, Question};
use crate::catalogue::Catalogue;
use crate::day::{Day, day, jobs, paths};
use crate::quantity::{DataRate, Measure};
use crate::spread::Draws;
use crate::work::{Activity, Direction, Work};
use approx::assert_relative_eq;

/// Arithmetic of a few events, relative.
const ARITHMETIC: f64 = 1e-9;

const DRAWS: usize = 256;

fn played(list: &str) -> Day {
    let catalogue = Catalogue::embedded().unwrap();
    let site = site(&catalogue);
    let list = jobs(list.as_bytes(), &site, &catalogue).1.unwrap();
    let mut draws = Draws::new(DRAWS);
    let ways = paths(&site, &list.jobs, &catalogue, &mut draws).unwrap();
    day(&list.jobs, &ways, &mut draws).unwrap()
}

fn budget_of(desk: &str, activity: Activity, direction: Direction) -> DataRate {
    let catalogue = Catalogue::embedded().unwrap();
    let question = Question {
        work: Work::plain(activity),
        desk: Some(desk.to_owned()),
        working: false,
        need: None,
    };
    let mut draws = Draws::new(DRAWS);
    let found = budget::answer(&site(&catalogue), &question, &catalogue, &mut draws).unwrap();
    let flow = found.flows.into_iter().find(|f| f.direction == direction);
    flow.unwrap().megabytes_per_s.p50
}

#[test]
fn verify_a_job_alone_takes_its_size_over_its_budget() {
    for (from, to, desk, direction) in [
        ("cut-1", "vault", "cut-1", Direction::Write),
        ("vault", "cut-2", "cut-2", Direction::Read),
        ("ingest", "vault", "ingest", Direction::Write),
    ] {
        let day = played(&format!("size;from;to\n100 GB;{from};{to}\n"));
        let expected = budget_of(desk, Activity::Copy, direction);
        assert_relative_eq!(
            day.jobs[0].rate.base(),
            expected.base(),
            max_relative = ARITHMETIC
        );
    }
}

#[test]
fn verify_reading_back_takes_the_other_direction_on_top() {
    let plain = played("size;from;to\n100 GB;ingest;vault\n");
    let back = played("size;from;to;read back\n100 GB;ingest;vault;yes\n");
    let ends = |day: &Day| day.jobs[0].ends.unwrap().p50.base();
    let play = budget_of("ingest", Activity::Play, Direction::Read);
    // medians of a sum of two times that hang together closely: the same link carries both
    let sum = ends(&plain) + 1e11 / play.base();
    assert!(
        (ends(&back) / sum - 1.0).abs() < 0.02,
        "{} {sum}",
        ends(&back)
    );
}

#[test]
fn two_jobs_over_one_slow_switch_share_it() {
    // sound and ingest hang on the same switch of 100 Mb/s
    let one = played("size;from;to\n10 GB;ingest;vault\n");
    let two = played("size;from;to\n10 GB;ingest;vault\n10 GB;sound;vault\n");
    let other = played("size;from;to\n10 GB;ingest;vault\n10 GB;vault;sound\n");
    let ends = |day: &Day| day.jobs[0].ends.unwrap().p50.base();
    assert!(
        (ends(&two) / ends(&one) - 2.0).abs() < 0.15,
        "{}",
        ends(&two) / ends(&one)
    );
    let waits: Vec<&str> = two.jobs[0]
        .waits
        .iter()
        .map(|(name, _)| name.as_str())
        .collect();
    assert!(
        waits.iter().any(|name| name.starts_with("run.")),
        "{waits:?}"
    );
    // the other way round there is a room of its own
    assert!(ends(&other) < 1.2 * ends(&one));
}

#[test]
fn the_outside_is_as_fast_as_its_line_and_still_loads_the_array() {
    let away = played("size;from;to;held to\n500 GB;vault;outside;90 Mb/s\n");
    // 5e11 bytes at 11.25e6 a second
    let found = away.jobs[0].ends.unwrap();
    assert_relative_eq!(found.p50.base(), 5e11 / 11.25e6, max_relative = ARITHMETIC);
    assert_eq!(away.jobs[0].waits[0].0, "the rate it is held to");
    // a line faster than any array: what stops it then is at the NAS, and no desk's run
    let fast = played("size;from;to;held to\n500 GB;vault;outside;900 Gb/s\n");
    let waits = &fast.jobs[0].waits;
    let at_the_nas = |name: &str| name.starts_with("array.") || name.starts_with("nas.");
    assert!(waits.iter().all(|(name, _)| at_the_nas(name)), "{waits:?}");
}
