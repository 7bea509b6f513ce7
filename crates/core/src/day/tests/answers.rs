use crate::allocate::Resource;
use crate::day::answer::day_on;
use crate::day::{Costs, Day, Job, LegVisit, Needs, Network, Spot, Way, all_ways};
use crate::quantity::{
    Information, Measure, Time, megabytes, megabytes_per_second, ratio, seconds,
};
use crate::spread::{Bounds, Draws, Spread};
use crate::work::Direction;
use approx::assert_relative_eq;

/// Arithmetic of a few events, relative.
const ARITHMETIC: f64 = 1e-9;

/// One wire that carries 100 MB/s in the first case and 1 MB/s more in each that follows; a desk's
/// own disk carries 130 MB/s.
struct Wire {
    cases: usize,
}

impl Network for Wire {
    fn cases(&self) -> usize {
        self.cases
    }

    fn name(&self, _: usize) -> String {
        "the wire".to_owned()
    }

    fn at(&self, case: usize) -> Costs {
        let way = |number: usize| Needs {
            visits: vec![LegVisit {
                resource: 0,
                cost: ratio(1.0) / megabytes_per_second(100.0 + case as f64),
                turn: None,
            }],
            // only the first way touches a disk
            alone: (number == 0).then(|| megabytes_per_second(130.0)),
            alone_by: "its own disk".to_owned(),
        };
        Costs {
            resources: vec![Resource::default()],
            ways: (0..4).map(way).collect(),
        }
    }
}

fn job(gigabytes: f64, due: Option<f64>) -> Job {
    Job {
        what: "card".to_owned(),
        from: Spot::Desk("ingest".to_owned()),
        to: Spot::Array("vault".to_owned()),
        size: Spread::exact(megabytes(1000.0 * gigabytes)),
        earliest: seconds(1000.0),
        due: due.map(seconds),
        held_to: None,
        plays: false,
        one_luck: false,
        read_back: false,
    }
}

fn played(jobs: &[Job], cases: usize) -> Day {
    day_on(jobs, &Wire { cases }, &mut Draws::new(cases.max(2)), 1).unwrap()
}

fn moments(day: &Day, job: usize) -> [f64; 3] {
    let ends = day.jobs[job].ends.unwrap();
    [ends.p05, ends.p50, ends.p95].map(Measure::base)
}

#[test]
fn verify_a_day_in_one_case_is_the_fluid() {
    let day = played(&[job(50.0, Some(1400.0)), job(50.0, None)], 1);
    assert_eq!((day.cases, day.of_cases), (1, 1));
    for number in 0..2 {
        for end in moments(&day, number) {
            assert_relative_eq!(end, 2000.0, max_relative = ARITHMETIC);
        }
    }
    let first = &day.jobs[0];
    assert_eq!(first.in_time, Some(ratio(0.0)));
    // 400 s at 50 MB/s of 50 GB
    assert_relative_eq!(
        first.done_when_due.unwrap().base(),
        0.4,
        max_relative = ARITHMETIC
    );
    assert_relative_eq!(
        first.late_by.unwrap().base(),
        600.0,
        max_relative = ARITHMETIC
    );
    assert_relative_eq!(first.rate.base(), 50e6, max_relative = ARITHMETIC);
    assert_relative_eq!(
        first.needs.unwrap().base(),
        125e6,
        max_relative = ARITHMETIC
    );
    assert_eq!(first.waits, [("the wire".to_owned(), ratio(1.0))]);
    assert!(!first.is_in_time() && !day.in_time());
    let second = &day.jobs[1];
    assert_eq!(
        (second.in_time, second.late_by, second.needs),
        (None, None, None)
    );
    assert!(second.is_in_time());
}

/// What a job brings and what its target takes are two matters: their widths add as squares.
#[test]
fn a_size_and_a_hold_have_luck_of_their_own() {
    let of = |x: f64| megabytes(1000.0 * x);
    let size = Spread::percentiles(of(5.0), of(10.0), of(20.0), Bounds::POSITIVE).unwrap();
    let of = megabytes_per_second;
    let hold = Spread::percentiles(of(5.0), of(10.0), of(20.0), Bounds::POSITIVE).unwrap();
    let held = Job {
        size,
        held_to: Some(hold),
        ..job(1.0, None)
    };
    let [low, _, high] = moments(&played(&[held], 4096), 0);
    // twice as much either way is 2 ln 2 wide
    let wide = 2.0_f64.sqrt() * 2.0 * 2.0_f64.ln();
    let found = ((high - 1000.0) / (low - 1000.0)).ln();
    assert_relative_eq!(found, wide, max_relative = SAMPLED);
}

/// Percentiles of 4,096 draws of a product of two, relative.
const SAMPLED: f64 = 0.05;

#[test]
fn cases_make_an_interval_and_a_chance() {
    // 100 GB at 100 to 199 MB/s, 130 at most: ends from 2000 s down to 1769.2 s
    let day = played(&[job(100.0, Some(1900.0))], 100);
    let [low, middle, high] = moments(&day, 0);
    assert_relative_eq!(low, 1000.0 + 1e5 / 130.0, max_relative = ARITHMETIC);
    assert_relative_eq!(middle, 1000.0 + 1e5 / 130.0, max_relative = ARITHMETIC);
    // the fifth slowest case of a hundred, 104 or 105 MB/s by the middle of its slice
    assert!(
        (1000.0 + 1e5 / 106.0..=1000.0 + 1e5 / 104.0).contains(&high),
        "{high}"
    );
    // in time from 111.1 MB/s on: 88 cases
    assert_relative_eq!(
        day.jobs[0].in_time.unwrap().base(),
        0.88,
        max_relative = ARITHMETIC
    );
    let waits = &day.jobs[0].waits;
    assert_eq!(waits[0].0, "its own disk");
    assert_eq!(waits[1].0, "the wire");
    assert_relative_eq!(
        waits[0].1.base() + waits[1].1.base(),
        1.0,
        max_relative = ARITHMETIC
    );
}

#[test]
fn a_day_does_not_depend_on_the_number_of_threads() {
    let jobs = [
        job(100.0, Some(1900.0)),
        job(30.0, None),
        job(70.0, Some(3000.0)),
    ];
    let one = format!("{:?}", played(&jobs, 500));
    for threads in [2, 7] {
        let other = day_on(&jobs, &Wire { cases: 500 }, &mut Draws::new(500), threads);
        assert_eq!(format!("{:?}", other.unwrap()), one, "{threads}");
    }
}

#[test]
fn long_lists_are_played_in_fewer_cases() {
    let jobs = vec![job(0.1, None); 400];
    let day = played(&jobs, 4096);
    assert_eq!((day.cases, day.of_cases), (100, 4096));
    let jobs = vec![job(0.1, None); 10];
    assert_eq!(played(&jobs, 4096).cases, 4000);
    assert_eq!(played(&[], 4096).jobs.len(), 0);
}

#[test]
fn a_hold_and_a_size_of_unknown_material_have_one_luck() {
    let rates = Spread::percentiles(
        megabytes_per_second(10.0),
        megabytes_per_second(20.0),
        megabytes_per_second(40.0),
        Bounds::POSITIVE,
    )
    .unwrap();
    let mut playing = job(1.0, Some(1000.0 + 600.0));
    (playing.from, playing.to) = (playing.to.clone(), playing.from.clone());
    playing.size = Spread::<Information>::from_law(rates.law().times(600.0));
    playing.held_to = Some(rates);
    playing.plays = true;
    playing.one_luck = true;
    let day = played(&[playing], 64);
    // ten minutes of material take ten minutes, however much it is
    for end in moments(&day, 0) {
        assert_relative_eq!(end, 1600.0, max_relative = ARITHMETIC);
    }
    assert_eq!(day.jobs[0].in_time, Some(ratio(1.0)));
    assert_eq!(
        day.jobs[0].waits,
        [("the rate it is held to".to_owned(), ratio(1.0))]
    );
}

#[test]
fn what_never_ends_is_said() {
    struct Broken;
    impl Network for Broken {
        fn cases(&self) -> usize {
            64
        }
        fn name(&self, _: usize) -> String {
            String::new()
        }
        fn at(&self, case: usize) -> Costs {
            let carries = if case < 4 { 0.0 } else { 100.0 };
            Costs {
                resources: Vec::new(),
                ways: vec![Needs {
                    visits: Vec::new(),
                    alone: Some(megabytes_per_second(carries)),
                    alone_by: "a broken link".to_owned(),
                }],
            }
        }
    }
    // four of 64 are more than one of twenty
    let day = day_on(&[job(1.0, None)], &Broken, &mut Draws::new(64), 1).unwrap();
    assert!(day.jobs[0].ends.is_none() && !day.in_time());
}

#[test]
fn ways_are_told_once_and_in_order() {
    let mut back = job(1.0, None);
    back.read_back = true;
    let mut played = job(1.0, None);
    (played.from, played.to) = (played.to.clone(), played.from.clone());
    played.plays = true;
    let mut away = job(1.0, None);
    away.from = Spot::Array("vault".to_owned());
    away.to = Spot::Outside;
    let found = all_ways(&[job(1.0, None), back, played, away]);
    let way = |desk: Option<&str>, direction, disk| Way {
        desk: desk.map(str::to_owned),
        array: "vault".to_owned(),
        direction,
        disk,
    };
    let expected = [
        way(Some("ingest"), Direction::Write, true),
        way(Some("ingest"), Direction::Read, false),
        way(None, Direction::Read, false),
    ];
    // reading back and playing are the same way
    assert_eq!(found, expected);
}

#[test]
fn times_of_a_job_are_in_order() {
    let day = played(&[job(10.0, Some(5000.0)), job(20.0, Some(1100.0))], 300);
    for job in &day.jobs {
        let ends = job.ends.unwrap();
        assert!(ends.p05 <= ends.p50 && ends.p50 <= ends.p95);
        let start: Time = job.job.earliest;
        assert!(ends.p05 > start);
        assert_eq!(job.late_by.is_some(), !job.is_in_time());
    }
}
