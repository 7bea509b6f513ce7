//! Order statistics: the values at given shares of a sample, without sorting it.

/// Bins into which the span of a sample is cut.
const BINS: usize = 1024;

/// The values at shares `q` of the sample: with `n` values in order, the one at `q n - 1/2`,
/// rounded. Not a number for an empty sample.
///
/// Exact. Values are counted in bins of equal width first, and only those that share a bin with
/// one that is asked for are put in order.
/// Checked by `property_ranks_are_those_of_the_sorted_sample`.
pub fn ranked<const N: usize>(values: &[f64], shares: [f64; N]) -> [f64; N] {
    let n = values.len();
    if n == 0 {
        return [f64::NAN; N];
    }
    let ranks = shares.map(|q| ((libm::round(q * n as f64 - 0.5).max(0.0)) as usize).min(n - 1));
    let (low, high) = ends(values);
    let scale = (BINS - 1) as f64 / (high - low);
    let mut counts = [0u32; BINS];
    let mut ordered = scale > 0.0 && scale.is_finite();
    // rounding keeps the order, so no value lands in a bin below that of a smaller one
    let bins: Vec<u16> = values
        .iter()
        .map(|value| {
            ordered &= *value >= low;
            let bin = ((value - low) * scale) as u16;
            counts[usize::from(bin) % BINS] += 1;
            bin
        })
        .collect();
    if !ordered {
        // all equal, or something infinite or no number among them
        let mut rest = values.to_vec();
        return ranks.map(|rank| nth(&mut rest, rank));
    }
    // the bin of each rank, and how many values lie in bins below
    let places = ranks.map(|rank| {
        let mut below = 0;
        for (bin, &count) in counts.iter().enumerate() {
            let up_to = below + count as usize;
            if up_to > rank {
                return (bin, below);
            }
            below = up_to;
        }
        (0, 0)
    });
    let mut wanted = [false; BINS];
    for (bin, _) in places {
        wanted[bin] = true;
    }
    let mut close: Vec<(u16, f64)> = Vec::new();
    for (&bin, &value) in bins.iter().zip(values) {
        if wanted[usize::from(bin) % BINS] {
            close.push((bin, value));
        }
    }
    let mut inside = Vec::with_capacity(close.len());
    let mut found = [f64::NAN; N];
    for ((found, rank), (bin, below)) in found.iter_mut().zip(ranks).zip(places) {
        inside.clear();
        let here = close.iter().filter(|(b, _)| usize::from(*b) == bin);
        inside.extend(here.map(|(_, value)| *value));
        *found = nth(&mut inside, rank - below);
    }
    found
}

/// The least and the greatest value, eight at a time.
fn ends(values: &[f64]) -> (f64, f64) {
    let mut low = [f64::INFINITY; 8];
    let mut high = [f64::NEG_INFINITY; 8];
    let (chunks, rest) = values.as_chunks::<8>();
    let mut widen = |i: usize, value: f64| {
        low[i] = if value < low[i] { value } else { low[i] };
        high[i] = if value > high[i] { value } else { high[i] };
    };
    for chunk in chunks {
        for (i, &value) in chunk.iter().enumerate() {
            widen(i, value);
        }
    }
    for &value in rest {
        widen(0, value);
    }
    (
        low.into_iter().fold(f64::INFINITY, f64::min),
        high.into_iter().fold(f64::NEG_INFINITY, f64::max),
    )
}

fn nth(values: &mut [f64], rank: usize) -> f64 {
    *values.select_nth_unstable_by(rank, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SHARES: [f64; 5] = [0.0, 0.05, 0.5, 0.95, 1.0];

    fn by_sorting(values: &[f64]) -> [f64; 5] {
        let mut sorted = values.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        let n = sorted.len();
        SHARES.map(|q| sorted[((q * n as f64 - 0.5).round().max(0.0) as usize).min(n - 1)])
    }

    proptest! {
        #[allow(clippy::float_cmp)] // the very values of the sample
        #[test]
        fn property_ranks_are_those_of_the_sorted_sample(
            values in prop::collection::vec(
                prop_oneof![0.0f64..1.0, 1e3f64..1e9, Just(5.0), Just(f64::INFINITY)],
                1..400,
            ),
        ) {
            prop_assert_eq!(ranked(&values, SHARES), by_sorting(&values));
            let finite: Vec<f64> = values.iter().map(|v| v.min(1e9)).collect();
            prop_assert_eq!(ranked(&finite, SHARES), by_sorting(&finite));
        }
    }

    #[allow(clippy::float_cmp)] // the very values of the sample
    #[test]
    fn an_empty_sample_has_no_ranks_and_an_even_one_has_one_value() {
        assert!(ranked(&[], [0.5])[0].is_nan());
        assert_eq!(ranked(&[7.0; 9], [0.05, 0.95]), [7.0, 7.0]);
        assert!(ranked(&[1.0, f64::NAN], [0.9])[0].is_nan());
    }
}
