use super::*;
use crate::allocate::{Demand, Problem, Visit, fill};
use crate::quantity::units;
use crate::site::read_bytes;
use crate::work::Does;

const DRAWS: usize = 128;

fn read(name: &str, tasks: &str) -> Site {
    let (_, text) = narrows_data::SITES
        .iter()
        .find(|(site, _)| *site == name)
        .unwrap();
    let catalogue = Catalogue::embedded().unwrap();
    read_bytes(format!("{text}\n{tasks}").as_bytes(), &[], &catalogue).unwrap()
}

fn network(site: &Site) -> Network {
    let question = Question {
        everyone: Activity::Play,
        direction: Direction::Read,
        need: None,
    };
    let (catalogue, mut draws) = (Catalogue::embedded().unwrap(), Draws::new(DRAWS));
    Network::of(site, &question, &catalogue, &mut draws, &mut Vec::new()).unwrap()
}

fn room_in(site: &Site) -> SiteRoom {
    room_of(
        site,
        &Catalogue::embedded().unwrap(),
        &mut Draws::new(DRAWS),
    )
    .unwrap()
}

/// How many of a flow fit beside the others in a draw, counted by sharing itself.
fn fit_by_sharing(network: &Network, site: &Site, flow: usize, draw: usize) -> u32 {
    let places = network.beyond(site, flow);
    let mut problem: Problem = network.problem(Some(draw));
    // desks alone are no matter here: what counts is what they share
    for (other, demand) in problem.flows.iter_mut().enumerate() {
        demand.most = Some(DataRate::from_base(network.asks(other, draw)));
    }
    problem
        .visits
        .retain(|visit| places.contains(&visit.resource));
    let own: Vec<Visit> = problem
        .visits
        .iter()
        .filter(|v| v.flow == flow)
        .copied()
        .collect();
    let demand: Demand = problem.flows[flow];
    for more in 0.. {
        let found = fill(&problem).unwrap();
        let met = |(rate, demand): (&DataRate, &Demand)| {
            demand.most.is_none_or(|most| *rate >= most * (1.0 - 1e-9))
        };
        if !found.rates.iter().zip(&problem.flows).all(met) {
            return more - 1;
        }
        let flow = problem.flows.len();
        problem.flows.push(demand);
        problem
            .visits
            .extend(own.iter().map(|v| Visit { flow, ..*v }));
    }
    0
}

const PLAYING: &str = "\n[[task]]\ndesk = \"cut-1\"\ndoes = \"play\"\ndemand = \"25 MB/s\"\n\
    active = \"40 %\"\nspell = \"20 s\"\n";

#[test]
fn verify_room_is_where_sharing_ends() {
    for (name, heads) in [("granary-lane", true), ("flash-array", false)] {
        let desk = read(name, "").desks[0].name.clone();
        let site = read(name, &PLAYING.replace("cut-1", &desk));
        let network = network(&site);
        let mut counted = Vec::new();
        for draw in 0..DRAWS {
            let expected = fit_by_sharing(&network, &site, 0, draw);
            let free = |place: usize| {
                let cost = network.cost_of(&network.passes(0), place, draw);
                // the only task takes as much as one more would
                let one = network.asks(0, draw) * cost;
                whole((1.0 - one) / one)
            };
            let found = network
                .beyond(&site, 0)
                .into_iter()
                .map(free)
                .min()
                .unwrap();
            // heads are reckoned to move at every turn, which they nearly do
            let near = if heads {
                found <= expected && expected <= found + 1
            } else {
                found == expected
            };
            assert!(near, "{name} {draw}: {found} {expected}");
            counted.push(found);
        }
        counted.sort_unstable();
        let more = &room_in(&site).more[0];
        assert_eq!(more.at_once.middle, counted[DRAWS / 2]);
        assert_eq!(more.at_once.surely, counted[DRAWS * 5 / 100]);
        assert_eq!(more.tasks, ["task.1"]);
    }
}

#[test]
fn pauses_count_only_where_they_are_told_and_there_are_many() {
    let site = read("granary-lane", &PLAYING.replace("25 MB/s", "4 MB/s"));
    let more = room_in(&site).more.remove(0);
    let Pausing::Counted { room, active, .. } = &more.pausing else {
        panic!("{more:?}");
    };
    assert!(room.more() > more.at_once.middle, "{more:?}");
    assert!((active.base() - 0.4).abs() < 1e-12);
    // one of the others does not say how it pauses
    let silent = "\n[[task]]\ndesk = \"cut-2\"\ndoes = \"play\"\ndemand = \"4 MB/s\"\n";
    let both = format!("{}{silent}", PLAYING.replace("25 MB/s", "4 MB/s"));
    let found = room_in(&read("granary-lane", &both));
    for more in &found.more {
        assert_eq!(more.pausing, Pausing::NotTold(vec!["task.2".to_owned()]));
    }
    // a large stream: few fit
    let large = room_in(&read(
        "granary-lane",
        &PLAYING.replace("25 MB/s", "90 MB/s"),
    ));
    assert_eq!(large.more[0].pausing, Pausing::Few);
}

#[test]
fn what_is_held_takes_room_and_what_is_not_is_named() {
    let plain = read("granary-lane", PLAYING);
    let held = "\n[[task]]\ndesk = \"cut-2\"\ndoes = \"backup\"\nheld-to = \"100 MB/s\"\n";
    let beside = read("granary-lane", &format!("{PLAYING}{held}"));
    let (alone, less) = (room_in(&plain), room_in(&beside));
    assert!(less.more[0].at_once.middle + 3 <= alone.more[0].at_once.middle);
    assert!(less.not_counted.is_empty());
    let free = "\n[[task]]\ndesk = \"cut-2\"\ndoes = \"copy\"\n";
    let beside = room_in(&read("granary-lane", &format!("{PLAYING}{free}")));
    assert_eq!(beside.not_counted, ["task.2"]);
    assert_eq!(beside.more[0].at_once, alone.more[0].at_once);
    // no tasks, no room to speak of
    let nothing = room_in(&read("granary-lane", ""));
    assert!(nothing.more.is_empty() && nothing.handling.is_empty());
}

#[test]
fn tasks_that_are_alike_are_counted_once() {
    let two = format!("{PLAYING}{}", PLAYING.replace("cut-1", "cut-2"));
    let other = PLAYING.replace("25 MB/s", "26 MB/s");
    let found = room_in(&read("granary-lane", &format!("{two}{other}"))).more;
    assert_eq!(found.len(), 2);
    assert_eq!(found[0].desks, ["cut-1", "cut-2"]);
    assert_eq!(found[0].tasks, ["task.1", "task.2"]);
}

#[test]
fn a_desk_behind_the_slow_switch_counts_the_run_behind_it() {
    let task = PLAYING
        .replace("cut-1", "sound")
        .replace("25 MB/s", "4 MB/s");
    let site = read("granary-lane", &task);
    assert_eq!(site.tasks[0].does, Does::Play);
    let more = room_in(&site).more.remove(0);
    // 100 Mb/s carry two streams of 4 MB/s, one of which is there
    assert_eq!(more.at_once.middle, 1, "{more:?}");
    assert!(more.place.unwrap().starts_with("run."));
    assert_eq!(more.pausing, Pausing::Few);
    assert!((more.rate.get::<units::data_rate::megabyte_per_second>() - 4.0).abs() < 1e-9);
}
