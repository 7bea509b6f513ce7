//! Links joined into one: how many of them a number of flows uses.

use narrows_units::quantity::{Ratio, ratio, units};

/// How many members of a joined link carry something, on average: `m (1 - (1 - 1/m)^n)`.
///
/// `m` members, `n` flows. A flow stays on the member that the hash of its addresses picks, so
/// one flow never gets more than one member's rate. Assumes that every member is equally likely
/// for every flow; a hash of the two machines' addresses alone puts all flows of one pair on one
/// member. Each direction picks by itself. Nothing where there is no member or no flow.
/// Source: IEEE 802.1AX section 6 (distribution keeps the frames of a conversation in order);
/// expected number of boxes that `n` balls hit.
/// Checked by `validate_members_in_use` and `property_members_in_use_lie_between_one_and_all`.
pub fn members_in_use(members: u32, flows: u32) -> Ratio {
    if members == 0 {
        return ratio(0.0);
    }
    let m = f64::from(members);
    ratio(m * (1.0 - libm::pow(1.0 - 1.0 / m, f64::from(flows))))
}

/// The chance that all flows share one member: `m^(1 - n)`.
///
/// Symbols and assumptions as in [`members_in_use`]. Certain for no flow, one flow or one member.
/// Checked by `validate_all_on_one_member`.
pub fn all_on_one_member(members: u32, flows: u32) -> Ratio {
    if members <= 1 || flows <= 1 {
        return ratio(1.0);
    }
    ratio(libm::pow(f64::from(members), 1.0 - f64::from(flows)))
}

/// How many members' rates the flows of a joined link get together, where chance puts them: one
/// where the hash puts all flows on one member, and as many as there are flows or members elsewhere,
/// which is exact for two flows.
///
/// `hash` from 0 to 1 is the luck of this link. Symbols and assumptions as in [`members_in_use`].
/// Checked by `verify_what_is_carried_is_the_members_in_use`.
pub fn carried_by(members: u32, flows: u32, hash: f64) -> f64 {
    let all_on_one = all_on_one_member(members, flows);
    if hash < all_on_one.get::<units::ratio::one>() {
        1.0
    } else {
        f64::from(members.min(flows).max(1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::units;
    use proptest::prelude::*;

    /// Half a unit of the sixth printed digit.
    const SIX_DIGITS: f64 = 5e-6;
    /// Rounding of a handful of operations.
    const ROUNDING: f64 = 1e-12;

    fn used(members: u32, flows: u32) -> f64 {
        members_in_use(members, flows).get::<units::ratio::one>()
    }

    fn together(members: u32, flows: u32) -> f64 {
        all_on_one_member(members, flows).get::<units::ratio::one>()
    }

    #[test]
    fn validate_members_in_use() {
        let rows = [
            (2, 1, 1.0),
            (2, 2, 1.5),
            (2, 3, 1.75),
            (2, 4, 1.875),
            (2, 8, 1.99219),
            (3, 2, 1.66667),
            (3, 4, 2.40741),
            (4, 2, 1.75),
            (4, 3, 2.3125),
            (4, 4, 2.73438),
            (4, 8, 3.59955),
            (4, 16, 3.95991),
            (8, 8, 5.25113),
        ];
        for (members, flows, expected) in rows {
            assert_relative_eq!(used(members, flows), expected, max_relative = SIX_DIGITS);
        }
    }

    #[test]
    fn verify_what_is_carried_is_the_members_in_use() {
        // two flows: on average over the hash what the boxes that two balls hit say
        for members in [2u32, 3, 8] {
            let hashes = (0..1000).map(|i| (f64::from(i) + 0.5) / 1000.0);
            let mean = hashes.map(|hash| carried_by(members, 2, hash)).sum::<f64>() / 1000.0;
            assert_relative_eq!(mean, used(members, 2), max_relative = 1e-3);
        }
        assert_relative_eq!(carried_by(4, 1, 0.9), 1.0);
        assert_relative_eq!(carried_by(1, 9, 0.9), 1.0);
    }

    /// All ways in which a few flows can pick a member, counted.
    #[test]
    fn verify_members_in_use_by_counting() {
        for (members, flows) in [(2u32, 3u32), (4, 3), (3, 5)] {
            let ways = members.pow(flows);
            let mut members_hit = 0;
            let mut on_one = 0;
            for way in 0..ways {
                let hit = (0..flows).fold(0u32, |hit, flow| {
                    hit | 1 << (way / members.pow(flow) % members)
                });
                members_hit += hit.count_ones();
                on_one += u32::from(hit.is_power_of_two());
            }
            let mean = f64::from(members_hit) / f64::from(ways);
            assert_relative_eq!(used(members, flows), mean, max_relative = ROUNDING);
            let share = f64::from(on_one) / f64::from(ways);
            assert_relative_eq!(together(members, flows), share, max_relative = ROUNDING);
        }
    }

    #[test]
    fn validate_all_on_one_member() {
        for (flows, expected) in [(2, 0.5), (3, 0.25), (4, 0.125)] {
            assert_relative_eq!(together(2, flows), expected, max_relative = ROUNDING);
        }
    }

    #[test]
    fn one_member_no_member_and_no_flow_are_taken_as_they_are() {
        assert_relative_eq!(used(1, 5), 1.0, max_relative = ROUNDING);
        assert_relative_eq!(used(4, 0), 0.0, epsilon = ROUNDING);
        assert_relative_eq!(used(0, 3), 0.0, epsilon = ROUNDING);
        for (members, flows) in [(1, 5), (0, 5), (4, 0), (4, 1)] {
            assert_relative_eq!(together(members, flows), 1.0, max_relative = ROUNDING);
        }
    }

    proptest! {
        #[test]
        fn property_members_in_use_lie_between_one_and_all(members in 1u32..=8, flows in 1u32..=200) {
            let found = used(members, flows);
            let most = f64::from(members.min(flows));
            prop_assert!(found >= 1.0 - ROUNDING && found <= most + ROUNDING, "{found}");
            prop_assert!(used(members, flows + 1) >= found);
            let chance = together(members, flows);
            prop_assert!((0.0..=1.0).contains(&chance));
            prop_assert!(together(members, flows + 1) <= chance);
        }
    }
}
