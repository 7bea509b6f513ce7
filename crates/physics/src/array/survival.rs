use super::{Group, Level, Placement};
use narrows_units::quantity::{Ratio, ratio};

/// Number of ways to choose `k` of `n`, as a float: only ratios of such numbers are used.
fn choose(n: usize, k: usize) -> f64 {
    if k > n {
        return 0.0;
    }
    (0..k.min(n - k)).fold(1.0, |ways, i| ways * (n - i) as f64 / (i + 1) as f64)
}

/// How many sets of `k` failed drives a group survives.
fn survived_sets(group: &Group, k: usize) -> f64 {
    let n = group.width();
    let any = group.survives_any();
    if k <= any {
        return choose(n, k);
    }
    match group.level() {
        Level::Raid10(Placement::Near) if n.is_multiple_of(2) => {
            // one of each pair at most: choose the pairs, then the side
            let pairs = n / 2;
            (0..k).fold(choose(pairs, k), |ways, _| ways * 2.0)
        }
        Level::Raid10(_) if k < n => {
            // sets of k on a ring of n without neighbours
            n as f64 / (n - k) as f64 * choose(n - k, k)
        }
        _ => 0.0,
    }
}

pub(super) fn survival(groups: &[Group], failed: usize) -> Ratio {
    // ways[k]: survived sets of k drives in the groups so far
    let mut ways = vec![1.0];
    for group in groups {
        let reach = (ways.len() - 1 + group.width()).min(failed);
        let mut next = vec![0.0; reach + 1];
        for (before, count) in ways.iter().enumerate() {
            for (k, slot) in next.iter_mut().enumerate().skip(before) {
                *slot += count * survived_sets(group, k - before);
            }
        }
        ways = next;
    }
    let drives: usize = groups.iter().map(Group::width).sum();
    let all = choose(drives, failed);
    if all == 0.0 {
        return ratio(0.0);
    }
    ratio(ways.get(failed).copied().unwrap_or(0.0) / all)
}

#[cfg(test)]
mod tests {
    use crate::array::Layout;
    use narrows_units::quantity::units::ratio::one;
    use proptest::prelude::*;

    /// Half a unit of the sixth decimal, as the values are printed.
    const PRINTED: f64 = 5e-7;

    #[test]
    fn validate_survival_of_simultaneous_failures() {
        // counted by hand: 8 drives, C(8,2) = 28, C(8,3) = 56, C(8,4) = 70
        for (text, failed, expected) in [
            ("raid10 8 x 4 TB", 2, 24.0 / 28.0),
            ("raid10 8 x 4 TB", 3, 32.0 / 56.0),
            ("raid10 8 x 4 TB", 4, 16.0 / 70.0),
            ("raid50 2 x 4 x 4 TB", 2, 16.0 / 28.0),
            ("raid60 2 x 4 x 4 TB", 3, 48.0 / 56.0),
            ("raid60 2 x 4 x 4 TB", 4, 36.0 / 70.0),
            ("raid6 8 x 4 TB", 2, 1.0),
            ("raid6 8 x 4 TB", 3, 0.0),
            ("4 x mirror 2 x 4 TB", 2, 24.0 / 28.0),
            // a ring of eight: 28 - 8 neighbours
            ("raid10 far 8 x 4 TB", 2, 20.0 / 28.0),
            ("raid10 far 5 x 4 TB", 2, 0.5),
            ("two-copy 4 x 4 TB", 2, 0.0),
            // three of nine: 84 less the three sets that are one mirror
            ("3 x raid1 3 x 4 TB", 3, 81.0 / 84.0),
            ("2 x raid0 4 x 4 TB", 1, 0.0),
            ("raid1 3 x 4 TB", 2, 1.0),
            ("raid1 3 x 4 TB", 3, 0.0),
            ("raid0 3 x 4 TB", 0, 1.0),
            ("raid0 3 x 4 TB", 1, 0.0),
            ("raid0 3 x 4 TB", 9, 0.0),
        ] {
            let found = Layout::parse(text).unwrap().survival(failed).get::<one>();
            assert!(
                (found - expected).abs() < PRINTED,
                "{text} {failed}: {found}"
            );
        }
    }

    proptest! {
        #[test]
        fn property_survival_falls_with_failures_and_agrees_with_the_guarantee(
            level in 0..crate::array::Level::ALL.len(), groups in 1..4_usize, more in 0..6_usize,
        ) {
            let level = crate::array::Level::ALL[level];
            let groups = if level.comes_in_groups() { groups.max(level.least_groups()) } else { 1 };
            let width = if level == crate::array::Level::Single { 1 } else { level.least_drives() + more };
            let size = crate::array::DriveSize::new(narrows_units::quantity::terabytes(4.0)).unwrap();
            let layout = Layout::uniform(level, groups, width, size, 0).unwrap();
            let mut before = 1.0;
            for failed in 0..=layout.working_drives() {
                let share = layout.survival(failed).get::<one>();
                prop_assert!(share <= before + 1e-12);
                if failed <= layout.survives_any() {
                    prop_assert!((share - 1.0).abs() < 1e-12);
                } else {
                    prop_assert!(share < 1.0 - 1e-12);
                }
                before = share;
            }
            prop_assert!(before == 0.0);
        }
    }
}
