//! How far the answer moves with what is judged, recomputed: margins in dB, all at the digits of an
//! independent computation.

use super::*;
use crate::copper::Gauge;
use Bundle::{Alone, Loose, Tight};
use Category::{Cat5e, Cat6, Cat6a};

/// Half a unit of the first decimal, and half a hundredth for the grids of the two computations: a
/// row that is printed as 0 is -0.052 dB here.
const DIFFERENCE: f64 = 0.055;

fn cases(c: &Copper) -> [Case; 6] {
    [
        Case::new(c, 10000, run(Cat6a, Tight, 100.0)),
        Case::new(c, 10000, run(Cat6, Tight, 55.0)),
        Case::new(c, 10000, run(Cat5e, Loose, 45.0)),
        Case::new(c, 10000, run(Cat5e, Alone, 60.0)),
        Case::new(c, 5000, run(Cat5e, Loose, 100.0)),
        Case::new(c, 2500, run(Cat5e, Tight, 100.0)),
    ]
}

/// What is changed, and the differences of an independent computation.
pub(super) struct Sensitivity {
    pub what: &'static str,
    printed: [f64; 6],
    bend: Box<dyn Fn(&Case) -> Case>,
}

impl Sensitivity {
    /// What it does to each case.
    pub(super) fn differences(&self, c: &Copper) -> [f64; 6] {
        cases(c).map(|case| (self.bend)(&case).margin(c) - case.margin(c))
    }
}

fn knob(turn: impl Fn(&mut Knobs) + 'static) -> impl Fn(&Case) -> Case + 'static {
    move |case| {
        let mut bent = case.clone();
        turn(&mut bent.knobs);
        bent
    }
}

fn described(
    c: &Copper,
    change: impl Fn(&mut RunPhysics) + 'static,
) -> impl Fn(&Case) -> Case + 'static {
    let c = c.clone();
    move |case| {
        let mut run = case.run.clone();
        change(&mut run);
        Case::new(&c, case.megabits, run)
    }
}

#[rustfmt::skip]
pub(super) fn rows(c: &Copper) -> Vec<Sensitivity> {
    vec![
        row("alien 3 dB worse", [-2.2, -2.8, -2.1, 0.0, -2.4, -2.7], knob(|k| k.alien -= 3.0)),
        row("one neighbour, not six", [2.7, 4.0, 2.4, 0.0, 3.1, 3.7],
        described(c, |r| r.neighbours = Neighbours::SameRate(1))),
        row("neighbours at 1 Gb/s", [3.7, 8.3, 3.4, 0.0, 2.9, -1.0],
        described(c, |r| r.neighbours = at_rate(1000, 6))),
        row("40 C", [-1.6, -0.9, -0.7, -0.6, -1.4, -0.9],
        described(c, |r| r.temperature = Celsius(40.0))),
        row("60 C", [-4.0, -2.4, -1.9, -1.8, -3.6, -2.4],
        described(c, |r| r.temperature = Celsius(60.0))),
        row("5 % longer", [-1.0, -0.7, -0.5, -0.5, -0.9, -0.6], |case| Case { bent: Bent { length_scale: 1.05, ..Bent::NOT }, ..case.clone() }),
        row("FEXT suppression 5 dB less", [-0.8, -0.5, -2.2, -3.8, -0.9, -0.6], knob(|k| k.far -= 5.0)),
        row("echo suppression 5 dB less", [-0.6, 0.0, -0.1, -0.7, -0.2, -0.1], knob(|k| k.echo -= 5.0)),
        row("two connections", [0.6, 0.5, 1.5, 2.4, 0.9, 0.6], described(c, |r| r.connections = 2)),
        row("floor 3 dB up", [-0.4, -0.1, -0.1, -0.3, -0.3, -0.2], knob(|k| k.floor += 3.0)),
        row("26 AWG cords", [-0.6, -0.3, -0.3, -0.2, -0.5, -0.3],
        described(c, |r| r.cord_gauge = Gauge::Awg26)),
    ]
}

#[test]
fn verify_sensitivity_table() {
    let c = copper();
    for row in rows(&c) {
        let found = row.differences(&c);
        for (found, expected) in found.iter().zip(row.printed) {
            assert!(
                (found - expected).abs() <= DIFFERENCE,
                "{}: {found:+.3} not {expected:+}",
                row.what
            );
        }
    }
}

fn row(
    what: &'static str,
    printed: [f64; 6],
    bend: impl Fn(&Case) -> Case + 'static,
) -> Sensitivity {
    Sensitivity {
        what,
        printed,
        bend: Box::new(bend),
    }
}

/// Whole metres at which a margin is zero.
pub(super) fn zero(c: &Copper, bundle: Bundle, bend: impl Fn(&mut Case)) -> f64 {
    let at = |length: f64| {
        let mut case = Case::new(c, 10000, run(Cat5e, bundle, length));
        bend(&mut case);
        case.margin(c)
    };
    let (mut low, mut high) = (5.0, 150.0);
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        if at(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

#[test]
fn verify_reach_moves_with_what_is_judged() {
    // 10 Gb/s over 5e; half a metre, and a hundredth for the rounding of the length itself.
    const METRE: f64 = 0.51;
    let c = copper();
    let near = |found: f64, expected: f64, what: &str| {
        assert!(
            (found - expected).abs() <= METRE,
            "{what}: {found} not {expected}"
        );
    };
    for (shift, tied, loose) in [(3.0, 28.0, 46.0), (0.0, 35.0, 54.0), (-3.0, 42.0, 60.0)] {
        near(
            zero(&c, Tight, |k| k.channel.alien.near -= shift),
            tied,
            "alien, tied",
        );
        near(
            zero(&c, Loose, |k| k.channel.alien.near -= shift),
            loose,
            "alien, loose",
        );
    }
    for (offset, loose) in [(3.0, 45.0), (6.0, 54.0), (9.0, 62.0)] {
        near(zero(&c, Loose, |k| k.channel.lay = offset), loose, "lay");
    }
    for (shift, alone, loose) in [(-5.0, 72.0, 44.0), (0.0, 87.0, 54.0), (5.0, 92.0, 57.0)] {
        near(
            zero(&c, Alone, |k| k.knobs.far += shift),
            alone,
            "suppression, alone",
        );
        near(
            zero(&c, Loose, |k| k.knobs.far += shift),
            loose,
            "suppression, loose",
        );
    }
}
