//! The same crowd played event by event.

use super::{crowd, editors, in_seconds, one, per_hour};
use crate::quantity::{seconds, units};
use crate::room::Stream;
use rand_core::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// What came of it.
struct Played {
    /// Share of the time above the capacity.
    chance: f64,
    /// Spells an hour.
    spells: f64,
    /// Times an hour that each read-ahead ran dry.
    stalls: Vec<f64>,
}

/// Plays streams of exponential spells over a path, in megabits a second, for some hours.
///
/// While demand is above the capacity all that play fall behind alike; below it they read ahead
/// again, at once.
fn play(streams: &[Stream], capacity: f64, aheads: &[f64], hours: f64) -> Played {
    let mut random = Pcg64Mcg::seed_from_u64(20);
    let mut exponential = |mean: f64| {
        let uniform = (random.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
        -mean * libm::log1p(-uniform)
    };
    let of = |s: &Stream| {
        let (active, spell) = (one(s.active), in_seconds(s.spell));
        let rate = s.rate.get::<units::data_rate::megabit_per_second>();
        (rate, spell, spell * (1.0 - active) / active)
    };
    let streams: Vec<(f64, f64, f64)> = streams.iter().map(of).collect();
    let mut on = vec![false; streams.len()];
    let mut next: Vec<f64> = streams.iter().map(|s| exponential(s.2)).collect();
    let end = hours * 3600.0;
    let (mut now, mut over_time, mut spells) = (0.0, 0.0, 0_u32);
    let mut behind: f64 = 0.0;
    let mut stalls = vec![0_u32; aheads.len()];
    let mut was_over = false;
    while now < end {
        let demand: f64 = streams
            .iter()
            .zip(&on)
            .filter(|(_, on)| **on)
            .map(|(s, _)| s.0)
            .sum();
        let over = demand > capacity;
        if over && !was_over {
            spells += 1;
        }
        was_over = over;
        let (who, at) = next
            .iter()
            .copied()
            .enumerate()
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap();
        let length = at - now;
        if over {
            over_time += length;
            let before = behind;
            behind += length * (1.0 - capacity / demand);
            for (count, ahead) in stalls.iter_mut().zip(aheads) {
                *count += u32::from(before < *ahead && behind >= *ahead);
            }
        } else {
            behind = 0.0;
        }
        now = at;
        let (_, spell, pause) = streams[who];
        on[who] = !on[who];
        next[who] = now + exponential(if on[who] { spell } else { pause });
    }
    Played {
        chance: over_time / now,
        spells: f64::from(spells) / hours,
        stalls: stalls
            .iter()
            .map(|count| f64::from(*count) / hours)
            .collect(),
    }
}

/// Relative scatter of a count of some ten thousand spells that are not independent, four times
/// over.
const COUNTED: f64 = 0.04;

#[test]
fn verify_spells_by_events() {
    let mut mixed = vec![super::stream(608.0, 0.3, 30.0); 4];
    mixed.extend([super::stream(1768.0, 0.5, 45.0); 2]);
    for (streams, capacity, hours) in [(editors(10), 6600.0, 2000.0), (mixed, 3600.0, 2000.0)] {
        let played = play(&streams, capacity, &[], hours);
        let found = crowd(capacity, &streams).overload();
        assert!(
            (played.chance / one(found.chance) - 1.0).abs() < COUNTED,
            "{}",
            played.chance
        );
        assert!(
            (played.spells / per_hour(found.spells) - 1.0).abs() < COUNTED,
            "{}",
            played.spells
        );
    }
}

#[test]
fn verify_stalls_by_events() {
    let aheads = [0.25, 0.5, 1.0];
    let played = play(&editors(10), 6600.0, &aheads, 4000.0);
    let found = crowd(6600.0, &editors(10)).overload();
    for (ahead, stalls) in aheads.into_iter().zip(&played.stalls) {
        let about = per_hour(found.stalls(seconds(ahead)));
        let factor = about / stalls;
        // one level of demand in place of several is wrong by this much
        assert!(
            (0.2..1.6).contains(&factor),
            "{ahead} s: {about} for {stalls}"
        );
    }
}
