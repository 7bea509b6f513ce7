use narrows_core::quantity::{Measure, Ratio, Time, ratio};

/// The chance that a sample of m of N files, d of them bad, shows a bad one:
/// `1 - C(N - d, m) / C(N, m)`. Checked by `validate_samples`.
pub fn seen_in_sample(files: u64, bad: u64, sample: u64) -> Ratio {
    let good = files.saturating_sub(bad);
    if sample > good {
        return ratio(1.0);
    }
    let none: f64 = (0..sample)
        .map(|i| (good - i) as f64 / (files - i) as f64)
        .product();
    ratio(1.0 - none)
}

/// The largest share of bad files that none in a sample of m leaves possible with 95 %:
/// `1 - .05^(1 / m)`, about 3 / m.
pub fn most_bad_when_none_seen(sample: u64) -> Ratio {
    ratio(1.0 - libm::pow(0.05, 1.0 / sample as f64))
}

/// Share of drives that hold damage nobody has seen: `l v / 24`, l a year, v months between checks;
/// damage waits half that time in the mean.
pub fn share_damaged(a_year: Ratio, months_between: f64) -> Ratio {
    a_year * (months_between / 24.0)
}

/// The chance that both copies of a thing are damaged before either is checked.
pub fn both_damaged(a_year: Ratio, months_between: f64) -> Ratio {
    let one = share_damaged(a_year, months_between);
    one * one
}

/// Drives on a shelf that are dead when they are asked: the chance of one, and of all.
///
/// `unread` years since one was last read, `drives` of them. Checked by `validate_shelves`.
pub fn dead_on_the_shelf(a_year: Ratio, unread: f64, drives: u32) -> (Ratio, Ratio) {
    let one = 1.0 - libm::pow(1.0 - a_year.base(), unread);
    (ratio(one), ratio(libm::pow(one, f64::from(drives))))
}

/// Days in a year, as failure rates count them.
const DAYS: f64 = 365.0;

/// The chance a year that two copies which fail in silence are gone together: about `2 l1 l2 T`, T
/// until one is repaired, plus the floor of what takes both. Checked by `validate_two_silent_copies`.
pub fn both_silent(one: Ratio, other: Ratio, repaired: Time, floor: Ratio) -> Ratio {
    let years = repaired.base() / 86_400.0 / DAYS;
    one * other * (2.0 * years) + floor
}
