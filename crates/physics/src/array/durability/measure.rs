use super::chain::any_lost;
use super::sectors::developed;
use super::{
    DurabilityFault, Outlook, RepairChain, any_unreadable, either, latent_on_a_drive, share_failed,
    yearly,
};
use crate::array::{Group, Layout, Level, Placement};
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{Information, Ratio, Time, bytes, ratio};

/// What every answer about safety says beside its numbers.
pub const NOT_A_BACKUP: &str =
    "An array is not a backup: deletion, theft, fire and a mistaken command reach all its drives.";

/// What an unreadable sector takes with it at least: one block of 4 KiB, and the file it is in.
const BLOCK: f64 = 4096.0;

/// How safe an array is over a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Safety {
    /// The chance that the whole array is lost, common causes included.
    pub array_lost: Ratio,
    /// The part of it that failures of single drives make.
    pub lost_to_drives: Ratio,
    /// The part of it that causes make which reach all drives.
    pub lost_to_common_causes: Ratio,
    /// The chance that at least one file is damaged or lost, the loss of the array included.
    pub file_damaged: Ratio,
    /// Expected bytes lost with the whole array.
    pub bytes_with_array: Information,
    /// Expected bytes lost to unreadable sectors: blocks of 4 KiB, and perhaps the files they
    /// are in.
    pub bytes_in_sectors: Information,
    /// Mean time to a loss by failures of single drives: a figure to compare layouts by, far
    /// beyond the age of any drive.
    pub mean_time_to_loss: Time,
}

impl Safety {
    /// All expected bytes lost.
    pub fn bytes_lost(&self) -> Information {
        self.bytes_with_array + self.bytes_in_sectors
    }
}

/// How safe an array is.
///
/// `repair` is the time without redundancy after one failure ([`super::Rebuild`]), `held` what
/// the array holds, `time` how long it is watched.
///
/// Every group is a [`RepairChain`], a group lost is an array lost. RAID 10 is counted by its
/// mirrored couples: pairs on an even number of near copies, every two neighbours on the ring of
/// drives otherwise (exact to first order in repair time over life). A file is damaged when a
/// repair without redundancy meets an unreadable sector, or, without any redundancy, when a sector
/// becomes unreadable. Common causes act at their own rate, plus a share of all drive failures.
///
/// Valid for equal drives. Assumes independence beyond the correlation factor; the floor of common
/// causes dominates every layout that survives two failures. Expected bytes after Greenan, Plank
/// and Wylie 2010. Checked by `validate_field_form`, `validate_common_causes`,
/// `validate_expected_bytes`.
///
/// # Errors
/// Where a rate or time makes no sense.
pub fn safety(
    layout: &Layout,
    repair: Time,
    held: Information,
    outlook: &Outlook,
    time: Time,
) -> Result<Safety, DurabilityFault> {
    let with = chains(layout, repair, outlook, true)?;
    let without = chains(layout, repair, outlook, false)?;
    let drives = layout.working_drives();
    let lost_to_drives = any_lost(&without, time);
    let mut damaged = any_lost(&with, time);
    let unprotected: usize = layout
        .groups()
        .iter()
        .filter(|group| group.survives_any() == 0)
        .map(Group::width)
        .sum();
    let bare = developed(outlook.unreadable_a_year, unprotected, time);
    let sectors = (damaged - lost_to_drives).max(0.0) + bare;
    damaged = either([damaged, bare].into_iter());
    let failures = yearly(outlook.failures_a_year) * drives as f64 * outlook.common_share;
    let common = share_failed(outlook.common_cause + failures, time).get::<one>();
    let array_lost = either([lost_to_drives, common].into_iter());
    let rate: f64 = without
        .iter()
        .map(|(chain, count)| *count as f64 / chain.mean_time_to_loss().value)
        .sum();
    Ok(Safety {
        array_lost: ratio(array_lost),
        lost_to_drives: ratio(lost_to_drives),
        lost_to_common_causes: ratio(common),
        file_damaged: ratio(either([damaged, common].into_iter())),
        bytes_with_array: held * ratio(array_lost),
        bytes_in_sectors: bytes(BLOCK * sectors),
        mean_time_to_loss: narrows_units::quantity::seconds(1.0 / rate),
    })
}

/// The independent chains of a layout, each with its number.
fn chains(
    layout: &Layout,
    repair: Time,
    outlook: &Outlook,
    sectors: bool,
) -> Result<Vec<(RepairChain, usize)>, DurabilityFault> {
    let failure = yearly(outlook.failures_a_year);
    let latent = latent_on_a_drive(outlook.unreadable_a_year, outlook.scrub_interval);
    let mut found: Vec<((usize, usize), usize)> = Vec::new();
    for group in layout.groups() {
        let (drives, tolerated, count) = couples(group);
        match found
            .iter_mut()
            .find(|(kind, _)| *kind == (drives, tolerated))
        {
            Some((_, known)) => *known += count,
            None => found.push(((drives, tolerated), count)),
        }
    }
    found
        .into_iter()
        .map(|((drives, tolerated), count)| {
            let unreadable = if sectors && tolerated > 0 {
                any_unreadable(latent, drives - tolerated)
            } else {
                ratio(0.0)
            };
            RepairChain::new(
                drives,
                tolerated,
                failure,
                (repair, outlook.repairs),
                unreadable,
                outlook.correlation,
            )
            .map(|chain| (chain, count))
        })
        .collect()
}

/// Drives, tolerated failures and number of the sets that a group's data depend on.
fn couples(group: &Group) -> (usize, usize, usize) {
    let n = group.width();
    match group.level() {
        Level::Raid10(Placement::Near) if n.is_multiple_of(2) => (2, 1, n / 2),
        Level::Raid10(_) if n == 2 => (2, 1, 1),
        Level::Raid10(_) => (2, 1, n),
        _ => (n, group.survives_any(), 1),
    }
}

#[cfg(test)]
mod tests;
