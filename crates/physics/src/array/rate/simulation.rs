//! Streams on moving heads, event by event, to check the models of several streams.

use super::heads::class_7200;
use super::{Heads, Zones, interleaved, many_streams, pieces};
use crate::array::Bytes;
use narrows_units::quantity::units::data_rate::byte_per_second;
use narrows_units::quantity::units::information::byte;
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{in_megabytes_per_second, megabytes_per_second, ratio, terabytes};
use rand_core::Rng;
use rand_pcg::Pcg64Mcg;

/// The model must lie this close to the simulation.
const WITHIN: f64 = 0.05;

fn uniform(generator: &mut Pcg64Mcg) -> f64 {
    (generator.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
}

fn zones() -> Zones {
    Zones::new(megabytes_per_second(250.0), ratio(0.48), terabytes(12.0)).unwrap()
}

/// Distance from the outer edge, as a share of the stroke.
fn radius(zones: &Zones, at: f64) -> f64 {
    zones.stroke(ratio(at)).get::<one>()
}

/// Seconds for one visit: seek from where the head is, a random part of a turn, the transfer.
fn visit(
    (zones, heads): (&Zones, &Heads),
    head: &mut f64,
    at: f64,
    size: f64,
    generator: &mut Pcg64Mcg,
) -> f64 {
    let to = radius(zones, at);
    let seek = heads.seek(ratio((to - *head).abs()));
    *head = to;
    let turn = heads.turn * uniform(generator);
    let transfer = size / zones.rate(ratio(at)).get::<byte_per_second>();
    (seek + turn + heads.overhead).value + transfer
}

#[test]
fn verify_streams_against_simulation() {
    let (zones, heads) = (zones(), class_7200());
    let mut generator = Pcg64Mcg::new(0x5851_f42d_4c95_7f2d_1405_7b7e_f767_814f);
    for turn in [128, 512, 1024, 4096, 16384].map(Bytes::kibibytes) {
        let size = turn.get() as f64;
        for streams in [2_usize, 4, 8, 16] {
            for sweep in [false, true] {
                let (mut bytes, mut time) = (0.0, 0.0);
                for _ in 0..400 {
                    let mut places: Vec<f64> =
                        (0..streams).map(|_| uniform(&mut generator)).collect();
                    if sweep {
                        places.sort_by(f64::total_cmp);
                    }
                    let mut head = radius(&zones, *places.last().unwrap());
                    for round in 0..3 {
                        for place in &places {
                            // in random order a stream is as likely to be asked for as any other
                            // but the last one served
                            let at = if sweep || streams == 2 {
                                *place
                            } else {
                                uniform(&mut generator)
                            };
                            let took = visit((&zones, &heads), &mut head, at, size, &mut generator);
                            if round > 0 {
                                bytes += size;
                                time += took;
                            }
                        }
                    }
                }
                let simulated = bytes / time / 1e6;
                let all = ratio(1.0);
                let position = if sweep {
                    heads.to_next_of(streams, all)
                } else {
                    heads.to_random_place(all)
                };
                let model = interleaved(turn.information(), position, zones.mean_cost(all));
                let model = in_megabytes_per_second(model);
                let off = model / simulated - 1.0;
                assert!(
                    off.abs() < WITHIN,
                    "{size} {streams} {sweep}: {model} {simulated}"
                );
            }
        }
    }
}

/// Rate of streams that each have one request outstanding, in pieces on the drives of an array
/// with rotating parity: every drive serves its own queue in order of arrival.
fn array_rate(parity: usize, streams: usize, request: f64, generator: &mut Pcg64Mcg) -> f64 {
    const DRIVES: usize = 8;
    const REQUESTS: usize = 4000;
    let (zones, heads) = (zones(), class_7200());
    let piece = pieces(
        narrows_units::quantity::bytes(request),
        Bytes::kibibytes(512).information(),
        DRIVES - parity,
    );
    let size = piece.size.get::<byte>();
    let places: Vec<f64> = (0..streams).map(|_| 0.5 * uniform(generator)).collect();
    let rows = request / (524_288.0 * (DRIVES - parity) as f64);
    let mut row: Vec<f64> = (0..streams)
        .map(|_| uniform(generator) * DRIVES as f64)
        .collect();
    let mut head = [0.2; DRIVES];
    let mut free = [0.0_f64; DRIVES];
    let mut ready = vec![0.0; streams];
    let mut end = 0.0_f64;
    for _ in 0..REQUESTS {
        // first come, first served: the request that is ready first is queued first
        let next = (0..streams)
            .min_by(|a, b| f64::total_cmp(&ready[*a], &ready[*b]))
            .unwrap_or(0);
        // a stream goes on where it was, and every row begins one drive further
        let first = row[next] as usize % DRIVES;
        row[next] += rows;
        let mut done = 0.0_f64;
        for i in 0..piece.count {
            let drive = (first + i) % DRIVES;
            let start = free[drive].max(ready[next]);
            let took = visit(
                (&zones, &heads),
                &mut head[drive],
                places[next],
                size,
                generator,
            );
            free[drive] = start + took;
            done = done.max(free[drive]);
        }
        ready[next] = done;
        end = end.max(done);
    }
    request * REQUESTS as f64 / end / 1e6
}

#[test]
fn verify_array_streams_against_simulation() {
    let (zones, heads, half) = (zones(), class_7200(), ratio(0.5));
    let mut generator = Pcg64Mcg::new(0x1405_7b7e_f767_814f_5851_f42d_4c95_7f2d);
    let request = Bytes::kibibytes(4096).information();
    for (parity, streams) in [(1, 4), (1, 8), (2, 8), (1, 16), (2, 16), (4, 8), (4, 16)] {
        // many sets of places, so that no lucky one decides
        let runs = 40;
        let mut simulated = 0.0;
        for _ in 0..runs {
            simulated += array_rate(parity, streams, request.get::<byte>(), &mut generator);
        }
        simulated /= f64::from(runs);
        let piece = pieces(request, Bytes::kibibytes(512).information(), 8 - parity);
        let position = heads.to_random_place(zones.stroke(half));
        let model = many_streams(8, piece.size, position, zones.mean_cost(half));
        let model = in_megabytes_per_second(model);
        let off = model / simulated - 1.0;
        assert!(
            off.abs() < WITHIN,
            "{parity} {streams}: {model} {simulated}"
        );
        // the rule of data drives only would be far off
        let naive = model / 8.0 * (8 - parity) as f64;
        assert!(parity < 2 || (naive / simulated - 1.0).abs() > WITHIN);
    }
}
