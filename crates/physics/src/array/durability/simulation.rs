//! Groups of drives that fail and are repaired, event by event, to check the chain.

use super::{RepairChain, Repairs, year, yearly};
use narrows_units::quantity::units::frequency::per_hour;
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::units::time::hour;
use narrows_units::quantity::{Time, percent, ratio};
use rand_core::Rng;
use rand_pcg::Pcg64Mcg;

struct Case {
    drives: usize,
    tolerated: usize,
    afr: f64,
    repair: f64,
    repairs: Repairs,
    unreadable: f64,
    /// What the chain gives, six digits, from an independent computation.
    expected: f64,
}

fn uniform(generator: &mut Pcg64Mcg) -> f64 {
    (generator.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
}

fn exponential(generator: &mut Pcg64Mcg, mean: f64) -> f64 {
    -libm::log1p(-uniform(generator)) * mean
}

/// Each drive has its own clock of failure, each failed one its own end of repair (or, in turn,
/// the first of them): no state counts and no rates add up, unlike in the chain.
fn lost(case: &Case, generator: &mut Pcg64Mcg) -> bool {
    let life = 1.0 / yearly(percent(case.afr * 100.0)).get::<per_hour>();
    let mut fails: Vec<f64> = (0..case.drives)
        .map(|_| exponential(generator, life))
        .collect();
    // end of repair of each failed drive, in the order of failure
    let mut failed: Vec<(usize, f64)> = Vec::new();
    loop {
        let next_fail = fails
            .iter()
            .copied()
            .enumerate()
            .filter(|(i, _)| failed.iter().all(|(d, _)| d != i))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        let next_repair = match case.repairs {
            Repairs::Parallel => failed.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1)),
            Repairs::Serial => failed.first().copied(),
        };
        let (drive, time) = next_fail.unwrap_or((0, f64::INFINITY));
        let repaired = next_repair.filter(|(_, end)| *end <= time);
        let now = repaired.map_or(time, |(_, end)| end);
        if now > 8760.0 {
            return false;
        }
        if let Some((drive, _)) = repaired {
            if failed.len() == case.tolerated && uniform(generator) < case.unreadable {
                return true;
            }
            failed.retain(|(d, _)| *d != drive);
            if let Some(slot) = fails.get_mut(drive) {
                *slot = now + exponential(generator, life);
            }
            if case.repairs == Repairs::Serial
                && let Some(first) = failed.first_mut()
            {
                first.1 = now + exponential(generator, case.repair);
            }
        } else {
            if failed.len() == case.tolerated {
                return true;
            }
            failed.push((drive, now + exponential(generator, case.repair)));
        }
    }
}

#[test]
fn verify_chain_against_simulation() {
    const MISSIONS: u32 = 200_000;
    /// Standard errors: six cases, one in ten thousand such runs would fall outside.
    const BARS: f64 = 4.2;
    let case = |drives, tolerated, afr, repair, repairs, unreadable, expected| Case {
        drives,
        tolerated,
        afr,
        repair,
        repairs,
        unreadable,
        expected,
    };
    for case in [
        case(8, 1, 0.5, 100.0, Repairs::Parallel, 0.0, 0.238530),
        case(8, 2, 0.9, 200.0, Repairs::Parallel, 0.0, 0.447897),
        case(8, 2, 0.9, 200.0, Repairs::Serial, 0.0, 0.631753),
        case(8, 1, 0.5, 50.0, Repairs::Parallel, 0.2, 0.696721),
        case(6, 2, 0.9, 300.0, Repairs::Parallel, 0.1, 0.518474),
        case(2, 1, 0.5, 200.0, Repairs::Parallel, 0.0, 0.0202881),
    ] {
        let chain = RepairChain::new(
            case.drives,
            case.tolerated,
            yearly(ratio(case.afr)),
            (Time::new::<hour>(case.repair), case.repairs),
            ratio(case.unreadable),
            ratio(1.0),
        )
        .unwrap();
        let share = chain.loss_within(year()).get::<one>();
        approx::assert_relative_eq!(share, case.expected, max_relative = 5e-5);
        let mut generator = Pcg64Mcg::new(0x9e37_79b9_7f4a_7c15_f39c_c060_5ced_c835);
        let losses = (0..MISSIONS)
            .filter(|_| lost(&case, &mut generator))
            .count();
        let missions = f64::from(MISSIONS);
        let error = (share * (1.0 - share) / missions).sqrt();
        let score = (losses as f64 / missions - share) / error;
        assert!(
            score.abs() < BARS,
            "{} {}: {score}",
            case.drives,
            case.tolerated
        );
    }
}
