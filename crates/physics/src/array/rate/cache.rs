//! What caches do to rates: hits by popularity, loops that do not fit, mixtures, and bursts of
//! writes.

use super::outside;
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{DataRate, Information, Ratio, Time, UnitFault, ratio, seconds};

/// Hits of a cache of equal objects.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hits {
    /// Share of requests that the cache answers.
    pub share: Ratio,
    /// Requests during which an object stays without being asked for.
    pub stay: Ratio,
}

/// Popularity by rank: `1 / rank^alpha`, adding up to one.
pub fn zipf(objects: usize, alpha: f64) -> Vec<f64> {
    let weights: Vec<f64> = (1..=objects)
        .map(|rank| libm::pow(rank as f64, -alpha))
        .collect();
    let all: f64 = weights.iter().sum();
    weights.iter().map(|w| w / all).collect()
}

/// Hits of a cache that drops what was not used for longest.
///
/// The stay t solves `sum (1 - exp(-q_i t)) = C`; hits are `sum q_i (1 - exp(-q_i t))`. Valid for
/// independent requests of equal objects, not for loops ([`loop_hits`]). Source: Che's
/// approximation; Fricker, Robert and Roberts 2012, arXiv 1202.3974. Checked by
/// `validate_popularity`.
///
/// # Errors
/// Where a popularity is negative or none is positive.
pub fn least_recent(popularity: &[f64], held: usize) -> Result<Hits, UnitFault> {
    let all: f64 = popularity.iter().sum();
    let valid = popularity.iter().all(|q| *q >= 0.0) && all > 0.0 && all.is_finite();
    if !valid {
        return Err(outside(
            "popularities are negative, or all are zero".to_owned(),
            "write shares that add up to one",
        ));
    }
    let known = popularity.iter().filter(|q| **q > 0.0).count();
    if held >= known {
        return Ok(Hits {
            share: ratio(1.0),
            stay: ratio(f64::INFINITY),
        });
    }
    if held == 0 {
        return Ok(Hits {
            share: ratio(0.0),
            stay: ratio(0.0),
        });
    }
    let filled = |t: f64| -> f64 { popularity.iter().map(|q| -libm::expm1(-q / all * t)).sum() };
    let (mut low, mut high) = (0.0, held as f64);
    while filled(high) < held as f64 && high < 1e300 {
        low = high;
        high *= 2.0;
    }
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if filled(middle) < held as f64 {
            low = middle;
        } else {
            high = middle;
        }
    }
    let stay = f64::midpoint(low, high);
    let share: f64 = popularity
        .iter()
        .map(|q| q / all * -libm::expm1(-q / all * stay))
        .sum();
    Ok(Hits {
        share: ratio(share),
        stay: ratio(stay),
    })
}

/// Hits when the cache always holds the most popular: the best that any cache can do without
/// knowing what comes. Popularities in falling order.
pub fn most_popular(popularity: &[f64], held: usize) -> Ratio {
    let all: f64 = popularity.iter().sum();
    ratio(popularity.iter().take(held).sum::<f64>() / all)
}

/// How a cache makes room.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Drops {
    /// What was not used for longest.
    LeastRecent,
    /// Anything.
    Random,
    /// What will be used last: the best possible.
    Furthest,
}

/// Hits when the same W bytes are read over and over, as an editor plays a timeline, from a
/// cache of C bytes.
///
/// All hits while W fits. Behind that cliff: none when the least recent is dropped, since it is
/// always the one needed next; `h = y / a` with `a = W / C` and y the smaller solution of
/// `y exp(-y) = a exp(-a)` when anything is dropped (for many objects); `C / W` at best. Caches that
/// guard against scans lie between. Checked by `validate_loops`.
pub fn loop_hits(loop_size: Information, cache: Information, drops: Drops) -> Ratio {
    if loop_size <= cache {
        return ratio(1.0);
    }
    let a = (loop_size / cache).get::<one>();
    match drops {
        Drops::LeastRecent => ratio(0.0),
        Drops::Furthest => ratio(1.0 / a),
        Drops::Random => {
            let target = a * libm::exp(-a);
            let (mut low, mut high) = (0.0, 1.0);
            for _ in 0..100 {
                let y = f64::midpoint(low, high);
                if y * libm::exp(-y) < target {
                    low = y;
                } else {
                    high = y;
                }
            }
            ratio(if a.is_finite() {
                f64::midpoint(low, high) / a
            } else {
                0.0
            })
        }
    }
}

/// Rate of one reader that waits for each request: `1 / (h / R_c + (1 - h) / R_a)`.
///
/// Checked by `validate_mixtures`.
pub fn waiting_reader(hits: Ratio, cache: DataRate, array: DataRate) -> DataRate {
    let h = ratio(hits.get::<one>().clamp(0.0, 1.0));
    ratio(1.0) / (h / cache + (ratio(1.0) - h) / array)
}

/// Rate of many readers at once: `min(R_c / h, R_a / (1 - h), ceiling)`.
///
/// Checked by `validate_mixtures`.
pub fn overlapping_readers(
    hits: Ratio,
    cache: DataRate,
    array: DataRate,
    ceiling: DataRate,
) -> DataRate {
    let h = hits.get::<one>().clamp(0.0, 1.0);
    let mut rate = ceiling;
    for (source, share) in [(cache, h), (array, 1.0 - h)] {
        if share > 0.0 && source / share < rate {
            rate = source / share;
        }
    }
    rate
}

/// A burst of writes into memory while a slower array drains it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Burst {
    /// What memory takes before it holds the writer back; without end where the array keeps up.
    pub size: Information,
    /// How long that lasts.
    pub time: Time,
    arriving: DataRate,
    draining: DataRate,
}

/// Writes at rate a into D bytes of memory that drain at w: held back after `D / (a - w)`, when
/// `D a / (a - w)` bytes have come. Writes that must be on stable storage pass memory by.
///
/// Checked by `validate_write_back`.
pub fn write_back(memory: Information, arriving: DataRate, draining: DataRate) -> Burst {
    let time = if arriving > draining {
        memory / (arriving - draining)
    } else {
        seconds(f64::INFINITY)
    };
    Burst {
        size: arriving * time,
        time,
        arriving,
        draining,
    }
}

impl Burst {
    /// Mean rate at which a writer gets rid of so much.
    pub fn mean_rate(&self, written: Information) -> DataRate {
        if written <= self.size {
            return self.arriving;
        }
        written / (self.time + (written - self.size) / self.draining)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::units::information::gigabyte;
    use narrows_units::quantity::units::time::second;
    use narrows_units::quantity::{in_megabytes_per_second, megabytes, megabytes_per_second};
    use proptest::prelude::*;
    use rand_core::Rng;
    use rand_pcg::Pcg64Mcg;

    /// Half a unit of the sixth printed digit.
    const PRINTED: f64 = 5e-6;

    #[test]
    fn validate_popularity() {
        // objects, exponent, held: hits, stay, and hits of the most popular
        for (objects, alpha, held, share, stay, best) in [
            (10000, 0.8, 100, 0.156625, 110.791, 0.300046),
            (10000, 0.8, 1000, 0.436660, 1472.48, 0.570618),
            (10000, 0.8, 5000, 0.791631, 13660.1, 0.849372),
            (10000, 1.0, 1000, 0.675602, 2352.18, 0.764791),
            (1000, 0.6, 200, 0.362917, 256.700, 0.501146),
        ] {
            let q = zipf(objects, alpha);
            let found = least_recent(&q, held).unwrap();
            assert_relative_eq!(found.share.get::<one>(), share, max_relative = PRINTED);
            assert_relative_eq!(found.stay.get::<one>(), stay, max_relative = PRINTED);
            assert_relative_eq!(
                most_popular(&q, held).get::<one>(),
                best,
                max_relative = PRINTED
            );
        }
        assert_relative_eq!(
            least_recent(&zipf(10, 1.0), 10).unwrap().share.get::<one>(),
            1.0
        );
        assert_relative_eq!(
            least_recent(&zipf(10, 1.0), 0).unwrap().share.get::<one>(),
            0.0
        );
        assert!(least_recent(&[], 1).is_err());
        assert!(least_recent(&[1.0, -0.5], 1).is_err());
    }

    #[test]
    fn verify_popularity_against_simulation() {
        // a list in order of use, 1000 objects, exponent 0.6, 200 held
        let q = zipf(1000, 0.6);
        let mut below = Vec::new();
        let mut sum = 0.0;
        for share in &q {
            sum += share;
            below.push(sum);
        }
        let mut generator = Pcg64Mcg::new(0x2545_f491_4f6c_dd1d);
        let mut held: Vec<usize> = Vec::new();
        let (warm, counted) = (5_000, 60_000);
        let mut hits = 0;
        for i in 0..warm + counted {
            let u = (generator.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
            let object = below.partition_point(|b| *b < u).min(q.len() - 1);
            if let Some(at) = held.iter().position(|o| *o == object) {
                held.remove(at);
                hits += usize::from(i >= warm);
            } else if held.len() == 200 {
                held.remove(0);
            }
            held.push(object);
        }
        let found = hits as f64 / f64::from(counted);
        let model = least_recent(&q, 200).unwrap().share.get::<one>();
        // 60000 requests: a standard error of 0.002
        assert!((found - model).abs() < 0.008, "{found} {model}");
    }

    #[test]
    fn validate_loops() {
        let gigabytes = |count: f64| Information::new::<gigabyte>(count);
        for (size, random) in [(36.0, 0.786330), (40.0, 0.628630), (64.0, 0.203188)] {
            let hits = |drops| loop_hits(gigabytes(size), gigabytes(32.0), drops).get::<one>();
            assert_relative_eq!(hits(Drops::Random), random, max_relative = PRINTED);
            assert!(hits(Drops::LeastRecent) < 1e-12);
            assert_relative_eq!(hits(Drops::Furthest), 32.0 / size, max_relative = 1e-12);
            assert!(hits(Drops::Random) < hits(Drops::Furthest));
        }
        for drops in [Drops::LeastRecent, Drops::Random, Drops::Furthest] {
            let found = loop_hits(gigabytes(32.0), gigabytes(32.0), drops);
            assert_relative_eq!(found.get::<one>(), 1.0);
            assert!(loop_hits(gigabytes(1.0), gigabytes(0.0), drops).get::<one>() < 1e-12);
        }
    }

    #[test]
    fn validate_mixtures() {
        let (cache, array) = (megabytes_per_second(1100.0), megabytes_per_second(400.0));
        let found = waiting_reader(ratio(0.6), cache, array);
        assert_relative_eq!(
            in_megabytes_per_second(found),
            647.059,
            max_relative = PRINTED
        );
        let many = overlapping_readers(ratio(0.6), cache, array, megabytes_per_second(1e6));
        assert_relative_eq!(in_megabytes_per_second(many), 1000.0, max_relative = 1e-12);
        let capped = overlapping_readers(ratio(0.0), cache, array, megabytes_per_second(100.0));
        assert_relative_eq!(in_megabytes_per_second(capped), 100.0);
    }

    #[test]
    fn validate_write_back() {
        // 4 GB of memory, 1.10 in and 0.60 GB/s out: 8 s, 8.8 GB; 50 GB average 0.652174 GB/s
        let burst = write_back(
            megabytes(4000.0),
            megabytes_per_second(1100.0),
            megabytes_per_second(600.0),
        );
        assert_relative_eq!(burst.time.get::<second>(), 8.0, max_relative = 1e-12);
        assert_relative_eq!(burst.size.get::<gigabyte>(), 8.8, max_relative = 1e-12);
        let mean = burst.mean_rate(megabytes(50000.0));
        assert_relative_eq!(
            in_megabytes_per_second(mean),
            652.174,
            max_relative = PRINTED
        );
        assert_eq!(
            burst.mean_rate(megabytes(5000.0)),
            megabytes_per_second(1100.0)
        );
        let endless = write_back(
            megabytes(1.0),
            megabytes_per_second(500.0),
            megabytes_per_second(600.0),
        );
        assert_eq!(
            endless.mean_rate(megabytes(1e9)),
            megabytes_per_second(500.0)
        );
    }

    proptest! {
        #[test]
        fn property_larger_caches_never_hit_less(held in 1..300_usize, alpha in 0.2..1.5_f64) {
            let q = zipf(300, alpha);
            let hits = |held| least_recent(&q, held).unwrap().share;
            prop_assert!(hits(held + 1) >= hits(held));
            prop_assert!(hits(held) <= most_popular(&q, held) * (1.0 + 1e-9));
        }
    }
}
