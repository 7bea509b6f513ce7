use super::super::patching::{Pair, Patching, SECOND, Stream};
use crate::quantity::{DataRate, megabytes_per_second};
use crate::work::Direction;
use proptest::prelude::*;

fn both(rate: f64) -> [DataRate; 2] {
    [megabytes_per_second(rate); 2]
}

#[allow(clippy::unnecessary_wraps)] // a cell of the table
fn pair(seconds: i128, own: f64, behind: &[usize]) -> Option<Pair> {
    Some(Pair {
        waits: seconds * SECOND,
        own: both(own),
        behind: behind.to_vec(),
    })
}

fn reads(desk: usize, demand: f64) -> Stream {
    Stream {
        desk,
        direction: Direction::Read,
        demand: megabytes_per_second(demand),
    }
}

#[test]
fn a_stream_gets_a_fast_port_before_any_waiting_counts() {
    // the second desk would save a thousand times as much, and waits
    let patching = Patching {
        pairs: vec![
            vec![pair(1, 1100.0, &[]), pair(2, 110.0, &[])],
            vec![pair(1000, 1100.0, &[]), pair(9000, 110.0, &[])],
        ],
        streams: vec![reads(0, 250.0)],
        shared: Vec::new(),
    };
    let found = patching.solve(&|| true).unwrap();
    assert_eq!(found.ports, [Some(0), Some(1)]);
    assert!(found.short.is_empty());
    let without = Patching {
        streams: Vec::new(),
        ..patching
    };
    assert_eq!(without.solve(&|| true).unwrap().ports, [Some(1), Some(0)]);
}

#[test]
fn a_link_behind_the_ports_that_would_be_over_full_is_relieved() {
    // both would stand behind the link, which carries one of their streams only
    let patching = Patching {
        pairs: vec![
            vec![
                pair(1, 500.0, &[0]),
                pair(1, 500.0, &[0]),
                pair(50, 500.0, &[]),
            ],
            vec![
                pair(1, 500.0, &[0]),
                pair(1, 500.0, &[0]),
                pair(20, 500.0, &[]),
            ],
        ],
        streams: vec![reads(0, 80.0), reads(1, 80.0)],
        shared: vec![both(110.0)],
    };
    let found = patching.solve(&|| true).unwrap();
    assert_eq!(found.ports[1], Some(2), "the one that loses less moves");
    assert!(found.short.is_empty() && !found.given_up);
    assert_eq!(found.relieved, [0]);
    // the other way is a resource of its own
    let mut to_and_fro = patching.clone();
    to_and_fro.streams[1].direction = Direction::Write;
    let found = to_and_fro.solve(&|| true).unwrap();
    assert_eq!(found.ports.iter().flatten().max(), Some(&1));
    assert!(found.relieved.is_empty());
}

#[test]
fn what_no_arrangement_carries_is_told_with_its_share() {
    let patching = Patching {
        pairs: vec![
            vec![pair(1, 500.0, &[0]), pair(1, 500.0, &[0])],
            vec![pair(1, 500.0, &[0]), pair(1, 500.0, &[0])],
        ],
        streams: vec![reads(0, 80.0), reads(1, 80.0)],
        shared: vec![both(110.0)],
    };
    let found = patching.solve(&|| true).unwrap();
    assert_eq!(found.short.len(), 2);
    for short in &found.short {
        assert_eq!(short.full, [0]);
        assert!((short.gets / megabytes_per_second(55.0)).value - 1.0 < 1e-9);
    }
    // no port at all
    let none = Patching {
        pairs: vec![vec![None], vec![pair(1, 500.0, &[])]],
        streams: vec![reads(0, 80.0)],
        shared: Vec::new(),
    };
    let found = none.solve(&|| true).unwrap();
    assert_eq!(found.ports, [None, Some(0)]);
    assert_eq!(found.short.len(), 1);
    assert_eq!(found.short[0].gets, DataRate::default());
}

/// The least waiting of all arrangements that give every desk a port and every stream its rate.
fn by_trying(patching: &Patching, ports: &mut Vec<Option<usize>>, best: &mut Option<i128>) {
    let desk = ports.len();
    if desk == patching.pairs.len() {
        if patching.short(ports).unwrap().is_empty() {
            let waits = |(desk, port): (usize, &Option<usize>)| {
                patching.pairs[desk][port.unwrap()].as_ref().unwrap().waits
            };
            let sum: i128 = ports.iter().enumerate().map(waits).sum();
            *best = Some(best.map_or(sum, |b| b.min(sum)));
        }
        return;
    }
    for port in 0..patching.pairs[desk].len() {
        if patching.pairs[desk][port].is_some() && !ports.contains(&Some(port)) {
            ports.push(Some(port));
            by_trying(patching, ports, best);
            ports.pop();
        }
    }
}

fn puzzles() -> impl Strategy<Value = Patching> {
    (2..5_usize, 3..6_usize).prop_flat_map(|(desks, ports)| {
        let cell = prop_oneof![
            1 => Just(None),
            5 => (0..30_i128, 1..4_u32).prop_map(|(seconds, own)| Some((seconds, own)))
        ];
        let cells = prop::collection::vec(prop::collection::vec(cell, ports), desks);
        // ports behind no link, behind one, or behind both
        let behind = prop::collection::vec(0..3_usize, ports);
        let streams = prop::collection::vec((0..desks, any::<bool>(), 1..4_u32), 0..5);
        (cells, behind, streams, 1..5_u32, 1..6_u32).prop_map(
            |(cells, behind, streams, near, far)| {
                let links = |port: usize| match behind[port] {
                    0 => vec![],
                    1 => vec![0],
                    _ => vec![0, 1],
                };
                let row = |row: Vec<Option<(i128, u32)>>| {
                    let cells = row.into_iter().enumerate();
                    let cell = |(port, cell): (usize, Option<(i128, u32)>)| {
                        let (seconds, own) = cell?;
                        pair(seconds, f64::from(own) * 60.0, &links(port))
                    };
                    cells.map(cell).collect()
                };
                Patching {
                    pairs: cells.into_iter().map(row).collect(),
                    streams: streams
                        .into_iter()
                        .map(|(desk, read, demand)| Stream {
                            desk,
                            direction: if read {
                                Direction::Read
                            } else {
                                Direction::Write
                            },
                            demand: megabytes_per_second(f64::from(demand) * 50.0),
                        })
                        .collect(),
                    shared: vec![both(f64::from(near) * 60.0), both(f64::from(far) * 60.0)],
                }
            },
        )
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]
    #[test]
    fn property_what_is_feasible_is_found_and_nothing_cheaper_is(patching in puzzles()) {
        let found = patching.solve(&|| true).unwrap();
        let mut best = None;
        by_trying(&patching, &mut Vec::new(), &mut best);
        prop_assert!(!found.given_up);
        let all = found.ports.iter().all(Option::is_some);
        if let Some(best) = best {
            prop_assert!(found.short.is_empty() && all, "{found:?}");
            let waits = |(desk, port): (usize, &Option<usize>)| {
                patching.pairs[desk][port.unwrap()].as_ref().unwrap().waits
            };
            let sum: i128 = found.ports.iter().enumerate().map(waits).sum();
            prop_assert_eq!(sum, best);
        } else {
            prop_assert!(!found.short.is_empty() || !all);
        }
    }
}
