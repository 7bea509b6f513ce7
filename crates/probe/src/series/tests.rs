//! Vectors, and runs that are made up with a known mean.

use super::*;
use std::time::Duration;

const R: &str = "21.3 58.8 83.1 97.4 104.9 108.8 110.6 111.9 112.4 111.8 112.6 113.0 112.1 111.4 111.9 112.7 113.3 \
    112.8 112.2 111.5 111.0 111.8 112.5 113.1 112.9 112.3 111.6 112.0 112.6 113.2 112.7 112.1 111.7 112.2 112.9 \
    113.0 112.4 111.8 112.3 112.8";
const C: &str = "1104 1098 1110 1101 1107 1095 1103 1109 1100 1106 1099 1102 398 405 391 402 396 409 400 394 403 397 \
    401 399 404 392";
const L: &str = "112.4 111.9 112.6 112.1 112.8 112.3 112.0 112.5 11.7 11.6 11.8 11.7 11.7 11.6 112.2 112.6 111.8 \
    112.4 112.1 112.5";

fn numbers(text: &str) -> Vec<f64> {
    text.split_whitespace()
        .map(|x| x.parse().unwrap())
        .collect()
}

/// Six significant digits, as the vectors print them.
#[track_caller]
fn close(found: f64, printed: f64) {
    assert!(
        (found - printed).abs() <= 6e-6 * printed.abs(),
        "{found} for {printed}"
    );
}

/// Half a unit of the last digit that is printed.
#[track_caller]
fn within(found: f64, printed: f64, half_unit: f64) {
    assert!(
        (found - printed).abs() <= half_unit,
        "{found} for {printed}"
    );
}

#[test]
fn validate_run_of_a_gigabit_link() {
    let r = numbers(R);
    within(mean(&r), 107.285, 5e-4);
    within(deviation(&r), 17.016, 5e-4);
    let (cut, statistic) = least_error_cut_of_fives(&r);
    assert_eq!(cut, 20);
    close(statistic, 0.001_318_75);
    let (cut, statistic) = least_error_cut(&r);
    assert_eq!(cut, 7);
    close(statistic, 0.009_595_12);
    let settled = &r[10..];
    within(mean(settled), 112.347, 5e-4);
    close(deviation(settled), 0.586476);
    close(deviation(settled) / 30f64.sqrt(), 0.107075);
    let printed = [
        0.482204, -0.383942, -0.765392, -0.409442, 0.235374, 0.567665,
    ];
    for (lag, rho) in printed.iter().enumerate() {
        within(correlation(settled, lag + 1), *rho, 5e-7);
    }
    close(correlated(settled), 1.96441);
    close(30.0 / correlated(settled), 15.2718);
    close(error(settled), 0.150074);
    let fives = batches(settled, 5);
    for (found, printed) in fives.iter().zip([112.283, 112.1, 112.4, 112.417, 112.533]) {
        within(*found, printed, 5e-4);
    }
    close(deviation(&fives) / 5f64.sqrt(), 0.0732954);
    close(half_width_of_batches(settled, 5), 0.156255);
    close(deviation(&batches(settled, 10)) / 10f64.sqrt(), 0.152607);
    close(half_width_of_batches(settled, 10), 0.279745);
    // a slow wave makes batches too sure: the least error stands in
    let estimate = estimate(settled);
    close(estimate.half_width, LEAST_ERROR * estimate.mean);
}

#[test]
fn validate_how_long_to_measure() {
    for (s, tau, eps, n) in [
        (0.6, 1.0, 1.1, 1),
        (5.0, 4.0, 1.1, 224),
        (15.0, 8.0, 5.0, 195),
        (40.0, 12.0, 11.0, 430),
    ] {
        assert_eq!(values_needed(s, tau, eps), n);
    }
}

#[test]
fn validate_steps() {
    let c = numbers(C);
    close(noise(&c), 7.33851);
    close(threshold(c.len(), noise(&c), 1.0), 701.842);
    let (at, gain) = best_split(&c).unwrap();
    assert_eq!(at, 12);
    close(gain, 3.19768e6);
    let found = levels_with(&c, 1.0);
    assert_eq!(found.steps, [12]);
    close(found.means[0], 1102.83);
    close(found.means[1], 399.357);
    let l = numbers(L);
    close(noise(&l), 0.524179);
    close(threshold(l.len(), noise(&l), 1.0), 3.29247);
    let found = levels_with(&l, 1.0);
    assert_eq!(found.steps, [8, 14]);
    for (found, printed) in found.means.iter().zip([112.325, 11.6833, 112.267]) {
        close(*found, printed);
    }
    let settled = &numbers(R)[10..];
    close(noise(settled), 0.629015);
    close(threshold(settled.len(), noise(settled), 1.0), 5.38287);
    within(best_split(settled).unwrap().1, 0.4805, 5e-5);
    assert!(levels_with(settled, 1.0).steps.is_empty());
    // and with the correlation that the noise itself shows
    assert_eq!(levels(&c).steps, [12]);
    assert_eq!(levels(&l).steps, [8, 14]);
    assert!(levels(settled).steps.is_empty());
}

#[test]
fn validate_counters() {
    let window = Window {
        bytes: 27_262_976,
        length: Duration::from_millis(250),
    };
    within(window.megabytes_per_s(), 109.052, 5e-4);
    close(payload_of_counted(1500), 0.956407);
    close(payload_of_counted(9000), 0.992678);
    within(117.4 * payload_of_counted(1500), 112.282, 5e-4);
    close(at_most_of_none(850_000), 3.52438e-6);
    close(comes_round_after(117.685), 36.4955);
    close(comes_round_after(1176.85), 3.64955);
    close(100.0 * edge(262_144, 8.0, 112.0), 0.0292571);
}

#[test]
fn validate_small_files() {
    for (n, bytes, s, cost, each, rate) in [
        (1000, 50_000, 4.2, 3.75357, 238.095, 11.9048),
        (1000, 50_000, 1.9, 1.45357, 526.316, 26.3158),
        (2000, 4096, 9.0, 4.46343, 222.222, 0.910222),
    ] {
        let found = small_files(n, bytes, s, 112.0).unwrap();
        close(found.cost_ms, cost);
        close(found.a_second, each);
        close(found.megabytes_per_s, rate);
    }
    close(
        small_files(1000, 50_000, 1.9, 112.0).unwrap().cost_ms / 0.3,
        4.84524,
    );
    assert_eq!(small_files(0, 1, 1.0, 1.0), None);
}

#[test]
fn validate_round_trips() {
    let ms =
        numbers(".31 .29 .30 .33 .28 .30 .95 .31 .29 .30 .32 .30 .29 .31 2.4 .30 .30 .29 .32 .31");
    let found = trips(&ms).unwrap();
    assert_eq!(
        (found.least, found.nearly_all, found.count),
        (0.28, 0.95, 20)
    );
    close(found.median, 0.30);
    within(found.mean, 0.44, 5e-3);
    close(under_way(112.0, found.median), 33.6);
    assert_eq!(trips(&[]), None);
}

#[test]
fn validate_streams() {
    let streams = [
        vec![28.1, 29.0, 27.5, 27.8],
        vec![27.9, 28.6, 28.2, 27.9],
        vec![28.4, 28.8, 27.7, 28.0],
    ];
    // the vector prints a row a stream: four streams, three windows
    let by_stream: Vec<Vec<f64>> = (0..4)
        .map(|i| streams.iter().map(|window| window[i]).collect())
        .collect();
    for (found, printed) in summed(&by_stream).iter().zip([112.4, 112.6, 112.9]) {
        close(*found, printed);
    }
    let means: Vec<f64> = by_stream.iter().map(|stream| mean(stream)).collect();
    close(evenness(&means), 0.999808);
    close(evenness(&[100.0, 4.0, 4.0, 4.0]), 0.312102);
}

#[test]
fn verify_ceilings() {
    // 1448 of 1538 bytes on the wire
    close(payload_ceiling(1000.0, 1500), 117.685_31);
    close(payload_ceiling(10_000.0, 1500), 1_176.853_1);
}

#[test]
fn verify_of_the_two_quantiles() {
    // against the table: 2.1318 and 1.8331, 6.3138 and 2.9200 for one and two degrees
    for (freedom, printed, off) in [
        (4.0, 2.1318, 0.004),
        (9.0, 1.8331, 0.0005),
        (2.0, 2.9200, 0.04),
        (29.0, 1.6991, 0.0002),
    ] {
        let found = super::mean::t_of(freedom);
        assert!((found / printed - 1.0).abs() < off, "{freedom}: {found}");
    }
}

/// A stream of numbers that is the same on every machine.
struct Luck(u64);

impl Luck {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    fn unit(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }
    fn normal(&mut self) -> f64 {
        (-2.0 * self.unit().ln()).sqrt() * (std::f64::consts::TAU * self.unit()).cos()
    }
}

/// Kinds of noise around a mean of 100.
#[derive(Clone, Copy, Debug)]
enum Kind {
    /// Neighbours know nothing of each other.
    White,
    /// Each is .6 of its neighbour.
    Alike,
    /// Each is .8 of its neighbour.
    VeryAlike,
    /// White, and one window in twelve has a pause of half its time.
    Pauses,
}

const MEAN: f64 = 100.0;
/// Standard deviation of the noise: large enough that the least error of 1 % does not hide it.
const SCATTER: f64 = 8.0;

fn simulated(kind: Kind, n: usize, luck: &mut Luck) -> Vec<f64> {
    let rho: f64 = match kind {
        Kind::White | Kind::Pauses => 0.0,
        Kind::Alike => 0.6,
        Kind::VeryAlike => 0.8,
    };
    let mut last = luck.normal();
    (0..n)
        .map(|_| {
            last = rho * last + (1.0 - rho * rho).sqrt() * luck.normal();
            let pause = matches!(kind, Kind::Pauses) && luck.unit() < 1.0 / 12.0;
            // the mean stays what it is: what pauses take is added to all
            let level = if matches!(kind, Kind::Pauses) {
                if pause {
                    50.0 + 50.0 / 12.0
                } else {
                    MEAN + 50.0 / 12.0
                }
            } else {
                MEAN
            };
            level + SCATTER * last
        })
        .collect()
}

const KINDS: [Kind; 4] = [Kind::White, Kind::Alike, Kind::VeryAlike, Kind::Pauses];

#[test]
fn verify_that_intervals_hold() {
    let mut luck = Luck(11);
    let runs = 2000;
    for kind in KINDS {
        // 6, 8, 15 and 30 s in windows of a quarter second
        for n in [24, 32, 60, 120] {
            let held = (0..runs)
                .filter(|_| {
                    let found = estimate(&simulated(kind, n, &mut luck));
                    (found.mean - MEAN).abs() <= found.half_width
                })
                .count();
            let share = held as f64 / f64::from(runs);
            // nominal 90 %; two standard errors of 2000 runs are 1.3 points
            assert!(share >= 0.85, "{kind:?}, {n} windows: {share}");
        }
    }
}

#[test]
fn verify_that_steady_runs_have_no_steps() {
    let mut luck = Luck(12);
    for kind in [Kind::White, Kind::Alike] {
        for n in [24, 60, 120] {
            let runs = 1000;
            let wrong = (0..runs)
                .filter(|_| !levels(&simulated(kind, n, &mut luck)).steps.is_empty())
                .count();
            // the published share for such noise with a known tau is 5.9 %
            assert!(wrong <= 60, "{kind:?}, {n} windows: {wrong} of {runs}");
        }
    }
}

#[test]
fn verify_that_a_step_is_found_where_it_is() {
    let mut luck = Luck(13);
    let runs = 1000;
    let found = (0..runs)
        .filter(|_| {
            let mut x = simulated(Kind::White, 60, &mut luck);
            for value in x.iter_mut().skip(25) {
                // five standard deviations of the noise, forty in a hundred
                *value -= 5.0 * SCATTER;
            }
            let steps = levels(&x).steps;
            matches!(steps[..], [at] if at.abs_diff(25) <= 2)
        })
        .count();
    assert!(found >= 950, "{found} of {runs}");
}

fn run(rates: &[f64]) -> Vec<Window> {
    rates
        .iter()
        .map(|rate| Window {
            bytes: (rate * 250_000.0) as u64,
            length: Duration::from_millis(250),
        })
        .collect()
}

#[test]
fn verify_what_is_noticed_beside_the_mean() {
    let none = Duration::ZERO;
    let judged = judge(&run(&numbers(R)), RAMP).unwrap();
    assert!(judged.remarks.is_empty(), "{judged:?}");
    assert_eq!(judged.dropped, Duration::from_secs(2));
    within(judged.rate.mean, 112.34, 0.05);
    let cache = judge(&run(&numbers(C)), none).unwrap();
    // 12 windows of .25 s at 1102.83 MB/s
    assert!(
        matches!(cache.remarks[..], [Remarked::DropsAfter(bytes)] if bytes.abs_diff(3_308_500_000) < 1_000_000),
        "{cache:?}"
    );
    within(cache.rate.mean, 399.357, 5e-4);
    let link = judge(&run(&numbers(L)), none).unwrap();
    assert_eq!(link.remarks, [Remarked::WentAway]);
    let mut up = numbers(C);
    up.reverse();
    let up = judge(&run(&up), none).unwrap();
    assert!(matches!(up.remarks[..], [Remarked::RoseAfter(_)]));
    within(up.rate.mean, 1102.83, 5e-3);
    let saw: Vec<f64> = (0..60)
        .map(|i| if i / 6 % 2 == 0 { 100.0 } else { 40.0 } + f64::from(i % 3))
        .collect();
    let saw = judge(&run(&saw), none).unwrap();
    assert_eq!(saw.remarks, [Remarked::Varies]);
    // no single mean: the range covers both levels
    assert!(saw.rate.mean - saw.rate.half_width < 42.0, "{saw:?}");
    assert_eq!(judge(&[], RAMP), None);
    assert_eq!(judge(&run(&[0.0, 0.0]), RAMP), None);
    let short = judge(&run(&[100.0; 8]), RAMP).unwrap();
    assert_eq!(short.remarks, [Remarked::Short]);
}
