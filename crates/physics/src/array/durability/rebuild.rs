use crate::array::rate::{Zones, outside};
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{DataRate, Measure, Ratio, Time, UnitFault, exact, percent, ratio};

/// What a rebuild has to do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rebuild {
    /// The drive that is written.
    pub drive: Zones,
    /// What limits the rate whatever the drive does, such as the kernel's throttle.
    pub ceiling: DataRate,
    /// Share of the drive's capacity that is copied: all of it for fixed stripes, the filled part
    /// where the file system knows what is used.
    pub copied: Ratio,
    /// Until somebody or something notices.
    pub detection: Time,
    /// Until a new drive is in; nothing with a hot spare.
    pub replacement: Time,
}

/// A rebuild at the highest, the likely and the lowest share of the drives' time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RebuildInterval {
    /// At the highest share.
    pub least: Time,
    /// At the likely share.
    pub likely: Time,
    /// At the lowest share.
    pub most: Time,
}

impl Rebuild {
    /// Time without redundancy, from the failure to the end of the rebuild.
    ///
    /// `T = detection + replacement + pass over the copied part at share phi of the drive's rate`,
    /// with the ceiling cutting the outer zones off. The replaced drive is the bottleneck: it is
    /// written from the outer edge to the inner, while the others are read in step.
    ///
    /// Valid for sequential rebuilds of conventional drives. A rebuild of a pool whose files are
    /// scattered runs at 30 to 70 % of it; drives that overlap tracks (SMR) can take ten times as
    /// long. Checked by `validate_rebuild_times`.
    ///
    /// # Errors
    /// Where the share is not above 0 and at most 100 %.
    pub fn time(&self, share: Ratio) -> Result<Time, UnitFault> {
        let phi = share.get::<one>();
        if !(phi > 0.0 && phi <= 1.0) {
            return Err(outside(
                format!("the rebuild gets {} of the drives' time", exact(share)),
                "write a share above 0 and up to 100 %",
            ));
        }
        if self.ceiling.base() <= 0.0 {
            return Err(outside(
                "the ceiling of the rebuild is zero".to_owned(),
                "write a rate above zero",
            ));
        }
        let drive = self.drive.slowed(share);
        let work = drive.capped_pass(ratio(0.0), self.copied, self.ceiling);
        Ok(self.detection + self.replacement + work)
    }

    /// At three shares: the most, the likely and the least that the rebuild may get.
    ///
    /// # Errors
    /// As [`Rebuild::time`].
    pub fn interval(
        &self,
        [most, likely, least]: [Ratio; 3],
    ) -> Result<RebuildInterval, UnitFault> {
        Ok(RebuildInterval {
            least: self.time(most)?,
            likely: self.time(likely)?,
            most: self.time(least)?,
        })
    }
}

/// How much of a whole-drive rebuild one over all drives of a declustered array takes.
///
/// Every drive reads and writes a part: `(d + 1) / (n - 1)` for `d` data drives in a stripe and
/// `n` drives in all; multiply by the used share. Valid for spare space spread over all drives.
/// Checked by `validate_rebuild_times`.
pub fn declustered_share(data_drives: usize, all_drives: usize) -> Ratio {
    let share = (data_drives + 1) as f64 / all_drives.saturating_sub(1).max(1) as f64;
    ratio(share).min(percent(100.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::units::time::{day, hour};
    use narrows_units::quantity::{megabytes_per_second, seconds, terabytes};

    /// Half a unit of the sixth printed digit.
    const PRINTED: f64 = 5e-6;

    fn rebuild(terabytes_: f64, outer: f64, ceiling: f64) -> Rebuild {
        let outer = megabytes_per_second(outer);
        Rebuild {
            drive: Zones::new(outer, ratio(0.48), terabytes(terabytes_)).unwrap(),
            ceiling: megabytes_per_second(ceiling),
            copied: ratio(1.0),
            detection: seconds(0.0),
            replacement: seconds(0.0),
        }
    }

    fn hours(rebuild: &Rebuild, share: f64) -> f64 {
        rebuild.time(ratio(share)).unwrap().get::<hour>()
    }

    #[test]
    fn validate_rebuild_times() {
        // idle hours by 2 C / (r0 (1 + rho)), and with the kernel's ceiling of 200000 KiB/s
        for (size, outer, free, capped) in [
            (4.0, 180.0, 8.34168, 8.34168),
            (8.0, 210.0, 14.3000, 14.3087),
            (12.0, 245.0, 18.3857, 18.9551),
            (16.0, 260.0, 23.1000, 24.3710),
            (20.0, 270.0, 27.8056, 29.8610),
            (24.0, 285.0, 31.6106, 34.9600),
        ] {
            assert_relative_eq!(
                hours(&rebuild(size, outer, 1e6), 1.0),
                free,
                max_relative = PRINTED
            );
            assert_relative_eq!(
                hours(&rebuild(size, outer, 204.8), 1.0),
                capped,
                max_relative = PRINTED
            );
        }
        // 12 TB at the kernel's floor of 1000 KiB/s: 135.634 days
        let floor = rebuild(12.0, 245.0, 1.024).time(ratio(1.0)).unwrap();
        assert_relative_eq!(floor.get::<day>(), 135.634, max_relative = PRINTED);
        // half the drives' time, a drive of 12000138625024 bytes: 36.7719 h
        assert_relative_eq!(
            hours(&rebuild(12.000138625024, 245.0, 1e6), 0.5),
            36.7719,
            max_relative = PRINTED
        );
        // 24 drives in stripes of 8 + 2, 80 % full: 5.75553 h instead of 14.7086
        let share = declustered_share(8, 24).get::<one>();
        assert_relative_eq!(share, 0.391304, max_relative = PRINTED);
        let whole = hours(&rebuild(12.0, 245.0, 1e6), 1.0);
        assert_relative_eq!(whole * 0.8 * share, 5.75553, max_relative = PRINTED);
    }

    #[test]
    fn waiting_counts_and_shares_make_an_interval() {
        let mut rebuild = rebuild(12.0, 245.0, 204.8);
        let shares = [0.9, 0.5, 0.3].map(ratio);
        let interval = rebuild.interval(shares).unwrap();
        assert!(interval.least < interval.likely && interval.likely < interval.most);
        rebuild.replacement = Time::new::<hour>(72.0);
        let later = rebuild.interval(shares).unwrap();
        assert_relative_eq!(
            (later.likely - interval.likely).get::<hour>(),
            72.0,
            max_relative = 1e-12
        );
        rebuild.copied = ratio(0.5);
        assert!(rebuild.interval(shares).unwrap().least < later.least);
    }

    #[test]
    fn a_rebuild_without_time_or_rate_is_refused() {
        for share in [0.0, -0.1, 1.1, f64::NAN] {
            assert!(rebuild(12.0, 245.0, 204.8).time(ratio(share)).is_err());
        }
        assert!(rebuild(12.0, 245.0, 0.0).time(ratio(0.5)).is_err());
    }
}
