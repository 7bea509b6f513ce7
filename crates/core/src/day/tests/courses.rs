use crate::allocate::{Demand, ProblemFault, Resource};
use crate::day::{Course, Leg, LegVisit, Load, play};
use crate::quantity::{
    Measure, Time, TimePerInformation, megabytes, megabytes_per_second, milliseconds, ratio,
    seconds, units,
};
use approx::assert_relative_eq;
use proptest::prelude::*;

/// Arithmetic of some hundred events, relative.
const ARITHMETIC: f64 = 1e-9;

fn at(rate: f64) -> TimePerInformation {
    ratio(1.0) / megabytes_per_second(rate)
}

/// A leg of some gigabytes over resources that carry so many MB/s alone.
fn leg(gigabytes: f64, over: &[(usize, f64)]) -> Leg {
    let visit = |&(resource, rate): &(usize, f64)| LegVisit {
        resource,
        cost: at(rate),
        turn: None,
    };
    Leg {
        size: megabytes(gigabytes * 1000.0),
        demand: Demand {
            weight: 1.0,
            most: None,
        },
        visits: over.iter().map(visit).collect(),
    }
}

fn job(earliest: f64, due: Option<f64>, legs: Vec<Leg>) -> Load {
    Load {
        earliest: seconds(earliest),
        due: due.map(seconds),
        legs,
    }
}

fn held(mut leg: Leg, rate: f64) -> Leg {
    leg.demand.most = Some(megabytes_per_second(rate));
    leg
}

fn played(resources: usize, loads: &[Load]) -> Vec<Course> {
    play(&vec![Resource::default(); resources], loads, &mut |_| {}).unwrap()
}

fn ends(courses: &[Course]) -> Vec<f64> {
    let of = |c: &Course| c.ends.unwrap().get::<units::time::second>();
    courses.iter().map(of).collect()
}

#[test]
fn validate_days_by_hand() {
    // 100 MB/s for all; sizes in GB; starts and ends in seconds
    let one = &[(0, 100.0)];
    let rows: [(Vec<Load>, &[f64]); 6] = [
        // two alike share to the end
        (
            vec![
                job(0.0, None, vec![leg(100.0, one)]),
                job(0.0, None, vec![leg(100.0, one)]),
            ],
            &[2000.0, 2000.0],
        ),
        // the smaller is done, then the larger has all: 50 GB each by 1000 s, 50 GB left at 100 MB/s
        (
            vec![
                job(0.0, None, vec![leg(100.0, one)]),
                job(0.0, None, vec![leg(50.0, one)]),
            ],
            &[1500.0, 1000.0],
        ),
        // one held to 20 MB/s leaves 80: 100 GB in 1250 s
        (
            vec![
                job(0.0, None, vec![leg(100.0, one)]),
                job(0.0, None, vec![held(leg(100.0, one), 20.0)]),
            ],
            &[1250.0, 5000.0],
        ),
        // one comes later: 50 GB are through at 500 s, then both have 50 GB and 50 MB/s
        (
            vec![
                job(0.0, None, vec![leg(100.0, one)]),
                job(500.0, None, vec![leg(50.0, one)]),
            ],
            &[1500.0, 1500.0],
        ),
        // a pause with nobody, then read back
        (
            vec![
                job(0.0, None, vec![leg(10.0, one)]),
                job(3600.0, None, vec![leg(10.0, one), leg(10.0, &[(0, 50.0)])]),
            ],
            &[100.0, 3900.0],
        ),
        // twice the cost: at equal rates x/100 + x/50 = 1, x = 33.3
        (
            vec![
                job(0.0, None, vec![leg(10.0, one)]),
                job(0.0, None, vec![leg(10.0, &[(0, 50.0)])]),
            ],
            &[300.0, 300.0],
        ),
    ];
    for (loads, expected) in rows {
        for (found, expected) in ends(&played(1, &loads)).iter().zip(expected) {
            assert_relative_eq!(*found, *expected, max_relative = ARITHMETIC);
        }
    }
}

#[test]
fn weights_share_a_path() {
    // 3 to 1: 75 and 25 MB/s; the heavy one's 75 GB end at 1000 s, and so do the other's 25 GB
    let mut heavy = leg(75.0, &[(0, 100.0)]);
    heavy.demand.weight = 3.0;
    let loads = [
        job(0.0, None, vec![heavy]),
        job(0.0, None, vec![leg(25.0, &[(0, 100.0)])]),
    ];
    for found in ends(&played(1, &loads)) {
        assert_relative_eq!(found, 1000.0, max_relative = ARITHMETIC);
    }
}

#[test]
fn what_is_done_when_it_is_due_is_counted() {
    let one = &[(0, 100.0)];
    let loads = [
        // alone 60 MB/s by its own path for 1000 s, then 50 MB/s: 85 GB of 100 at 1500 s
        job(
            0.0,
            Some(1500.0),
            vec![leg(100.0, &[(0, 100.0), (1, 60.0)])],
        ),
        job(1000.0, Some(1e6), vec![leg(100.0, one)]),
        // before it begins there is nothing done
        job(2e6, Some(1e6), vec![leg(1.0, one)]),
        // read back is half of the job
        job(3e6, Some(3e6 + 150.0), vec![leg(10.0, one), leg(10.0, one)]),
        job(4e6, None, vec![leg(10.0, one)]),
    ];
    let courses = played(2, &loads);
    let done = |i: usize| courses[i].done_when_due.unwrap().get::<units::ratio::one>();
    assert_relative_eq!(done(0), 0.85, max_relative = ARITHMETIC);
    assert_relative_eq!(done(1), 1.0);
    assert_relative_eq!(done(2), 0.0);
    assert_relative_eq!(done(3), 0.75, max_relative = ARITHMETIC);
    assert_eq!(courses[4].done_when_due, None);
    let in_time: Vec<bool> = courses
        .iter()
        .zip(&loads)
        .map(|(c, l)| c.in_time(l.due))
        .collect();
    assert_eq!(in_time, [false, true, false, false, true]);
    // 1000 s by its own path, the rest by the shared one
    let waits = &courses[0].waits;
    assert_eq!(waits[0].resource, Some(1));
    assert_relative_eq!(waits[0].time.base(), 1000.0, max_relative = ARITHMETIC);
    assert_eq!(waits[1].resource, Some(0));
    let all: Time = waits.iter().fold(seconds(0.0), |sum, wait| sum + wait.time);
    assert_relative_eq!(all.base(), ends(&courses)[0], max_relative = ARITHMETIC);
}

#[test]
fn a_job_in_real_time_is_done_to_the_moment() {
    // 3 h at a rate that is no whole number: rounding must not make it late
    let size = 0.123456789 * 3.0 * 3600.0;
    let begins = 9.0 * 3600.0;
    let mut playing = held(leg(size, &[(0, 1000.0)]), 123.456789);
    let due = Some(begins + 3.0 * 3600.0);
    let courses = played(1, &[job(begins, due, vec![playing.clone()])]);
    assert!(courses[0].in_time(due.map(seconds)), "{courses:?}");
    assert_eq!(courses[0].waits[0].resource, None);
    // a thousandth more is not in time
    playing.size *= 1.001;
    let courses = played(1, &[job(begins, due, vec![playing])]);
    assert!(!courses[0].in_time(due.map(seconds)));
}

#[test]
fn a_job_that_gets_nothing_never_ends_and_holds_up_nobody() {
    let one = &[(0, 100.0)];
    let loads = [
        job(0.0, Some(50.0), vec![held(leg(1.0, one), 0.0)]),
        job(10.0, None, vec![leg(1.0, one)]),
    ];
    let courses = played(1, &loads);
    assert_eq!(courses[0].ends, None);
    assert!(!courses[0].in_time(None));
    assert_relative_eq!(courses[1].ends.unwrap().base(), 20.0);
}

#[test]
fn what_cannot_be_shared_is_refused() {
    let loads = [job(0.0, None, vec![leg(1.0, &[(3, 100.0)])])];
    let found = play(&[Resource::default()], &loads, &mut |_| {});
    assert_eq!(found, Err(ProblemFault::Place));
    let nothing = play(&[], &[], &mut |_| {});
    assert_eq!(nothing, Ok(Vec::new()));
}

#[test]
fn moves_of_heads_slow_a_pair_and_not_one_alone() {
    // 4 MB a turn at 200 MB/s take 20 ms, and a move takes 20 ms: a pair gets half together
    let heads = [Resource {
        move_heads: Some(milliseconds(20.0)),
    }];
    let on_heads = |gigabytes: f64| {
        let mut leg = leg(gigabytes, &[(0, 200.0)]);
        leg.visits[0].turn = Some(megabytes(4.0));
        leg
    };
    let alone = [job(0.0, None, vec![on_heads(20.0)])];
    let pair = [alone[0].clone(), alone[0].clone()];
    let found = play(&heads, &alone, &mut |_| {}).unwrap();
    assert_relative_eq!(ends(&found)[0], 100.0, max_relative = ARITHMETIC);
    let found = play(&heads, &pair, &mut |_| {}).unwrap();
    assert_relative_eq!(ends(&found)[0], 400.0, max_relative = ARITHMETIC);
}

#[test]
fn another_job_elsewhere_can_help() {
    // a long job crosses two paths of 100 MB/s; the short one on the second gains what it loses on the first
    let (long, short) = (
        leg(1e4, &[(0, 100.0), (1, 100.0)]),
        leg(10.0, &[(1, 100.0)]),
    );
    let other = leg(1e4, &[(0, 100.0)]);
    let day = |others: usize| {
        let mut loads = vec![
            job(0.0, None, vec![short.clone()]),
            job(0.0, None, vec![long.clone()]),
        ];
        loads.extend(vec![job(0.0, None, vec![other.clone()]); others]);
        ends(&played(2, &loads))[0]
    };
    // 50 MB/s, and with two more on the first path 66.7 MB/s
    assert_relative_eq!(day(0), 200.0, max_relative = ARITHMETIC);
    assert_relative_eq!(day(2), 150.0, max_relative = ARITHMETIC);
}

const PATHS: usize = 4;

fn any_leg() -> impl Strategy<Value = Leg> {
    let over = proptest::collection::btree_map(0..PATHS, 20.0..500.0_f64, 1..=PATHS);
    (
        1.0..400.0_f64,
        over,
        1_u32..4,
        proptest::option::weighted(0.3, 5.0..200.0_f64),
    )
        .prop_map(|(size, over, weight, most)| {
            let over: Vec<(usize, f64)> = over.into_iter().collect();
            let mut leg = leg(size, &over);
            leg.demand.weight = f64::from(weight);
            leg.demand.most = most.map(megabytes_per_second);
            for visit in &mut leg.visits {
                visit.turn = Some(megabytes(2.0));
            }
            leg
        })
}

fn any_jobs(most: usize) -> impl Strategy<Value = Vec<Load>> {
    let one = (
        0.0..5000.0_f64,
        1.0..5000.0_f64,
        proptest::collection::vec(any_leg(), 1..3),
    );
    let one = one.prop_map(|(earliest, time, legs)| job(earliest, Some(earliest + time), legs));
    proptest::collection::vec(one, 1..most)
}

/// The first path has heads.
fn paths() -> Vec<Resource> {
    let mut paths = vec![Resource::default(); PATHS];
    paths[0].move_heads = Some(milliseconds(8.0));
    paths
}

/// Everything on the first path and in one go, with heads or without.
///
/// A job that changes what it costs half way breaks the order: held up in a cheap first leg it lets
/// others on.
fn on_one(mut loads: Vec<Load>) -> Vec<Load> {
    for load in &mut loads {
        load.legs.truncate(1);
        for leg in &mut load.legs {
            leg.visits.truncate(1);
            for visit in &mut leg.visits {
                visit.resource = 0;
            }
        }
    }
    loads
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn property_bytes_moved_are_the_size(loads in any_jobs(12)) {
        let mut moved: Vec<Vec<f64>> = loads.iter().map(|l| vec![0.0; l.legs.len()]).collect();
        let mut by_due = vec![0.0; loads.len()];
        let mut last = 0.0;
        let courses = play(&paths(), &loads, &mut |span| {
            let (from, to) = (span.from.base(), span.to.base());
            assert!(from < to && from >= last);
            last = to;
            let mut busy = [0.0; PATHS];
            let mut turns: Vec<f64> = Vec::new();
            for (job, leg, rate) in span.running {
                moved[*job][*leg] += rate.base() * (to - from);
                let due = loads[*job].due.unwrap().base();
                by_due[*job] += rate.base() * (to.min(due) - from).max(0.0);
                for visit in &loads[*job].legs[*leg].visits {
                    busy[visit.resource] += visit.cost.base() * rate.base();
                    if visit.resource == 0 {
                        turns.push(rate.base() / visit.turn.unwrap().base());
                    }
                }
            }
            let all: f64 = turns.iter().sum();
            busy[0] += turns.iter().map(|n| 0.008 * n.min(all - n).max(0.0)).sum::<f64>();
            assert!(busy.iter().all(|b| *b <= 1.0 + ARITHMETIC), "{busy:?}");
        }).unwrap();
        for ((load, moved), (course, by_due)) in loads.iter().zip(&moved).zip(courses.iter().zip(&by_due)) {
            let mut all = 0.0;
            for (leg, moved) in load.legs.iter().zip(moved) {
                prop_assert!((moved / leg.size.base() - 1.0).abs() < 1e-6, "{moved} of {leg:?}");
                all += leg.size.base();
            }
            let share = course.done_when_due.unwrap().base();
            prop_assert!((share - by_due / all).abs() < 1e-6);
            prop_assert!(course.ends.unwrap() > load.earliest);
            let waited: f64 = course.waits.iter().map(|w| w.time.base()).sum();
            let whole = (course.ends.unwrap() - load.earliest).base();
            prop_assert!((waited / whole - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn property_another_job_on_one_resource_helps_nobody(loads in any_jobs(10), heads in any::<bool>()) {
        let loads = on_one(loads);
        let one = [Resource { move_heads: heads.then(|| milliseconds(8.0)) }];
        let with = ends(&play(&one, &loads, &mut |_| {}).unwrap());
        let without = ends(&play(&one, loads.split_last().unwrap().1, &mut |_| {}).unwrap());
        for (alone, beside) in without.iter().zip(&with) {
            prop_assert!(*beside >= alone * (1.0 - 1e-6), "{alone} {beside}");
        }
    }

    #[test]
    fn property_the_order_of_the_list_does_not_matter(mut loads in any_jobs(10)) {
        let before = ends(&play(&paths(), &loads, &mut |_| {}).unwrap());
        loads.reverse();
        let mut after = ends(&play(&paths(), &loads, &mut |_| {}).unwrap());
        after.reverse();
        for (a, b) in before.iter().zip(&after) {
            prop_assert!((a / b - 1.0).abs() < 1e-6, "{a} {b}");
        }
    }

    #[test]
    fn property_one_resource_without_holds_is_never_idle(loads in any_jobs(10)) {
        // total work in seconds over one path that is busy from the first start on, if nobody pauses it
        let mut loads = on_one(loads);
        for load in &mut loads {
            load.earliest = seconds(0.0);
            for leg in &mut load.legs {
                leg.demand.most = None;
            }
        }
        let work: f64 = loads.iter().flat_map(|l| &l.legs)
            .map(|leg| leg.size.base() * leg.visits[0].cost.base())
            .sum();
        let last = ends(&played(1, &loads)).into_iter().fold(0.0, f64::max);
        prop_assert!((last / work - 1.0).abs() < 1e-6, "{last} {work}");
    }
}

#[test]
fn a_job_that_ends_when_it_is_due_is_in_time() {
    let course = |ends: f64| Course {
        ends: Some(seconds(ends)),
        ..played(1, &[job(0.0, Some(100.0), vec![leg(10.0, &[(0, 100.0)])])]).remove(0)
    };
    let due = Some(seconds(100.0));
    assert!(course(100.0).in_time(due));
    // a millisecond is rounding, and the last moment of it still counts
    let last = seconds(100.0) + milliseconds(1.0);
    let at_last = Course {
        ends: Some(last),
        ..course(0.0)
    };
    assert!(at_last.in_time(due));
    assert!(!course(100.002).in_time(due));
    assert!(course(100.002).in_time(None));
    // 10 GB at 100 MB/s take 100 s to the moment
    let whole = course(100.0).done_when_due.unwrap();
    assert_relative_eq!(
        whole.get::<units::ratio::one>(),
        1.0,
        max_relative = ARITHMETIC
    );
    // and a moment less of it is not all
    let short = played(1, &[job(0.0, Some(99.0), vec![leg(10.0, &[(0, 100.0)])])]).remove(0);
    let done = short.done_when_due.unwrap().get::<units::ratio::one>();
    assert_relative_eq!(done, 0.99, max_relative = ARITHMETIC);
    assert!(!short.in_time(Some(seconds(99.0))));
}

#[test]
fn a_job_that_ends_at_the_instant_at_which_it_is_due_is_done() {
    // nothing to move: over when it may begin, and no span was played that could say so in its place
    let courses = played(0, &[job(3600.0, Some(3600.0), Vec::new())]);
    assert_eq!(courses[0].ends, Some(seconds(3600.0)));
    assert_eq!(courses[0].done_when_due, Some(ratio(1.0)));
    let late = played(0, &[job(3600.0, Some(3599.5), Vec::new())]);
    assert_eq!(late[0].done_when_due, Some(ratio(0.0)));
}

#[test]
fn what_is_due_behind_an_event_does_not_get_the_rate_before_it() {
    // 1 GB at 100 MB/s until 10 s; the other is given nothing, and nobody comes who could change it. Due half a second behind that
    let one = &[(0, 100.0)];
    let legs = vec![leg(1.0, one), held(leg(1.0, one), 0.0)];
    let courses = played(1, &[job(0.0, Some(10.5), legs)]);
    assert_eq!(courses[0].ends, None);
    assert_relative_eq!(
        courses[0].done_when_due.unwrap().base(),
        0.5,
        max_relative = ARITHMETIC
    );
}
