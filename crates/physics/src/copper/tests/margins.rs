use super::*;
use crate::copper::phy::Phys;
use crate::copper::{Decibels, NoiseShares, megahertz};
use narrows_units::quantity::units;

#[test]
fn validate_margins_to_a_thousandth() {
    // Independent computation, 400 midpoints: SNR and margin in dB.
    use Bundle::{Alone, Loose, Tight};
    use Category::{Cat5e, Cat6, Cat6a, Cat7};
    let c = copper();
    let rows = [
        (10000, Cat6, Tight, 55.0, 25.177, 0.277),
        (10000, Cat5e, Loose, 45.0, 26.959, 2.059),
        (10000, Cat5e, Alone, 60.0, 30.033, 5.133),
        (5000, Cat6, Tight, 100.0, 26.381, 1.481),
        (5000, Cat5e, Loose, 100.0, 26.008, 1.108),
        (2500, Cat5e, Tight, 100.0, 30.943, 6.043),
        (1000, Cat5e, Tight, 100.0, 25.117, 3.917),
        (10000, Cat7, Tight, 100.0, 32.715, 7.815),
    ];
    for (megabits, category, bundle, length, ratio, margin) in rows {
        let mut case = Case::new(&c, megabits, run(category, bundle, length)).early();
        case.points = REFERENCE_POINTS;
        let found = case.solve(&c);
        let what = format!("{megabits} {category:?} {length}: {found:?}");
        assert!((found.0 - ratio).abs() <= THOUSANDTH, "{what}");
        assert!((found.1 - margin).abs() <= THOUSANDTH, "{what}");
    }
    let mut link_model = Case::new(&c, 10000, run(Cat6a, Tight, 100.0));
    link_model.points = REFERENCE_POINTS;
    link_model.channel.alien.near = 62.0;
    let (ratio, margin) = link_model.solve(&c);
    assert!((ratio - 25.881).abs() <= THOUSANDTH, "{ratio}");
    assert!((margin - 0.981).abs() <= THOUSANDTH, "{margin}");
    let mut warm = run(Cat5e, Loose, 45.0);
    warm.temperature = Celsius(40.0);
    warm.connections = 2;
    let mut warm = Case::new(&c, 10000, warm);
    warm.points = REFERENCE_POINTS;
    let (ratio, margin) = warm.solve(&c);
    assert!((ratio - 27.701).abs() <= THOUSANDTH, "{ratio}");
    assert!((margin - 2.801).abs() <= THOUSANDTH, "{margin}");
}

/// Category, bundle, rate, then margins at [`LENGTHS`] and the length at which it is zero.
type ReachRow = (u64, Category, Bundle, [f64; 9], f64);
const LENGTHS: [f64; 9] = [10.0, 20.0, 30.0, 37.0, 45.0, 55.0, 70.0, 85.0, 100.0];

#[rustfmt::skip]
fn reach_rows() -> [ReachRow; 15] {
    use Bundle::{Alone, Loose, Tight};
    use Category::{Cat5e, Cat6, Cat6a, Cat7};
    [
        (10000, Cat5e, Tight, [6.1, 3.6, 1.3, -0.4, -2.4, -5.0, -8.7, -11.8, -14.1], 35.0),
        (10000, Cat5e, Loose, [8.3, 6.7, 5.0, 3.7, 2.1, -0.3, -4.1, -7.7, -10.6], 54.0),
        (10000, Cat5e, Alone, [9.4, 8.5, 7.9, 7.4, 6.8, 5.8, 3.5, 0.4, -3.1], 87.0),
        (10000, Cat6, Tight, [11.0, 8.1, 5.9, 4.4, 2.6, 0.3, -3.4, -6.9, -9.9], 56.0),
        (10000, Cat6, Loose, [14.1, 12.0, 10.2, 9.0, 7.4, 5.3, 1.8, -1.9, -5.4], 77.0),
        (10000, Cat6, Alone, [16.0, 14.9, 14.1, 13.6, 12.9, 12.0, 10.0, 7.2, 3.9], 117.0),
        (10000, Cat6a, Tight, [14.0, 12.1, 10.7, 9.9, 9.0, 7.8, 5.7, 3.1, 0.1], 101.0),
        (10000, Cat7, Tight, [28.3, 25.9, 24.0, 22.6, 21.0, 18.8, 15.3, 11.6, 7.8], 131.0),
        (5000, Cat5e, Tight, [12.1, 9.9, 8.2, 7.1, 5.9, 4.3, 1.7, -1.0, -3.8], 79.0),
        (5000, Cat5e, Loose, [14.1, 12.7, 11.5, 10.7, 9.8, 8.5, 6.3, 3.8, 1.1], 106.0),
        (5000, Cat5e, Alone, [15.1, 14.3, 13.7, 13.3, 12.9, 12.3, 11.3, 9.9, 8.0], 149.0),
        (5000, Cat6, Tight, [16.7, 14.1, 12.4, 11.3, 10.1, 8.7, 6.4, 4.0, 1.5], 109.0),
        (2500, Cat5e, Tight, [17.7, 15.6, 14.2, 13.3, 12.3, 11.2, 9.6, 7.9, 6.0], 148.0),
        (2500, Cat5e, Loose, [19.7, 18.3, 17.3, 16.6, 15.9, 15.1, 13.7, 12.3, 10.7], 185.0),
        (1000, Cat5e, Tight, [8.5, 7.7, 7.1, 6.7, 6.4, 5.9, 5.3, 4.6, 3.9], 163.0),
    ]
}

/// The margin with the receiver of the independent computation.
fn early_margin(c: &Copper, megabits: u64, run: RunPhysics) -> f64 {
    Case::new(c, megabits, run).early().margin(c)
}

#[test]
fn validate_reach_table() {
    let c = copper();
    for (megabits, category, bundle, margins, zero) in reach_rows() {
        for (length, printed) in LENGTHS.into_iter().zip(margins) {
            let found = early_margin(&c, megabits, run(category, bundle, length));
            let what = format!("{megabits} {category:?} {bundle:?} {length} m: {found}");
            assert!((found - printed).abs() <= TENTH, "{what}");
        }
        // The printed whole metre: the margin changes sign within half a metre either way,
        // and a hundredth for the rounding of the length itself.
        let at = |length| early_margin(&c, megabits, run(category, bundle, length));
        let what = format!("{megabits} {category:?} {bundle:?} {zero} m");
        assert!(at(zero - 0.51) > 0.0 && at(zero + 0.51) < 0.0, "{what}");
    }
}

#[test]
fn validate_neighbours_at_other_rates() {
    // Independent computation, 10 Gb/s on tightly tied 5e: margins at 30, 45, 60 and 80 m.
    // The neighbours' spectrum out of their band was chosen to agree with these rows.
    let c = copper();
    let rows = [
        (at_rate(10000, 1), [4.4, 1.2, -2.6, -7.5]),
        (at_rate(1000, 6), [5.6, 4.1, 1.9, -2.4]),
        (at_rate(5000, 6), [4.7, 2.6, -0.3, -5.5]),
    ];
    for (neighbours, margins) in rows {
        for (length, printed) in [30.0, 45.0, 60.0, 80.0].into_iter().zip(margins) {
            let mut run = run(Category::Cat5e, Bundle::Tight, length);
            run.neighbours = neighbours.clone();
            let found = margin(&c, 10000, run);
            assert!(
                (found - printed).abs() <= TENTH,
                "{neighbours:?} {length}: {found}"
            );
        }
    }
}

#[test]
fn validate_a_bundle_that_ends_after_five_metres() {
    // Independent computation: 45 m of 5e at 10 Gb/s, from -2.4 to +0.5 dB.
    let c = copper();
    let mut partial = run(Category::Cat5e, Bundle::Tight, 45.0);
    partial.beside_first = Some(metres(5.0));
    assert!((margin(&c, 10000, partial) - 0.5).abs() <= TENTH);
}

#[test]
fn validate_one_spectrum() {
    // Independent computation, 5e loose 45 m: signal over noise at two frequencies in dB, and the
    // parts of the channel at 99.5 MHz (alien crosstalk before the loose lay's 6 dB).
    let c = copper();
    let case = run(Category::Cat5e, Bundle::Loose, 45.0);
    let at = |f| c.at(&case, megahertz(f)).unwrap();
    let low = at(99.5);
    assert!((low.insertion_loss.0 - 11.789).abs() <= THOUSANDTH);
    assert!((low.alien_near.unwrap().0 - 50.068).abs() <= THOUSANDTH);
    assert!((low.alien_far.unwrap().0 - 39.511).abs() <= THOUSANDTH);
    assert!((low.near_end_sum.0 - 27.142).abs() <= THOUSANDTH);
    assert!((low.far_end_sum.0 - 15.934).abs() <= THOUSANDTH);
    assert!((low.return_loss.0 - 10.022).abs() <= THOUSANDTH);
    let high = at(398.5);
    assert!((high.insertion_loss.0 - 26.499).abs() <= THOUSANDTH);
    assert!((high.alien_near.unwrap().0 - 40.994).abs() <= THOUSANDTH);
    for (f, printed) in [(99.5, 32.76), (398.5, 13.56)] {
        let sent = c.spectrum(rate(10000), megahertz(f)).unwrap();
        let here = at(f);
        let noises = [
            sent - here.alien_near.unwrap(),
            sent - here.insertion_loss - here.alien_far.unwrap(),
            sent - here.return_loss - Decibels(55.0),
            sent - here.near_end_sum - Decibels(40.0),
            sent - here.insertion_loss - here.far_end_sum - Decibels(20.0),
            crate::copper::DecibelMilliwattsPerHertz(-145.0),
        ];
        // A hertz each, so that the powers may be added.
        let hertz = narrows_units::quantity::Frequency::new::<units::frequency::hertz>(1.0);
        let noise = crate::copper::power_sum(noises.map(|n| n.over(hertz))).unwrap();
        let ratio = (sent - here.insertion_loss).over(hertz) - noise;
        assert!((ratio.0 - printed).abs() <= 0.005, "{f}: {ratio:?}");
    }
}

#[test]
fn verify_a_flat_ratio_comes_back() {
    // Only the receiver's floor, a lossless channel: the ratio is that of the flat spectrum, and
    // of one that is shaped, the geometric mean of 1 + S/N.
    let c = copper();
    let mut case = Case::new(&c, 10000, run(Category::Cat6a, Bundle::Alone, 30.0));
    for knob in [
        &mut case.knobs.alien,
        &mut case.knobs.echo,
        &mut case.knobs.near,
        &mut case.knobs.far,
    ] {
        *knob = 400.0;
    }
    case.bent.loss_scale = 0.0;
    case.channel.connections = 0.0;
    case.channel.specified.ripple = 0.0;
    case.points = 1000;
    let floor = -145.0;
    let phy = Phys::new(&Catalogue::embedded().unwrap()).unwrap();
    let phy = phy.of(rate(10000)).unwrap();
    let mean: f64 = (0..1000)
        .map(|i| {
            let sent = 10.0 * phy.sends((f64::from(i) + 0.5) * 0.4).log10();
            (1.0 + 10_f64.powf((sent - floor) / 10.0)).ln()
        })
        .sum::<f64>()
        / 1000.0;
    let (ratio, _) = case.solve(&c);
    // Rounding of sums of a thousand terms.
    assert!(
        (ratio - 10.0 * (mean.exp() - 1.0).log10()).abs() < 1e-9,
        "{ratio}"
    );
}

#[test]
fn verify_quadrature_error_is_what_we_state() {
    // Against 6400 points, in dB: down to a margin of -4 dB, and for runs that are hopeless, where
    // the signal lies in the lowest part of the band and the root in the loss is felt.
    let c = copper();
    for (megabits, category, bundle, ..) in reach_rows() {
        for length in [10.0, 37.0, 55.0, 100.0] {
            let at = |points| {
                let mut case = Case::new(&c, megabits, run(category, bundle, length));
                case.points = points;
                case.margin(&c)
            };
            let exact = at(6400);
            let (fine, coarse) = if exact > -4.0 {
                (0.001, 0.02)
            } else {
                (0.0025, 0.03)
            };
            let what = format!("{megabits} {category:?} {bundle:?} {length}");
            let errors = (at(200) - exact, at(50) - exact);
            assert!(
                errors.0.abs() < fine && errors.1.abs() < coarse,
                "{what}: {errors:?}"
            );
            assert!((at(400) - exact).abs() < THOUSANDTH, "{what}");
        }
    }
}

#[test]
fn verify_steps_in_a_spectrum_cost_no_more_than_two_hundredths_of_a_decibel() {
    // A neighbour's spectrum ends within the band: the midpoint sum is of first order there.
    let c = copper();
    for neighbours in [at_rate(1000, 6), at_rate(5000, 6)] {
        let at = |points| {
            let mut run = run(Category::Cat5e, Bundle::Tight, 80.0);
            run.neighbours = neighbours.clone();
            let mut case = Case::new(&c, 10000, run);
            case.points = points;
            case.margin(&c)
        };
        let exact = at(6400);
        assert!((at(200) - exact).abs() < 0.02, "{}", at(200) - exact);
        assert!((at(50) - exact).abs() < 0.10, "{}", at(50) - exact);
    }
}

#[test]
fn verify_shares_are_the_slopes_of_the_margin() {
    // A tenth of a decibel more of one noise takes its share of a tenth from the margin (of
    // 1 + SNR, which is the same to a thousandth at these ratios).
    let c = copper();
    let case = Case::new(&c, 10000, run(Category::Cat5e, Bundle::Loose, 45.0));
    let (_, _, shares) = c
        .limits(
            &case.run,
            &case.channel,
            c.phys.of(rate(10000)).unwrap(),
            200,
        )
        .unwrap();
    let one = |r: narrows_units::quantity::Ratio| r.get::<units::ratio::one>();
    let sum = |s: &NoiseShares| {
        let parts = [
            s.alien_near,
            s.alien_far,
            s.echo,
            s.near_end,
            s.far_end,
            s.receiver,
        ];
        parts.iter().map(|p| one(*p)).sum::<f64>()
    };
    assert!((sum(&shares) - 1.0).abs() < 1e-12);
    let slope = |bend: fn(&mut Knobs)| {
        let mut more = case.clone();
        bend(&mut more.knobs);
        (case.margin(&c) - more.margin(&c)) / 0.1
    };
    let far = slope(|k| k.far -= 0.1);
    let echo = slope(|k| k.echo -= 0.1);
    let alien = slope(|k| k.alien -= 0.1);
    let all = far + echo + alien + slope(|k| k.near -= 0.1) + slope(|k| k.floor += 0.1);
    assert!((far / all - one(shares.far_end)).abs() < 0.01);
    assert!((echo / all - one(shares.echo)).abs() < 0.01);
    assert!((alien / all - one(shares.alien_near) - one(shares.alien_far)).abs() < 0.01);
}

#[test]
fn validate_ten_gigabit_spectrum_lies_in_its_mask() {
    // IEEE 802.3 clause 55, transmit mask in dBm/Hz, and two values of an independent computation.
    let c = copper();
    let at = |f: f64| c.spectrum(rate(10000), megahertz(f)).unwrap().0;
    for i in 5..=400 {
        let f = f64::from(i);
        let upper = match f {
            f if f <= 70.0 => -78.5,
            f if f <= 150.0 => -78.5 - (f - 70.0) / 80.0,
            f => -79.5 - (f - 150.0) / 58.0,
        };
        let lower = match f {
            f if f <= 50.0 => -83.0,
            f if f <= 200.0 => -83.0 - (f - 50.0) / 50.0,
            f => -86.0 - (f - 200.0) / 25.0,
        };
        assert!(lower < at(f) && at(f) < upper, "{f}: {}", at(f));
    }
    assert!((at(50.0) + 80.7).abs() < 0.1 && (at(400.0) + 84.6).abs() < 0.05);
    assert!(c.spectrum(rate(10000), megahertz(401.0)).is_none());
}

#[test]
fn verify_every_spectrum_holds_its_power() {
    // Sum over the band in steps of 10 kHz: within 1e-4 of the stated power in dBm.
    let c = copper();
    for (megabits, power) in [
        (100, 7.0),
        (1000, 4.9),
        (2500, 2.0),
        (10000, 4.2),
        (40000, 4.0),
    ] {
        let phy = c.phys.of(rate(megabits)).unwrap();
        let steps = 20_000;
        let step = (phy.nyquist() - 0.5) / f64::from(steps);
        let sum: f64 = (0..steps)
            .map(|i| phy.sends(0.5 + (f64::from(i) + 0.5) * step))
            .sum();
        let found = 10.0 * (sum * step * 1e6).log10();
        assert!((found - power).abs() < 1e-4, "{megabits}: {found}");
    }
}

#[test]
fn validate_symbols_and_bits_make_the_rate() {
    // Symbols a second times information a symbol, over one pair or four.
    let catalogue = Catalogue::embedded().unwrap();
    for (megabits, pairs) in [
        (100, 1.0),
        (1000, 4.0),
        (2500, 4.0),
        (5000, 4.0),
        (10000, 4.0),
        (25000, 4.0),
        (40000, 4.0),
    ] {
        let row = |name: &str| {
            let id = format!("phy.{megabits}.{name}");
            catalogue.number(&id).unwrap().likely
        };
        let found = row("symbols") * row("bits") * pairs;
        assert!(
            (found - f64::from(megabits)).abs() < 1e-9,
            "{megabits}: {found}"
        );
    }
}

#[test]
fn verify_neighbours_in_two_groups_of_one_rate_are_one_group() {
    // equal powers add by (sum n P^(1/e))^e / 6^e to the power of one group of all of them
    let c = copper();
    for (category, bundle) in [
        (Category::Cat5e, Bundle::Tight),
        (Category::Cat6, Bundle::Loose),
    ] {
        for (first, second) in [(1, 1), (2, 3), (3, 3), (5, 4)] {
            let at = |neighbours| {
                let mut run = run(category, bundle, 45.0);
                run.neighbours = neighbours;
                margin(&c, 10000, run)
            };
            let parts = Neighbours::Rates(vec![(rate(1000), first), (rate(1000), second)]);
            let (apart, as_one) = (at(parts), at(at_rate(1000, first + second)));
            assert!(
                (apart - as_one).abs() < THOUSANDTH,
                "{category:?} {first} and {second}: {apart} and {as_one}"
            );
        }
    }
}
