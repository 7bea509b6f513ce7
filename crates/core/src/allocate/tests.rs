use super::*;
use crate::quantity::{
    in_megabytes_per_second, megabytes, megabytes_per_second, milliseconds, ratio,
};
use proptest::prelude::*;

/// Half a unit of the sixth printed digit.
const SIX_DIGITS: f64 = 5e-6;
/// Sums of tens of doubles.
const ALGEBRA: f64 = 1e-9;

fn cost(capacity: f64) -> TimePerInformation {
    ratio(1.0) / megabytes_per_second(capacity)
}

/// Flows as (weight, demand in MB/s, resources), over capacities in MB/s.
fn rates(capacities: &[f64], flows: &[(f64, Option<f64>, &[usize])]) -> Vec<f64> {
    let mut problem = Problem {
        resources: vec![Resource::default(); capacities.len()],
        ..Problem::default()
    };
    for (i, (weight, most, path)) in flows.iter().enumerate() {
        problem.flows.push(Demand {
            weight: *weight,
            most: most.map(megabytes_per_second),
        });
        for &resource in *path {
            problem.visits.push(Visit {
                flow: i,
                resource,
                cost: cost(capacities[resource]),
                turn: None,
            });
        }
    }
    fill(&problem)
        .unwrap()
        .rates
        .into_iter()
        .map(in_megabytes_per_second)
        .collect()
}

fn close(found: &[f64], expected: &[f64]) {
    for (f, e) in found.iter().zip(expected) {
        assert!((f - e).abs() <= SIX_DIGITS * e, "{found:?} {expected:?}");
    }
    assert_eq!(found.len(), expected.len());
}

#[test]
fn validate_one_resource_with_demands() {
    // Keshav, An Engineering Approach to Computer Networking (1997), pages 215 to 217
    let on: &[usize] = &[0];
    close(
        &rates(
            &[10.0],
            &[
                (1.0, Some(2.0), on),
                (1.0, Some(2.6), on),
                (1.0, Some(4.0), on),
                (1.0, Some(5.0), on),
            ],
        ),
        &[2.0, 2.6, 2.7, 2.7],
    );
    close(
        &rates(
            &[16.0],
            &[
                (2.5, Some(4.0), on),
                (4.0, Some(2.0), on),
                (0.5, Some(10.0), on),
                (1.0, Some(4.0), on),
            ],
        ),
        &[4.0, 2.0, 6.0, 4.0],
    );
}

/// One second of a channel: three stations that carry 90, 90 and 9 MB/s alone get 7.5 each in turn; by time, with weights
/// as what each carries, 30, 30 and 3. The third that wants only 2 leaves the others 35. Neighbours take 30 %: 5.25. Reading
/// at 86 and writing at 70 at once, 38.5897 each. Four desks that want more than there is, both ways.
#[test]
fn validate_shares_of_a_channel() {
    let shares = |clean: &[f64], weights: &[f64], most: &[Option<f64>]| {
        let flows = weights.iter().zip(most);
        let visits = clean.iter().enumerate();
        let problem = Problem {
            flows: flows
                .map(|(weight, most)| Demand {
                    weight: *weight,
                    most: most.map(megabytes_per_second),
                })
                .collect(),
            resources: vec![Resource::default()],
            visits: visits
                .map(|(flow, clean)| Visit {
                    flow,
                    resource: 0,
                    cost: cost(*clean),
                    turn: None,
                })
                .collect(),
        };
        let rates = fill(&problem).unwrap().rates.into_iter();
        rates.map(in_megabytes_per_second).collect::<Vec<f64>>()
    };
    let three = [90.0, 90.0, 9.0];
    let all = [None; 4];
    close(&shares(&three, &[1.0; 3], &all[..3]), &[7.5; 3]);
    close(&shares(&three, &three, &all[..3]), &[30.0, 30.0, 3.0]);
    close(
        &shares(&three, &[1.0; 3], &[None, None, Some(2.0)]),
        &[35.0, 35.0, 2.0],
    );
    let busy = three.map(|clean| 0.7 * clean);
    close(&shares(&busy, &[1.0; 3], &all[..3]), &[5.25; 3]);
    close(&shares(&[86.0, 70.0], &[1.0; 2], &all[..2]), &[38.5897; 2]);
    let four = [86.0, 86.0, 40.0, 12.0];
    let wants = [25.0, 25.0, 25.0, 10.0].map(Some);
    close(&shares(&four, &[1.0; 4], &wants), &[7.59941; 4]);
    close(&shares(&four, &four, &wants), &[21.5, 21.5, 10.0, 3.0]);
}

#[test]
fn validate_four_links_five_flows() {
    // topology of the example in Bertsekas and Gallager, section 6.5.2: AC, BC, CE, DE
    let third = 1.0 / 3.0;
    close(
        &rates(
            &[1.0; 4],
            &[
                (1.0, None, &[0, 2]),
                (1.0, None, &[1]),
                (1.0, None, &[1]),
                (1.0, None, &[3]),
                (1.0, None, &[1, 2]),
            ],
        ),
        &[2.0 * third, third, third, 1.0, third],
    );
}

#[test]
fn validate_parking_lot() {
    let capacities = [10.0, 30.0, 12.0];
    let flows = |a: Option<f64>, b: Option<f64>, c: Option<f64>| {
        rates(
            &capacities,
            &[
                (1.0, None, &[0, 1, 2]),
                (1.0, a, &[0]),
                (1.0, None, &[1]),
                (1.0, b, &[1]),
                (1.0, None, &[2]),
                (1.0, None, &[2]),
                (1.0, c, &[2]),
            ],
        )
    };
    close(
        &flows(None, None, None),
        &[3.0, 7.0, 13.5, 13.5, 3.0, 3.0, 3.0],
    );
    close(
        &flows(Some(2.0), Some(6.0), Some(1.0)),
        &[3.66667, 2.0, 20.3333, 6.0, 3.66667, 3.66667, 1.0],
    );
}

#[test]
fn validate_a_studio() {
    let clients = [1176.85, 294.213, 117.685, 117.685];
    let studio = |array: f64, uplink: f64, weights: [f64; 4], cap: Option<f64>| {
        let mut capacities = vec![array, uplink];
        capacities.extend(clients);
        rates(
            &capacities,
            &[
                (weights[0], None, &[0, 1, 2]),
                (weights[1], cap, &[0, 1, 3]),
                (weights[2], None, &[0, 1, 4]),
                (weights[3], None, &[0, 1, 5]),
            ],
        )
    };
    let even = [1.0; 4];
    close(
        &studio(700.0, 1176.85, even, None),
        &[232.315, 232.315, 117.685, 117.685],
    );
    close(&studio(400.0, 1176.85, even, None), &[100.0; 4]);
    close(
        &studio(400.0, 1176.85, [2.0, 1.0, 1.0, 1.0], None),
        &[160.0, 80.0, 80.0, 80.0],
    );
    close(
        &studio(400.0, 1176.85, even, Some(20.0)),
        &[144.630, 20.0, 117.685, 117.685],
    );
    close(&studio(2000.0, 294.213, even, None), &[73.5533; 4]);
}

/// Streams of one turn size in MB over heads that move in `ms`, each drive rate in MB/s.
fn heads(turns: &[f64], ms: f64, media: f64) -> Allocation {
    let problem = Problem {
        flows: turns
            .iter()
            .map(|_| Demand {
                weight: 1.0,
                most: None,
            })
            .collect(),
        resources: vec![Resource {
            move_heads: Some(milliseconds(ms)),
        }],
        visits: turns
            .iter()
            .enumerate()
            .map(|(flow, &turn)| Visit {
                flow,
                resource: 0,
                cost: cost(media),
                turn: Some(megabytes(turn)),
            })
            .collect(),
    };
    fill(&problem).unwrap()
}

#[test]
fn validate_interleaved_streams_on_one_drive() {
    // X = S / (t + S / r) for two or more equal streams; t = 12.7667 ms, mean of 1/r for an
    // outer rate of 250 MB/s and a ratio of 0.48 over the whole surface: 1/185 s a megabyte
    for (size, expected) in [
        (0.131072, 9.72693),
        (0.524288, 33.6068),
        (1.048576, 56.8807),
        (4.194304, 118.354),
        (16.777216, 162.170),
    ] {
        for streams in [2, 4, 16] {
            let found: f64 = heads(&vec![size; streams], 12.7667, 185.0)
                .rates
                .into_iter()
                .map(in_megabytes_per_second)
                .sum();
            // t_pos is given to six digits
            assert!(
                (found - expected).abs() < 2e-5 * expected,
                "{streams} x {size}: {found}"
            );
        }
    }
}

/// Units in the last place by which sums that keep their rounding may differ from one division.
const LAST_PLACES: f64 = 8.0 * f64::EPSILON;

#[test]
fn verify_equal_flows_get_equal_shares() {
    let (time, turn) = (milliseconds(12.66), megabytes(4.0));
    for flows in 2..9_u32 {
        for (most, gives) in [(1e9, 250.0), (30.0, 250.0), (40.0, 118.0)] {
            let problem = Problem {
                flows: (0..flows)
                    .map(|_| Demand {
                        weight: 1.0,
                        most: Some(megabytes_per_second(most)),
                    })
                    .collect(),
                resources: vec![
                    Resource::default(),
                    Resource {
                        move_heads: Some(time),
                    },
                ],
                visits: (0..flows as usize)
                    .flat_map(|flow| {
                        [(0, None), (1, Some(turn))].map(|(resource, turn)| Visit {
                            flow,
                            resource,
                            cost: cost(gives * (1.0 + resource as f64)),
                            turn,
                        })
                    })
                    .collect(),
            };
            let plain = 1.0 / cost(gives).base();
            let heads = 1.0 / (cost(gives * 2.0).base() + (time / turn).base());
            let most = megabytes_per_second(most).base();
            let expected = equal_share(plain, flows)
                .min(equal_share(heads, flows))
                .min(most);
            for rate in fill(&problem).unwrap().rates {
                assert!(
                    (rate.base() / expected - 1.0).abs() <= LAST_PLACES,
                    "{flows}: {rate:?} {expected}"
                );
            }
        }
    }
}

#[test]
fn verify_one_stream_pays_no_moves_and_a_small_second_one_little() {
    let alone = heads(&[1.0], 12.0, 185.0);
    approx::assert_relative_eq!(
        in_megabytes_per_second(alone.rates[0]),
        185.0,
        max_relative = ALGEBRA
    );
    let problem = |demand: f64| {
        let mut p = Problem {
            flows: vec![
                Demand {
                    weight: 1.0,
                    most: None,
                },
                Demand {
                    weight: 1.0,
                    most: Some(megabytes_per_second(demand)),
                },
            ],
            resources: vec![Resource {
                move_heads: Some(milliseconds(12.0)),
            }],
            visits: Vec::new(),
        };
        for flow in 0..2 {
            p.visits.push(Visit {
                flow,
                resource: 0,
                cost: cost(185.0),
                turn: Some(megabytes(1.0)),
            });
        }
        in_megabytes_per_second(fill(&p).unwrap().rates[0])
    };
    // a visitor of 0.1 MB/s comes every ten seconds and costs two moves of 12 ms each time
    assert!(problem(0.1) > 184.0, "{}", problem(0.1));
    assert!(problem(10.0) < problem(1.0) && problem(1.0) < problem(0.1));
}

#[test]
fn guards_fire() {
    let flow = Demand {
        weight: 1.0,
        most: None,
    };
    let visit = Visit {
        flow: 0,
        resource: 0,
        cost: cost(1.0),
        turn: None,
    };
    let good = Problem {
        flows: vec![flow],
        resources: vec![Resource::default()],
        visits: vec![visit],
    };
    assert!(fill(&good).is_ok());
    for weight in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let mut bad = good.clone();
        bad.flows[0].weight = weight;
        assert_eq!(fill(&bad), Err(ProblemFault::Weight));
    }
    let mut bad = good.clone();
    bad.visits[0].resource = 1;
    assert_eq!(fill(&bad), Err(ProblemFault::Place));
    let mut bad = good.clone();
    bad.flows[0].most = Some(megabytes_per_second(-1.0));
    assert_eq!(fill(&bad), Err(ProblemFault::Amount));
    let mut bad = good.clone();
    bad.visits[0].turn = Some(megabytes(0.0));
    assert_eq!(fill(&bad), Err(ProblemFault::Amount));
    let mut bad = good;
    bad.resources[0].move_heads = Some(milliseconds(-1.0));
    assert_eq!(fill(&bad), Err(ProblemFault::Amount));
}

#[test]
fn a_flow_that_nothing_holds_is_without_bound() {
    let problem = Problem {
        flows: vec![Demand {
            weight: 1.0,
            most: None,
        }],
        ..Problem::default()
    };
    let found = fill(&problem).unwrap();
    assert!(found.rates[0].base().is_infinite() && found.binding[0].is_empty());
}

mod linear;

/// A random network of a few resources, some with heads.
fn network() -> impl Strategy<Value = Problem> {
    let flow = (0.5f64..4.0, prop::option::of(0.1f64..60.0));
    let resource = (5.0f64..100.0, prop::option::of(0.5f64..15.0));
    (
        prop::collection::vec((flow, 1u8..64), 1..7),
        prop::collection::vec(resource, 6),
    )
        .prop_map(|(flows, resources)| {
            let mut problem = Problem {
                resources: resources
                    .iter()
                    .map(|(_, t)| Resource {
                        move_heads: t.map(milliseconds),
                    })
                    .collect(),
                ..Problem::default()
            };
            for (i, ((weight, most), path)) in flows.into_iter().enumerate() {
                problem.flows.push(Demand {
                    weight,
                    most: most.map(megabytes_per_second),
                });
                for (r, (capacity, _)) in resources.iter().enumerate() {
                    if path & (1 << r) != 0 {
                        problem.visits.push(Visit {
                            flow: i,
                            resource: r,
                            cost: cost(*capacity),
                            turn: Some(megabytes(0.5)),
                        });
                    }
                }
            }
            problem
        })
}

fn busy(problem: &Problem, rates: &[DataRate], resource: usize) -> f64 {
    let visits: Vec<_> = problem
        .visits
        .iter()
        .filter(|v| v.resource == resource)
        .collect();
    let mut sum: f64 = visits.iter().map(|v| (v.cost * rates[v.flow]).value).sum();
    if let Some(t) = problem.resources[resource].move_heads {
        let n: Vec<f64> = visits
            .iter()
            .map(|v| rates[v.flow].base() / v.turn.map_or(1.0, Measure::base))
            .collect();
        let all: f64 = n.iter().sum();
        sum += n.iter().map(|x| t.base() * x.min(all - x)).sum::<f64>();
    }
    sum
}

proptest! {
    #[test]
    fn property_max_min_condition_holds(problem in network()) {
        let found = fill(&problem).unwrap();
        for r in 0..problem.resources.len() {
            prop_assert!(busy(&problem, &found.rates, r) <= 1.0 + ALGEBRA);
        }
        for (i, demand) in problem.flows.iter().enumerate() {
            let level = found.rates[i].base() / demand.weight;
            let met = demand.most.is_some_and(|m| {
                assert!(found.rates[i] <= m * ratio(1.0 + ALGEBRA));
                found.rates[i] >= m * ratio(1.0 - ALGEBRA)
            });
            // every flow meets its demand or a full resource where none is larger
            let bound = found.binding[i].iter().any(|&r| {
                busy(&problem, &found.rates, r) >= 1.0 - ALGEBRA
                    && problem.visits.iter().filter(|v| v.resource == r).all(|v| {
                        found.rates[v.flow].base() / problem.flows[v.flow].weight
                            <= level * (1.0 + ALGEBRA)
                    })
            });
            prop_assert!(met || bound, "flow {} of {:?}", i, found);
        }
    }

    #[test]
    fn property_a_better_part_never_lowers_the_sorted_rates(
        problem in network(), which in 0usize..6, gain in 1.0f64..3.0,
    ) {
        let mut before = problem;
        for flow in &mut before.flows {
            flow.weight = 1.0;
        }
        let mut after = before.clone();
        for visit in &mut after.visits {
            if visit.resource == which {
                visit.cost = visit.cost / ratio(gain);
            }
        }
        if let Some(t) = after.resources[which].move_heads {
            after.resources[which].move_heads = Some(t / ratio(gain));
        }
        let sorted = |p: &Problem| {
            let mut rates: Vec<f64> = fill(p).unwrap().rates.iter().map(|r| r.base()).collect();
            rates.sort_by(f64::total_cmp);
            rates
        };
        for (b, a) in sorted(&before).into_iter().zip(sorted(&after)) {
            if a > b * (1.0 + ALGEBRA) {
                break;
            }
            prop_assert!(a >= b * (1.0 - ALGEBRA), "{} then {}", b, a);
        }
    }

    #[test]
    fn property_one_flow_gets_the_least_of_its_ceilings(
        capacities in prop::collection::vec(1.0f64..1000.0, 1..12),
    ) {
        let path: Vec<usize> = (0..capacities.len()).collect();
        let found = rates(&capacities, &[(1.0, None, &path)])[0];
        let least = capacities.iter().copied().fold(f64::INFINITY, f64::min);
        prop_assert!((found - least).abs() <= ALGEBRA * least);
    }
}
