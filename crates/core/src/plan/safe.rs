//! How long a layout rebuilds and how likely it is lost, seen from three sides.

use super::{DriveChoice, PlanFault};
use crate::array::Layout;
use crate::array::durability::{Outlook, Rebuild, View, safety, year};
use crate::array::rate::{FlashWrite, Zones, fast_cache, folding_point};
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::{
    DataRate, Information, Measure, Ratio, Time, UnitFault, megabytes_per_second, ratio,
};
use crate::site::{Assumption, Drive};

/// A value as seen by somebody with good drives and habits, by most, and by somebody without.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Views<T> {
    /// Good drives, a spare, weekly scrubs.
    pub optimistic: T,
    /// What most see.
    pub typical: T,
    /// Worse drives of one batch, a drive by post, scrubs forgotten.
    pub pessimistic: T,
}

/// How safe a layout is over a year.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loss {
    /// The chance that the whole array is lost, common causes included.
    pub array: Views<Ratio>,
    /// The part that failures of single drives make, typically.
    pub by_drives: Ratio,
    /// The same, of worse drives of one batch that nobody looks after.
    pub by_drives_at_worst: Ratio,
    /// The floor: causes that reach all drives at once, whatever the layout.
    pub by_common_causes: Ratio,
    /// The chance that at least one file is damaged or lost, typically.
    pub file_damaged: Ratio,
}

/// What the chances of loss rest on, that nobody says of drives that are not yet bought: row, and how to
/// find it out.
const RESTS_ON: [(&str, &str); 4] = [
    (
        "durability.failures-a-year.hdd",
        "look for public figures of the very model",
    ),
    (
        "durability.correlation",
        "buy drives of two batches, or of two makes",
    ),
    (
        "durability.unreadable-a-year",
        "read the drives' own reports once a month",
    ),
    (
        "durability.scrub-interval",
        "look in the storage settings of the NAS for the schedule of scrubs",
    ),
];

/// What chances of loss assume, with low, typical and high.
///
/// # Errors
/// Where the catalogue lacks a row.
pub fn assumed_of_failures(catalogue: &Catalogue) -> Result<Vec<Assumption>, CatalogueFault> {
    let mut found = Vec::new();
    for (id, find_out) in RESTS_ON {
        let row = catalogue.number(id)?;
        let unit = if row.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", row.unit)
        };
        found.push(Assumption {
            id: id.to_owned(),
            value: format!("{}..{}..{}{unit}", row.low, row.likely, row.high),
            because: format!("{}; {}", row.note, row.source),
            find_out: find_out.to_owned(),
        });
    }
    Ok(found)
}

/// What one choice of drives does to rebuilds: outlooks and times, without and with a hot spare.
pub(super) struct Repair {
    outlooks: [Vec<Outlook>; 2],
    /// By spare, then by whether only files are copied, then by view.
    times: [[Vec<Time>; 2]; 2],
}

/// No throttle: beyond any drive.
const NO_CEILING: f64 = 1e9;

impl Repair {
    /// Of a choice, at the median of its rates; a pool copies the filled part.
    pub(super) fn of(
        choice: &DriveChoice,
        fill: Ratio,
        catalogue: &Catalogue,
    ) -> Result<Self, PlanFault> {
        let spinning = matches!(choice.drive(), Drive::Spinning { .. });
        let throttle = catalogue
            .spread::<DataRate>("durability.rebuild-ceiling")?
            .median();
        let scattered = knots::<Ratio>(catalogue, "durability.scattered-rebuild")?;
        let shingled = knots::<f64>(catalogue, "layouts.shingled-rebuild")?;
        let mut outlooks = [Vec::new(), Vec::new()];
        let mut times = [[Vec::new(), Vec::new()], [Vec::new(), Vec::new()]];
        for (spare, (outlooks, times)) in outlooks.iter_mut().zip(&mut times).enumerate() {
            for (i, view) in View::ALL.into_iter().enumerate() {
                let outlook = Outlook::of(view, spinning, spare == 1, catalogue)?;
                for (files, times) in times.iter_mut().enumerate() {
                    let only_files = files == 1;
                    let (copied, ceiling) = if only_files {
                        (fill, megabytes_per_second(NO_CEILING))
                    } else {
                        (ratio(1.0), throttle)
                    };
                    let mut drive = written(choice, copied, ceiling / outlook.rebuild_share)?;
                    if only_files {
                        // from the best view to the worst
                        drive = drive.slowed(ratio(scattered[2 - i]));
                    }
                    let rebuild = Rebuild {
                        drive,
                        ceiling,
                        copied,
                        detection: outlook.detection,
                        replacement: outlook.replacement,
                    };
                    let mut time = rebuild.time(outlook.rebuild_share)?;
                    if choice.is_shingled() {
                        let waiting = outlook.detection + outlook.replacement;
                        time = waiting + (time - waiting) * shingled[i];
                    }
                    times.push(time);
                }
                outlooks.push(outlook);
            }
        }
        Ok(Self { outlooks, times })
    }

    /// Time without redundancy after one failure, and what a year does, of one layout.
    ///
    /// Checked by `verify_loss_is_that_of_the_durability_model`.
    pub(super) fn safety(
        &self,
        layout: &Layout,
        held: Information,
    ) -> Result<(Option<Views<Time>>, Loss), PlanFault> {
        let spare = usize::from(!layout.spares().is_empty());
        let files = layout.level().is_summed();
        let times = &self.times[spare][usize::from(files)];
        let seen = |view: usize| {
            safety(
                layout,
                times[view],
                held,
                &self.outlooks[spare][view],
                year(),
            )
        };
        let (good, usual, bad) = (seen(0)?, seen(1)?, seen(2)?);
        let loss = Loss {
            array: Views {
                optimistic: good.array_lost,
                typical: usual.array_lost,
                pessimistic: bad.array_lost,
            },
            by_drives: usual.lost_to_drives,
            by_drives_at_worst: bad.lost_to_drives,
            by_common_causes: usual.lost_to_common_causes,
            file_damaged: usual.file_damaged,
        };
        let rebuild = (layout.survives_any() > 0).then(|| Views {
            optimistic: times[0],
            typical: times[1],
            pessimistic: times[2],
        });
        Ok((rebuild, loss))
    }
}

/// The drive that a rebuild writes, at the median of its rates.
///
/// A new drive of flash is filled from empty, through its fast cache and until it folds: in the mean as
/// fast as a [`FlashWrite`] of what is copied, no phase of it faster than `most`, the rate at which the
/// throttle holds a drive back that works on the rebuild for a share of its time. Checked by
/// `verify_a_rebuild_of_flash_goes_through_its_phases`.
fn written(choice: &DriveChoice, copied: Ratio, most: DataRate) -> Result<Zones, UnitFault> {
    let capacity = choice.size().bytes().information();
    match choice.drive() {
        Drive::Spinning {
            outer, inner_ratio, ..
        } => Zones::new(outer.value.median(), inner_ratio.value.median(), capacity),
        Drive::Flash {
            burst_write,
            later_write,
            fold_write,
            cache_share,
            bits_a_cell,
            fold_share,
            ..
        } => {
            let empty = ratio(0.0);
            let bits = bits_a_cell.as_ref().map_or(1.0, |b| b.value.median());
            let cache = fast_cache(capacity, empty, cache_share.value.median(), bits);
            let folds = folding_point(cache, capacity, empty, fold_share.value.median());
            let mut slowest = most;
            let rates = [burst_write, later_write, fold_write].map(|rate| {
                let rate = rate.value.median();
                slowest = if rate < slowest { rate } else { slowest };
                slowest
            });
            let write = FlashWrite::new(cache, folds, rates)?;
            Zones::new(write.mean_rate(capacity * copied), ratio(1.0), capacity)
        }
    }
}

fn knots<Q: Measure>(catalogue: &Catalogue, id: &str) -> Result<[f64; 3], PlanFault> {
    let (low, likely, high) = catalogue.spread::<Q>(id)?.law().knots();
    Ok([low, likely, high])
}
