//! Which rows another row beats in everything.

/// How good a row is: one rank a criterion, more is better. Ranks are integers, so that what is
/// equal as far as the models can tell is equal here.
pub(super) type Merits = [i64; CRITERIA];

/// How many criteria there are; see [`Criterion`].
pub(super) const CRITERIA: usize = 11;

/// By what layouts are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Criterion {
    /// What it costs, or how many drives it takes where no prices are given.
    Price,
    /// Room for files.
    Usable,
    /// Chance of losing the array in a year.
    Loss,
    /// Reading alone.
    Read,
    /// Writing alone.
    Write,
    /// Reading with the streams.
    ReadTogether,
    /// Writing with the streams.
    WriteTogether,
    /// Reading with a drive missing.
    Degraded,
    /// Time to rebuild.
    Rebuild,
    /// Small reads at random places, where they are asked for.
    RandomRead,
    /// Small writes at random places, where they are asked for.
    RandomWrite,
}

impl Criterion {
    /// All, in the order of ranks.
    pub const ALL: [Self; CRITERIA] = [
        Self::Price,
        Self::Usable,
        Self::Loss,
        Self::Read,
        Self::Write,
        Self::ReadTogether,
        Self::WriteTogether,
        Self::Degraded,
        Self::Rebuild,
        Self::RandomRead,
        Self::RandomWrite,
    ];
}

/// The rank of a value of which more is better: what remains of it at so many digits.
///
/// Exponent and digits as one integer, so that equal and greater mean equal and greater at that
/// precision. Nothing and less have the lowest rank.
pub(super) fn rank(value: f64, digits: u32) -> i64 {
    if value.is_nan() || value <= 0.0 {
        return i64::MIN;
    }
    if value.is_infinite() {
        return i64::MAX;
    }
    let scale = 10_i64.pow(digits);
    let mut exponent = libm::floor(libm::log10(value)) as i64;
    let unit = libm::exp10((exponent - i64::from(digits) + 1) as f64);
    let mut mantissa = libm::round(value / unit) as i64;
    if mantissa >= scale {
        // 9.96 at two digits is 10
        mantissa = scale / 10;
        exponent += 1;
    }
    exponent * scale * 10 + mantissa
}

/// The rank of a value of which less is better.
pub(super) fn rank_of_less(value: f64, digits: u32) -> i64 {
    match rank(value, digits) {
        i64::MIN => i64::MAX,
        other => -other,
    }
}

fn at_least(one: &Merits, other: &Merits) -> bool {
    one.iter().zip(other).all(|(a, b)| a >= b)
}

/// For each row, whether another is at least as good in everything and better in something, and
/// which earlier row it equals in everything.
///
/// A row can only be beaten by one that comes before it when all are sorted by their ranks, best
/// first, and then by one that is not beaten itself; so each is compared with those left. Checked by
/// `property_no_row_is_beaten_and_none_is_missing`.
pub(super) fn standing(merits: &[Merits]) -> Vec<Standing> {
    let mut order: Vec<usize> = (0..merits.len()).collect();
    // equal rows stay in the order they came
    order.sort_by(|&a, &b| merits[b].cmp(&merits[a]));
    let mut standing = vec![Standing::Kept; merits.len()];
    let mut kept: Vec<usize> = Vec::new();
    for row in order {
        let equal_or_better = kept.iter().find(|&&k| at_least(&merits[k], &merits[row]));
        match equal_or_better {
            Some(&k) if merits[k] == merits[row] => standing[row] = Standing::Equals(k),
            Some(_) => standing[row] = Standing::Beaten,
            None => kept.push(row),
        }
    }
    standing
}

/// How a row stands among all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Standing {
    /// No row beats it.
    Kept,
    /// It equals an earlier row in every rank.
    Equals(usize),
    /// Another is at least as good in everything and better in something.
    Beaten,
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn ranks_keep_the_digits_that_count() {
        assert_eq!(rank(1.04, 2), rank(0.96e0 + 0.05, 2));
        assert!(rank(1.06, 2) > rank(1.04, 2));
        assert_eq!(rank(9.96, 2), rank(10.0, 2));
        assert!(rank(9.9, 2) < rank(10.0, 2) && rank(0.099, 2) < rank(0.1, 2));
        assert!(rank(0.0, 2) < rank(1e-30, 2) && rank(1e300, 2) < rank(f64::INFINITY, 2));
        assert_eq!(rank(f64::NAN, 2), i64::MIN);
        assert!(rank_of_less(0.001, 2) > rank_of_less(0.0011, 2));
        assert!(rank_of_less(0.0, 2) > rank_of_less(1e-30, 2));
        assert!(rank_of_less(f64::INFINITY, 2) < rank_of_less(1e30, 2));
    }

    proptest! {
        #[test]
        fn property_ranks_never_turn_an_order_round(a in 1e-12..1e15_f64, by in 1.0..3.0_f64) {
            prop_assert!(rank(a * by, 2) >= rank(a, 2));
            prop_assert!(rank_of_less(a * by, 2) <= rank_of_less(a, 2));
        }

        #[test]
        fn property_no_row_is_beaten_and_none_is_missing(
            rows in proptest::collection::vec(proptest::array::uniform11(0..3_i64), 1..60),
        ) {
            let found = standing(&rows);
            for (i, row) in rows.iter().enumerate() {
                let beaten = rows.iter().any(|other| at_least(other, row) && other != row);
                prop_assert_eq!(beaten, found[i] == Standing::Beaten);
                if let Standing::Equals(j) = found[i] {
                    prop_assert!(rows[j] == *row && j < i && found[j] == Standing::Kept);
                }
            }
            // of equal rows one is kept
            for (i, row) in rows.iter().enumerate() {
                if found[i] == Standing::Kept {
                    let twins = (0..rows.len()).filter(|&j| rows[j] == *row && found[j] == Standing::Kept);
                    prop_assert_eq!(twins.count(), 1);
                }
            }
        }
    }
}
