//! How long many tasks at once take, and how one sharing grows with the number of flows.

use divan::Bencher;
use microlp::{ComparisonOp, LinearExpr, OptimizationDirection, Problem as LinearProgram};
use narrows_benches::cold;
use narrows_core::allocate::{Allocation, Demand, Problem, Resource, Visit, fill};
use narrows_core::catalogue::Catalogue;
use narrows_core::quantity::{
    Measure, TimePerInformation, in_megabytes_per_second, megabytes, megabytes_per_second,
    milliseconds, ratio,
};
use narrows_core::site::{Site, read};
use narrows_core::together::{Network, Question, Together, answer};
use narrows_core::work::{Activity, Direction};
use std::fmt::Write;

fn main() {
    divan::main();
}

const QUESTION: Question = Question {
    everyone: Activity::Copy,
    direction: Direction::Read,
    need: None,
};

/// What each desk does at once.
const ACTIVITIES: [&str; 6] = [
    "does = \"play\"\ndemand = \"30 MB/s\"",
    "does = \"multicam\"\ndemand = \"5 MB/s\"\nangles = 4",
    "does = \"copy\"",
    "does = \"copy\"\ndirection = \"write\"",
    "does = \"backup\"\nheld-to = \"20 MB/s\"",
    "does = \"ingest\"\ncard = \"sd-uhs-ii\"",
];

/// Forty desks behind four switches and one more before the NAS, six tasks each; with slots and disks
/// of their own they pass some 200 places, 120 of which are links, ports or the array's.
fn forty_desks() -> Site {
    floors(4, &ACTIVITIES)
}

/// So many switches with ten desks each, and what is done at every desk; without anything the question says it.
fn floors(count: usize, activities: &[&str]) -> Site {
    let mut text = format!(
        "[array.vault]\nnas = \"store\"\nlayout = \"raid6\"\ndrives = \"12 x 10 TB hdd-7200\"\n\
         [nas.store]\nservice = \"smb\"\nport.a = {{ rate = \"10 Gb/s\" }}\n\
         [switch.middle]\nport.any = {{ rate = \"10 Gb/s\", count = {} }}\n",
        count + 1
    );
    let cable = "cable = \"cat6a\"\nlength = \"20 m\"\nbundle = \"apart\"\n";
    // writing to a string cannot fail
    let mut runs = format!("[[run]]\nfrom = \"nas.store\"\nto = \"switch.middle\"\n{cable}");
    let mut tasks = String::new();
    for switch in 1..=count {
        let _ = write!(
            text,
            "[switch.floor-{switch}]\nport.up = {{ rate = \"10 Gb/s\" }}\n\
             port.any = {{ rate = \"2.5 Gb/s\", count = 10 }}\n"
        );
        let _ = write!(
            runs,
            "[[run]]\nfrom = \"switch.floor-{switch}.up\"\nto = \"switch.middle\"\n{cable}"
        );
        for place in 1..=10 {
            let desk = format!("desk-{switch}-{place}");
            let _ = write!(
                text,
                "[desk.{desk}]\ndisk = \"nvme-gen3\"\nport.a = {{ rate = \"2.5 Gb/s\" }}\n"
            );
            let _ = write!(
                runs,
                "[[run]]\nfrom = \"desk.{desk}\"\nto = \"switch.floor-{switch}.any\"\n{cable}"
            );
            for activity in activities {
                let _ = write!(tasks, "[[task]]\ndesk = \"{desk}\"\n{activity}\n");
            }
        }
    }
    let catalogue = Catalogue::embedded().expect("the catalogue is sound");
    read(&format!("{text}{runs}{tasks}"), &[], &catalogue).expect("the site is sound")
}

/// The whole answer, everything drawn anew: flows, filling, three places lifted, what is reported.
#[divan::bench(sample_count = 10)]
fn forty_desks_of_six_tasks(bencher: Bencher) {
    let (site, catalogue) = (
        forty_desks(),
        Catalogue::embedded().expect("the catalogue is sound"),
    );
    bencher
        .with_inputs(cold)
        .bench_local_values(|mut draws| -> Together {
            answer(&site, &QUESTION, &catalogue, &mut draws).expect("there is an answer")
        });
}

/// So many desks that copy at once: how it grows.
#[divan::bench(args = [100, 300, 1000], sample_count = 3, sample_size = 1)]
fn so_many_desks(bencher: Bencher, desks: usize) {
    let (site, catalogue) = (
        floors(desks / 10, &[]),
        Catalogue::embedded().expect("the catalogue is sound"),
    );
    bencher
        .with_inputs(cold)
        .bench_local_values(|mut draws| -> Together {
            answer(&site, &QUESTION, &catalogue, &mut draws).expect("there is an answer")
        });
}

/// Its flows only: every way built and evaluated, before anything is shared.
#[divan::bench(sample_count = 10)]
fn forty_desks_of_six_tasks_as_flows(bencher: Bencher) {
    let (site, catalogue) = (
        forty_desks(),
        Catalogue::embedded().expect("the catalogue is sound"),
    );
    bencher
        .with_inputs(cold)
        .bench_local_values(|mut draws| -> Network {
            let mut warnings = Vec::new();
            Network::of(&site, &QUESTION, &catalogue, &mut draws, &mut warnings)
                .expect("there is a network")
        });
}

/// Filling alone, once for each draw, as a site is shared without anything else.
#[divan::bench(sample_count = 5)]
fn forty_desks_of_six_tasks_shared_once(bencher: Bencher) {
    let (site, catalogue) = (
        forty_desks(),
        Catalogue::embedded().expect("the catalogue is sound"),
    );
    let mut warnings = Vec::new();
    let network = Network::of(&site, &QUESTION, &catalogue, &mut cold(), &mut warnings)
        .expect("there is a network");
    bencher.bench_local(|| network.shared());
}

/// Flows over a quarter as many resources, each on four of them, half with a demand; one resource in
/// ten has heads.
fn random(flows: usize) -> Problem {
    let resources = (flows / 4).max(4);
    let mut state = 1u64;
    let mut next = move |below: usize| {
        // a linear congruential generator is as random as this needs to be
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % below
    };
    let mut problem = Problem {
        resources: (0..resources)
            .map(|r| Resource {
                move_heads: (r % 10 == 0).then(|| milliseconds(10.0)),
            })
            .collect(),
        ..Problem::default()
    };
    for flow in 0..flows {
        let most = (flow % 2 == 0).then(|| megabytes_per_second(1.0 + next(100) as f64));
        problem.flows.push(Demand { weight: 1.0, most });
        for _ in 0..4 {
            let capacity = megabytes_per_second(100.0 + next(1000) as f64);
            let cost: TimePerInformation = ratio(1.0) / capacity;
            problem.visits.push(Visit {
                flow,
                resource: next(resources),
                cost,
                turn: Some(megabytes(2.0)),
            });
        }
    }
    problem
}

/// One sharing by the number of flows.
#[divan::bench(args = [10, 100, 1000, 10_000])]
fn one_sharing(bencher: Bencher, flows: usize) {
    let problem = random(flows);
    bencher.bench_local(|| -> Allocation { fill(&problem).expect("the problem is sound") });
}

/// The same without heads, which a linear program does not know.
fn without_heads(flows: usize) -> Problem {
    let mut problem = random(flows);
    for resource in &mut problem.resources {
        resource.move_heads = None;
    }
    problem
}

/// What the next one is compared with.
#[divan::bench(args = [10, 100, 1_000, 10_000])]
fn one_sharing_without_heads(bencher: Bencher, flows: usize) {
    let problem = without_heads(flows);
    bencher.bench_local(|| -> Allocation { fill(&problem).expect("it can be filled") });
}

/// One linear program of a general solver: the highest level that all flows reach together. A whole sharing takes one for each
/// level, and one more for each flow that may stop there.
#[divan::bench(args = [10, 100, 1_000], sample_count = 5, sample_size = 1)]
fn first_level_by_a_linear_program(bencher: Bencher, flows: usize) {
    let problem = without_heads(flows);
    bencher.bench_local(|| {
        let mut program = LinearProgram::new(OptimizationDirection::Maximize);
        let level = program.add_var(1.0, (0.0, 1e6));
        let most = |flow: &Demand| flow.most.map_or(1e6, in_megabytes_per_second);
        let rates: Vec<_> = problem
            .flows
            .iter()
            .map(|flow| program.add_var(0.0, (0.0, most(flow))))
            .collect();
        for resource in 0..problem.resources.len() {
            let mut busy = LinearExpr::empty();
            for visit in problem.visits.iter().filter(|v| v.resource == resource) {
                // seconds a megabyte
                busy.add(rates[visit.flow], visit.cost.base() * 1e6);
            }
            program.add_constraint(busy, ComparisonOp::Le, 1.0);
        }
        for (rate, flow) in rates.iter().zip(&problem.flows) {
            program.add_constraint([(*rate, 1.0), (level, -flow.weight)], ComparisonOp::Ge, 0.0);
        }
        let solution = program.solve().expect("rates of nothing are feasible");
        solution.into_solution().is_ok()
    });
}
