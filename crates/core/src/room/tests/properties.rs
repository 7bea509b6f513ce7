use super::bounds::{chernoff, plain};
use super::{an_hour, crowd, megabits, one, per_hour, stream};
use crate::quantity::{percent, seconds};
use crate::room::{Limits, Stream, peak_rule, room};
use proptest::prelude::*;

/// What sums of chances may be off by, relative.
const SUMS: f64 = 1e-9;

fn streams() -> impl Strategy<Value = Vec<Stream>> {
    let one = (1_u32..400, 0.01..1.0_f64, 1.0..1000.0_f64);
    proptest::collection::vec(one, 1..12).prop_map(|all| {
        let of = |(rate, active, spell)| stream(f64::from(rate), active, spell);
        all.into_iter().map(of).collect()
    })
}

/// Every combination of who plays.
fn by_hand(streams: &[Stream], capacity: f64) -> f64 {
    let plain = plain(streams);
    let mut over = 0.0;
    for mask in 0_u32..1 << plain.len() {
        let (mut chance, mut demand) = (1.0, 0.0);
        for (i, (rate, active)) in plain.iter().enumerate() {
            if mask >> i & 1 == 1 {
                chance *= active;
                demand += rate;
            } else {
                chance *= 1.0 - active;
            }
        }
        if demand > capacity {
            over += chance;
        }
    }
    over
}

proptest! {
    #[test]
    fn property_the_law_is_that_of_all_combinations(all in streams(), capacity in 0_u32..2000) {
        let capacity = f64::from(capacity);
        let found = one(crowd(capacity, &all).overload().chance);
        let expected = by_hand(&all, capacity);
        prop_assert!((found - expected).abs() <= SUMS * expected.max(1e-300), "{found} {expected}");
    }

    #[test]
    fn property_no_chance_is_above_the_chernoff_bound(all in streams(), capacity in 0_u32..2000) {
        let capacity = f64::from(capacity);
        let found = one(crowd(capacity, &all).overload().chance);
        let bound = libm::exp(-chernoff(&plain(&all), capacity).1);
        prop_assert!(found <= bound * (1.0 + SUMS), "{found} above {bound}");
    }

    #[test]
    fn property_more_desks_are_never_less_often_too_many(all in streams(), capacity in 0_u32..2000) {
        let capacity = f64::from(capacity);
        let with = one(crowd(capacity, &all).overload().chance);
        let without = one(crowd(capacity, all.get(1..).unwrap_or_default()).overload().chance);
        prop_assert!(without <= with * (1.0 + SUMS));
        let wider = one(crowd(capacity + 1.0, &all).overload().chance);
        prop_assert!(wider <= with * (1.0 + SUMS));
    }

    #[test]
    fn property_who_comes_first_does_not_matter(mut all in streams(), capacity in 0_u32..2000) {
        let capacity = f64::from(capacity);
        let before = crowd(capacity, &all).overload();
        all.reverse();
        let after = crowd(capacity, &all).overload();
        let near = |a: f64, b: f64| (a - b).abs() <= SUMS * a.max(b);
        prop_assert!(near(one(before.chance), one(after.chance)));
        prop_assert!(near(per_hour(before.spells), per_hour(after.spells)));
    }

    #[test]
    fn property_read_ahead_never_adds_stalls(all in streams(), capacity in 0_u32..2000, ahead in 0.0..5.0_f64) {
        let found = crowd(f64::from(capacity), &all).overload();
        let none = found.stalls(seconds(0.0));
        prop_assert!((per_hour(none) - per_hour(found.spells)).abs() <= SUMS * per_hour(found.spells));
        prop_assert!(found.stalls(seconds(ahead)) <= none);
        prop_assert!(found.stalls(seconds(ahead + 1.0)) <= found.stalls(seconds(ahead)));
    }

    #[test]
    fn property_as_many_fit_as_all_at_once(rate in 100_u32..900, active in 0.05..1.0_f64, capacity in 1_u32..9000) {
        let (capacity, one) = (megabits(f64::from(capacity)), stream(f64::from(rate), active, 20.0));
        let limits = Limits { spells: an_hour(0.125), chance: percent(0.1) };
        let found = room(capacity, &[], one, limits).unwrap();
        prop_assert!(found.more() >= peak_rule(capacity, megabits(0.0), one.rate));
    }
}
