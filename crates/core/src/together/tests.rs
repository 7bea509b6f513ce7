use super::network::Place;
use super::*;
use crate::allocate::{Filler, fill};
use crate::budget::{self, Towards};
use crate::quantity::{Measure, in_megabytes_per_second, ratio};
use crate::site::read_bytes_with_tasks;
use crate::work::{FrameRate, Raster, Work};
use approx::assert_relative_eq;

const LANE: &str = narrows_data::SITES[0].1;
const FLASH: &str = narrows_data::SITES[2].1;
const AFTERNOON: &str = narrows_data::TASKS[0].1;

/// Few draws, so that the tests are quick; enough for several workers.
const DRAWS: usize = 256;
/// Sums of tens of doubles.
const ALGEBRA: f64 = 1e-9;

const COPIES: Question = Question {
    everyone: Activity::Copy,
    direction: Direction::Read,
    need: None,
};

fn catalogue() -> Catalogue {
    Catalogue::embedded().unwrap()
}

fn site(text: &str, tasks: &str) -> Site {
    let tasks = (!tasks.is_empty()).then_some(tasks.as_bytes());
    read_bytes_with_tasks(text.as_bytes(), tasks, &[], &catalogue())
        .unwrap_or_else(|f| panic!("{tasks:?}: {f}"))
}

fn together(site: &Site, question: &Question) -> Together {
    answer(site, question, &catalogue(), &mut Draws::new(DRAWS)).unwrap()
}

fn network(site: &Site) -> Network {
    let mut warnings = Vec::new();
    Network::of(
        site,
        &COPIES,
        &catalogue(),
        &mut Draws::new(DRAWS),
        &mut warnings,
    )
    .unwrap()
}

fn median(share: &TaskShare) -> f64 {
    in_megabytes_per_second(share.megabytes_per_s.p50)
}

/// Rates of a budget of one desk.
fn budget_of(site: &Site, desk: &str, activity: Activity, direction: Direction) -> Vec<f64> {
    let question = budget::Question {
        work: Work::plain(activity),
        desk: Some(desk.to_owned()),
        working: false,
        need: None,
    };
    let found = budget::answer(site, &question, &catalogue(), &mut Draws::new(DRAWS)).unwrap();
    let flow = found.flows.into_iter().find(|f| f.direction == direction);
    flow.unwrap().rates
}

#[test]
fn verify_a_task_alone_gets_its_budget_to_the_last_bit() {
    for text in [LANE, FLASH] {
        for desk in site(text, "").desks {
            for (does, activity, direction) in [
                ("copy", Activity::Copy, Direction::Read),
                ("copy", Activity::Copy, Direction::Write),
                ("backup", Activity::Play, Direction::Read),
                ("ingest", Activity::Play, Direction::Write),
            ] {
                let turn = if does == "copy" {
                    format!("direction = \"{}\"\n", direction.word())
                } else {
                    String::new()
                };
                let task = format!(
                    "[[task]]\ndesk = \"{}\"\ndoes = \"{does}\"\n{turn}",
                    desk.name
                );
                let site = site(text, &task);
                let found = together(&site, &COPIES);
                let alone = budget_of(&site, &desk.name, activity, direction);
                assert_eq!(found.tasks[0].rates, alone, "{} {does}", desk.name);
            }
        }
    }
}

#[test]
fn verify_a_deadline_alone_gets_the_less_of_demand_and_budget() {
    let task = "[[task]]\ndesk = \"cut-1\"\ndoes = \"play\"\ndemand = \"500 MB/s\"\n";
    let site = site(LANE, task);
    let found = together(&site, &COPIES);
    let alone = budget_of(&site, "cut-1", Activity::Play, Direction::Read);
    let less: Vec<f64> = alone.iter().map(|rate| rate.min(500e6)).collect();
    assert_eq!(found.tasks[0].rates, less);
    let short = alone.iter().filter(|rate| **rate < 500e6).count() as f64 / DRAWS as f64;
    assert_relative_eq!(found.tasks[0].short_probability.unwrap(), short);
    assert!(found.tasks[0].limits.iter().all(|l| l.alone));
}

#[test]
fn verify_the_answer_is_the_same_on_any_number_of_workers() {
    let network = network(&site(LANE, AFTERNOON));
    let one = draw::on_workers(&network, (None, DRAWS), 1);
    for workers in [2, 3, 4] {
        let many = draw::on_workers(&network, (None, DRAWS), workers);
        assert_eq!(many.rates, one.rates);
        assert_eq!(many.busy, one.busy);
        assert_eq!(many.tally.one, one.tally.one);
        assert_eq!(many.tally.several, one.tally.several);
    }
}

#[test]
fn verify_no_second_is_overfull_and_nobody_gets_more_than_asked_or_alone() {
    let site = site(LANE, AFTERNOON);
    let network = network(&site);
    let found = draw::all(&network);
    let mut filler = Filler::new(&network.problem(Some(7)));
    filler.fill();
    let mut alone = 0;
    for (place, kept) in found.busy.iter().enumerate() {
        let from_rates = network.busy_alone(place, &found.rates);
        alone += usize::from(from_rates.is_some());
        let busy = from_rates.unwrap_or_else(|| kept.clone());
        assert_eq!(busy.len(), DRAWS);
        assert!(busy.iter().all(|b| *b <= 1.0 + ALGEBRA));
        assert_relative_eq!(busy[7], filler.busy(place).0, max_relative = ALGEBRA);
    }
    assert!(alone > 0);
    for (flow, rates) in network.flows.iter().zip(&found.rates) {
        for (draw, rate) in rates.iter().enumerate() {
            assert!(*rate <= flow.alone[draw]);
            for cap in [&flow.demand, &flow.held_to].into_iter().flatten() {
                assert!(*rate <= cap[draw]);
            }
        }
    }
    // shares of what stops a task and of what satisfies it make one
    let answer = together(&site, &COPIES);
    for (task, satisfied) in answer.tasks.iter().zip(&found.tally.satisfied) {
        let stopped: f64 = task.limits.iter().map(|l| l.share).sum();
        let all = stopped + f64::from(*satisfied) / DRAWS as f64;
        assert_relative_eq!(all, 1.0, max_relative = ALGEBRA);
    }
    // and the problem of a draw, filled on its own, says the same
    let problem = network.problem(Some(7));
    for (rate, rates) in fill(&problem).unwrap().rates.iter().zip(&found.rates) {
        assert_relative_eq!(rate.base(), rates[7], max_relative = ALGEBRA);
    }
}

#[test]
fn verify_two_desks_behind_one_slow_link_get_half_each_and_the_link_is_full() {
    // medians of two shares that scatter
    const MIDDLES: f64 = 2e-3;
    let tasks = "[[task]]\ndesk = \"sound\"\ndoes = \"copy\"\n\
                 [[task]]\ndesk = \"ingest\"\ndoes = \"copy\"\n";
    let site = site(LANE, tasks);
    let found = together(&site, &COPIES);
    let alone = budget_of(&site, "sound", Activity::Copy, Direction::Read);
    let alone = DataRate::from_base(crate::working::middle(&alone));
    for task in &found.tasks {
        let half = in_megabytes_per_second(alone) / 2.0;
        // what one copy leaves of the link the other one can use, so half or a little more
        assert!(
            median(task) > half * (1.0 - MIDDLES) && median(task) < 1.15 * half,
            "{}",
            median(task)
        );
        assert!(task.limits[0].hops.contains(&"run.5".to_owned()));
        assert!(!task.limits[0].alone);
        // without that link each would have its own, as fast, for itself
        let then = in_megabytes_per_second(task.limits[0].if_lifted_megabytes_per_s.unwrap());
        assert!(then > 1.7 * median(task), "{then}");
        // a share over seconds is wider than what decides it
        let range = task.megabytes_per_s;
        assert!(range.p05 / range.p50 < crate::quantity::ratio(0.95));
    }
    let link = found.hops.iter().find(|h| h.id == "run.5").unwrap();
    assert_eq!(link.tasks, 2);
    assert!(link.full_probability > 0.9);
    // the total is what the link carries and no wider than that: shares scatter, totals do not
    let width = |range: crate::budget::RateRange| range.p95 / range.p05;
    let total = found.totals[0].megabytes_per_s;
    assert!(width(total) < width(found.tasks[0].megabytes_per_s));
}

#[test]
fn verify_both_directions_of_a_link_have_room_of_their_own() {
    let one = "[[task]]\ndesk = \"colour\"\ndoes = \"copy\"\n";
    let both =
        format!("{one}[[task]]\ndesk = \"colour\"\ndoes = \"upload\"\ndirection = \"write\"\n");
    let alone = together(&site(LANE, one), &COPIES);
    let with = together(&site(LANE, &both), &COPIES);
    // a gigabit each way, less what acknowledges the other; the drives have more than both together
    let less = median(&with.tasks[0]) / median(&alone.tasks[0]);
    assert!((0.97..=1.0).contains(&less), "{less}");
    assert!(median(&with.tasks[1]) > 90.0);
}

/// Measured over shaped links with a stream each way: 2.8 % less at an MTU of 1500, 0.5 % less at 9000.
#[test]
fn validate_a_full_link_pays_for_the_acknowledgements_of_the_other_way() {
    // printed with one decimal
    const POINTS: f64 = 0.1;
    let read = "[[task]]\ndesk = \"colour\"\ndoes = \"copy\"\n";
    let write = "[[task]]\ndesk = \"colour\"\ndoes = \"upload\"\ndirection = \"write\"\n";
    for (mtu, percent) in [(1500, 2.8), (9000, 0.5)] {
        let text = format!("{LANE}\n[network]\nmtu = {mtu}\n");
        let costs = |tasks: &str| {
            let site = site(&text, tasks);
            let mut network = network(&site);
            network.acknowledge(&site, &catalogue()).unwrap();
            let link = |p: &Place| p.id == "run.4" && p.towards == Some(Towards::Desks);
            let at = network.places.iter().position(link).unwrap();
            let passing = network.passings.iter().find(|p| p.place == at).unwrap();
            passing.cost.to_vec()
        };
        let (alone, both) = (costs(read), costs(&format!("{read}{write}")));
        let less = alone.iter().zip(&both).map(|(a, b)| 100.0 * (1.0 - a / b));
        let most = less.fold(0.0, f64::max);
        assert!((most - percent).abs() <= POINTS, "{mtu}: {most}");
    }
}

#[test]
fn verify_streams_are_those_of_layouts() {
    // six drives half full, requests of 4 MiB in chunks of 512 KiB, several streams together: 320 MB/s
    const TOGETHER: f64 = 320.462;
    // cost at the middle of the filled part in place of its mean, and middles of columns: 5 %
    const MIDDLES: f64 = 0.05;
    let text = "[array.vault]\nnas = \"store\"\nlayout = \"raid0\"\ndrives = \"6 x 12 TB hdd-7200\"\n\
         fill = \"50 %\"\ndrive-rate = \"250 MB/s\"\n[nas.store]\ncpu = \"large\"\nservice = \"nfs\"\n\
         encrypted = \"no\"\nsigned = \"plain\"\nport.a = { rate = \"10 Gb/s\" }\n\
         [desk.cut-1]\ncpu = \"large\"\nport.a = { rate = \"10 Gb/s\" }\n\
         [[run]]\nfrom = \"nas.store\"\nto = \"desk.cut-1\"\ncable = \"cat6a\"\nlength = \"3 m\"\n";
    let task = "[[task]]\ndesk = \"cut-1\"\ndoes = \"play\"\ndemand = \"200 MB/s\"\n";
    let total = |streams: usize| {
        let problem = network(&site(text, &task.repeat(streams))).problem(None);
        let rates = fill(&problem).unwrap().rates;
        rates.into_iter().map(in_megabytes_per_second).sum::<f64>()
    };
    assert_relative_eq!(total(1), 200.0, max_relative = ALGEBRA);
    for streams in [2, 4, 8] {
        let found = total(streams);
        assert!(
            (found / TOGETHER - 1.0).abs() < MIDDLES,
            "{streams}: {found}"
        );
    }
}

#[test]
fn an_export_reads_and_writes_at_one_pace_and_is_held_to_its_speed() {
    let task = "[[task]]\ndesk = \"cut-1\"\ndoes = \"export\"\ncodec = \"ProRes 422 HQ\"\n\
                raster = \"UHD\"\nframes = \"25 fps\"\ninto = \"ProRes 422 LT\"\nspeed = \"1 x\"\n";
    let found = together(&site(LANE, task), &COPIES);
    // 737 Mb/s read, 342 written
    assert_relative_eq!(median(&found.tasks[0]), 737.0 / 8.0, max_relative = 1e-9);
    assert_eq!(found.totals.len(), 2);
    let written = in_megabytes_per_second(found.totals[1].megabytes_per_s.p50);
    assert_relative_eq!(written, 342.0 / 8.0, max_relative = 1e-9);
    let vault = found.hops.iter().find(|h| h.id == "array.vault").unwrap();
    assert!(
        vault.moving.unwrap() > 0.0,
        "reading and writing move the heads"
    );
}

#[test]
fn verify_layers_on_drives_are_as_many_streams() {
    let layered = |layers: u32, tasks: usize| {
        let task = format!(
            "[[task]]\ndesk = \"cut-1\"\ndoes = \"play\"\ndemand = \"200 MB/s\"\nlayers = {layers}\n"
        );
        let problem = network(&site(LANE, &task.repeat(tasks))).problem(None);
        let mut unheld = problem.clone();
        for flow in &mut unheld.flows {
            flow.most = None;
        }
        let rates = fill(&unheld).unwrap().rates;
        rates.into_iter().map(in_megabytes_per_second).sum::<f64>()
    };
    // four streams move the heads alike, in one task or in four
    assert_relative_eq!(layered(4, 1), layered(1, 4), max_relative = 1e-6);
    assert!(layered(4, 1) < 0.8 * layered(1, 1));
}

#[test]
fn an_ingest_is_held_to_its_card() {
    let task = "[[task]]\ndesk = \"cut-1\"\ndoes = \"ingest\"\ncard = \"sd-uhs-i\"\n";
    let found = together(&site(LANE, task), &COPIES);
    let held = found.tasks[0].held_to_megabytes_per_s.unwrap();
    assert!(in_megabytes_per_second(held.p95) < 104.0);
    assert!(median(&found.tasks[0]) <= in_megabytes_per_second(held.p50) * (1.0 + ALGEBRA));
}

#[test]
fn without_tasks_every_desk_is_at_work() {
    let found = together(&site(LANE, ""), &COPIES);
    assert!(!found.from_tasks);
    assert_eq!(found.tasks.len(), 5);
    assert!(
        found
            .tasks
            .iter()
            .all(|t| t.does == "copy" && t.short_probability.is_none())
    );
    let need = Question {
        need: Some(crate::quantity::megabytes_per_second(50.0)),
        everyone: Activity::Play,
        direction: Direction::Write,
    };
    let found = together(&site(LANE, ""), &need);
    assert!(
        found
            .tasks
            .iter()
            .all(|t| t.does == "play" && t.need.is_some())
    );
    assert!(!found.tasks[3].need.unwrap().met, "sound has 11 MB/s");
}

#[test]
fn a_link_that_does_not_come_up_gives_nothing_and_a_warning() {
    let task = "[[task]]\ndesk = \"colour\"\ndoes = \"play\"\ndemand = \"50 MB/s\"\n";
    let catalogue = catalogue();
    // the reader refuses ports without a common rate, so one is made here
    let mut site = site(LANE, task);
    let desk = site.desks.iter_mut().find(|d| d.name == "colour").unwrap();
    desk.ports[0].knows = vec![crate::quantity::LinkRate::from_megabits(40_000)];
    let found = answer(&site, &COPIES, &catalogue, &mut Draws::new(DRAWS)).unwrap();
    assert!(found.tasks[0].is_short());
    assert!(found.tasks[0].rates.iter().all(|r| *r == 0.0));
    assert!(!found.warnings.is_empty());
}

/// Equal turns give both laptops of a cell the same rate, equal time the same time.
#[test]
fn verify_equal_time_is_a_weight() {
    let mut sites = narrows_data::SITES.iter();
    let (_, whole) = sites
        .find(|(name, _)| *name == "granary-lane-whole")
        .unwrap();
    let shares = |equal_time: &str| -> (Vec<f64>, Vec<f64>) {
        let site = site(&whole.replace("streams    = 2\n", equal_time), "");
        let network = network(&site);
        let at = network.places.iter().position(|p| p.id == "run.9").unwrap();
        let problem = network.problem(None);
        let found = fill(&problem).unwrap();
        let here = problem.visits.iter().filter(|visit| visit.resource == at);
        here.map(|visit| {
            let rate = found.rates[visit.flow].base();
            (rate, rate * visit.cost.base())
        })
        .unzip()
    };
    let (rates, _) = shares("streams = 2\n");
    assert_eq!(rates.len(), 2);
    assert_relative_eq!(rates[0], rates[1], max_relative = ALGEBRA);
    let (rates, times) = shares("streams = 2\nequal-time = true\n");
    assert_relative_eq!(times[0], times[1], max_relative = ALGEBRA);
    assert!(rates[1] > 2.0 * rates[0], "{rates:?}");
}

#[test]
fn weights_turn_shares() {
    let tasks = "[[task]]\ndesk = \"sound\"\ndoes = \"copy\"\nweight = 3\n\
                 [[task]]\ndesk = \"ingest\"\ndoes = \"copy\"\n";
    let found = network(&site(LANE, tasks)).problem(None);
    let rates = fill(&found).unwrap().rates;
    assert_relative_eq!(rates[0].base(), 3.0 * rates[1].base(), max_relative = 1e-6);
}

/// What a desk is said to play has to be what a task of as many layers gets, and one layer more must not
/// hold.
#[test]
fn verify_layers_are_those_of_the_tasks() {
    let uhd = Raster::parse("UHD", &catalogue()).unwrap();
    let frames = FrameRate::parse("25 fps").unwrap();
    let place = site(LANE, "");
    let desks = ["cut-1".to_owned()];
    let mut draws = Draws::new(DRAWS);
    let found = plays(&place, &desks, &[uhd], frames, &catalogue(), &mut draws).unwrap();
    let codecs = &found[0].codecs;
    let named = |name: &str| codecs.iter().find(|c| c.codec == name).unwrap().layers;
    let layers = named("ProRes 422 HQ");
    assert!((1..MOST_LAYERS).contains(&layers), "{layers}");
    assert!(named("ProRes 422 Proxy") > layers);
    for (count, holds) in [(layers, true), (layers + 1, false)] {
        let tasks = format!(
            "[[task]]\ndesk = \"cut-1\"\ndoes = \"play\"\ncodec = \"ProRes 422 HQ\"\nraster = \"UHD\"\n\
             frames = \"25 fps\"\nlayers = {count}\n"
        );
        let with = site(LANE, &tasks);
        let got = together(&with, &COPIES);
        let short = got.tasks[0].short_probability.unwrap();
        // a case or two lie on the edge of 95 of 100
        assert_eq!(short <= 0.06, holds, "{count}: {short}");
    }
}

#[test]
fn no_share_is_above_what_its_desk_gets_alone() {
    // a percentile of what is cut off lies within a few draws of that of what it is cut off at
    const UNCUT: f64 = 0.998;
    let mut bound = 0;
    for (text, tasks) in [(LANE, ""), (FLASH, ""), (LANE, AFTERNOON)] {
        let found = together(&site(text, tasks), &COPIES);
        for task in &found.tasks {
            let (gets, alone) = (task.megabytes_per_s, task.alone_megabytes_per_s);
            for (gets, alone) in [
                (gets.p05, alone.p05),
                (gets.p50, alone.p50),
                (gets.p95, alone.p95),
            ] {
                assert!(
                    gets <= alone * ratio(1.0 + ALGEBRA),
                    "{}: {gets:?}",
                    task.id
                );
            }
            // a share that scatters is cut off at what the desk's own parts let through
            let whole = gets.p95 >= alone.p95 * ratio(UNCUT);
            bound += usize::from(whole && gets.p50 < alone.p50 * ratio(UNCUT));
        }
    }
    assert!(bound > 0);
}
