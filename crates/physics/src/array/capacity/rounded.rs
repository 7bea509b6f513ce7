//! Space in steps that a person reads, with parts that still add up.

use super::Space;
use crate::array::Bytes;
use narrows_units::quantity::Information;

/// The parts of a space in whole steps; together they are `raw` to the last digit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rounded {
    /// All drives.
    pub raw: Information,
    /// Parity and further copies.
    pub redundancy: Information,
    /// Sectors that fill up stripes.
    pub padding: Information,
    /// Hot spares.
    pub spares: Information,
    /// All that stays unused.
    pub unused: Information,
    /// Labels and tables.
    pub metadata: Information,
    /// What the file system keeps back.
    pub reserve: Information,
    /// What is left for files.
    pub usable: Information,
}

impl Space {
    /// The parts in whole `step`s, by largest remainder.
    ///
    /// The raw space is rounded to the nearest step; each part is rounded down, and the steps that
    /// are then missing go to the parts with the largest remainders. No part moves by a whole step
    /// or more, and nothing stays nothing. A step of nothing is taken as one byte.
    ///
    /// Checked by `property_rounded_parts_add_up`.
    pub fn rounded(&self, step: Bytes) -> Rounded {
        let step = step.get().max(1);
        let parts = [
            self.redundancy,
            self.padding,
            self.spares,
            self.unused_bytes(),
            self.metadata,
            self.reserve,
            self.usable,
        ]
        .map(Bytes::get);
        let raw = (self.raw.get() + step / 2) / step;
        let mut steps = parts.map(|part| part / step);
        let missing = raw.saturating_sub(steps.iter().sum());
        let mut order: Vec<usize> = (0..parts.len()).collect();
        order.sort_by_key(|&i| std::cmp::Reverse(parts.get(i).map_or(0, |part| part % step)));
        for (_, i) in (0..missing).zip(order) {
            if let Some(part) = steps.get_mut(i) {
                *part += 1;
            }
        }
        let shown = |count: u64| Bytes::new(count * step).information();
        let [
            redundancy,
            padding,
            spares,
            unused,
            metadata,
            reserve,
            usable,
        ] = steps.map(shown);
        Rounded {
            raw: shown(raw),
            redundancy,
            padding,
            spares,
            unused,
            metadata,
            reserve,
            usable,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::array::capacity::{Terms, Unused, Why, space};
    use crate::array::{DriveSize, Layout, Level};
    use narrows_units::quantity::{terabytes, units};
    use proptest::prelude::*;

    const GIGABYTE: u64 = 1_000_000_000;

    fn whole(size: Information) -> u64 {
        (size.get::<units::information::byte>() / 1e9).round() as u64
    }

    #[test]
    fn steps_go_to_the_largest_remainders() {
        // by hand: 0.6 + 0.6 + 0.3 = 1.5, shown as 2: one each for the first two
        let part = |tenths: u64| Bytes::new(tenths * GIGABYTE / 10);
        let made = Space {
            raw: part(15),
            redundancy: part(3),
            padding: Bytes::default(),
            spares: Bytes::default(),
            unused: vec![Unused {
                bytes: part(6),
                why: Why::Rounding,
            }],
            metadata: Bytes::default(),
            reserve: Bytes::default(),
            usable: part(6),
            comfortable: part(5),
            listed: None,
        };
        let shown = made.rounded(Bytes::new(GIGABYTE));
        assert_eq!(
            (
                whole(shown.raw),
                whole(shown.redundancy),
                whole(shown.unused),
                whole(shown.usable)
            ),
            (2, 0, 1, 1)
        );
        // a step of nothing changes nothing
        assert_eq!(
            made.rounded(Bytes::default()).usable,
            made.usable.information()
        );
    }

    proptest! {
        #[test]
        fn property_rounded_parts_add_up(
            level in 0..Level::ALL.len(), more in 0..8_usize, terabytes_ in 1..26_u32,
            other in 1..26_u32, spares in 0..3_usize,
        ) {
            let level = Level::ALL[level];
            let size = |count: u32| DriveSize::new(terabytes(f64::from(count))).unwrap();
            let width = if level == Level::Single { 1 } else { level.least_drives() + more };
            let mut drives = vec![size(terabytes_); width];
            drives[0] = size(other);
            let layout = Layout::new(
                vec![(level, drives); level.least_groups()], vec![size(other); spares],
            ).unwrap();
            let made = space(&layout, &Terms::usual(&layout)).unwrap();
            let shown = made.rounded(Bytes::new(GIGABYTE));
            let pairs = [
                (shown.redundancy, made.redundancy),
                (shown.padding, made.padding),
                (shown.spares, made.spares),
                (shown.unused, made.unused_bytes()),
                (shown.metadata, made.metadata),
                (shown.reserve, made.reserve),
                (shown.usable, made.usable),
            ];
            prop_assert_eq!(pairs.iter().map(|(s, _)| whole(*s)).sum::<u64>(), whole(shown.raw));
            for (shown, exact) in pairs {
                let apart = (whole(shown) * GIGABYTE).abs_diff(exact.get());
                prop_assert!(apart < GIGABYTE);
                prop_assert!(exact.get() > 0 || whole(shown) == 0);
            }
        }
    }
}
