//! A block device.

use super::{NotThere, Said, shown};

/// What a drive probably is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turning {
    /// Spinning, by what its driver says.
    Likely,
    /// Flash.
    No,
}

/// Texts of one device.
#[derive(Clone, Copy, Debug, Default)]
pub struct DriveTexts<'t> {
    /// Its name.
    pub name: &'t str,
    /// `size`: in units of 512 B, whatever the block.
    pub size: Option<&'t str>,
    /// `queue/rotational`.
    pub rotational: Option<&'t str>,
    /// `queue/scheduler`.
    pub scheduler: Option<&'t str>,
    /// `queue/logical_block_size`.
    pub logical: Option<&'t str>,
    /// `queue/physical_block_size`.
    pub physical: Option<&'t str>,
    /// `queue/zoned`.
    pub zoned: Option<&'t str>,
    /// `removable`.
    pub removable: Option<&'t str>,
    /// Whether the way to it goes through USB.
    pub usb: bool,
    /// Whether it has a device of its own.
    pub device: bool,
}

/// A drive.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drive {
    /// Its name.
    pub name: String,
    /// Bytes.
    pub bytes: u64,
    /// Whether it spins.
    pub turning: Said<Turning>,
    /// Class for a site file, where the name and the flags leave no doubt.
    pub class: Said<&'static str>,
    /// The scheduler that is chosen.
    pub scheduler: Option<String>,
    /// Bytes of a block as it is asked for.
    pub logical: Option<u64>,
    /// Bytes of a block as it is stored.
    pub physical: Option<u64>,
    /// Whether tracks overlap, so that it is written in zones.
    pub shingled: bool,
}

/// Reads a drive; not there where it is an empty reader, or no drive at all. Test: `validate_drives`.
pub fn drive(texts: DriveTexts<'_>) -> Said<Drive> {
    let sectors: u64 = texts
        .size
        .and_then(|text| text.trim().parse().ok())
        .ok_or_else(|| NotThere::because("no size"))?;
    if sectors == 0 {
        return Err(NotThere::because("an empty reader"));
    }
    let bytes = sectors
        .checked_mul(512)
        .ok_or_else(|| NotThere::because("a size beyond all drives"))?;
    let number = |text: Option<&str>| text.and_then(|text| text.trim().parse::<u64>().ok());
    let flag = |text: Option<&str>| number(text) == Some(1);
    let turning = match number(texts.rotational) {
        Some(0) => Ok(Turning::No),
        // the default of bridges and of virtual disks: no proof
        Some(1)
            if texts.usb || flag(texts.removable) || !texts.device || is_virtual(texts.name) =>
        {
            Err(NotThere::because(
                "its driver says that it spins, as bridges and virtual disks do",
            ))
        }
        Some(1) => Ok(Turning::Likely),
        _ => Err(NotThere::because(
            "its driver does not say whether it spins",
        )),
    };
    let class = match &turning {
        Ok(Turning::No) if texts.name.starts_with("sd") && !texts.usb => Ok("ssd-sata"),
        Ok(Turning::No) => Err(NotThere::because(
            "flash; its generation stands on its data sheet",
        )),
        Ok(Turning::Likely) => Err(NotThere::because("it spins; at 5400 or 7200 is not said")),
        Err(why) => Err(why.clone()),
    };
    let chosen = texts.scheduler.and_then(|text| {
        let inside = text.split_once('[')?.1.split_once(']')?.0;
        Some(shown(inside))
    });
    Ok(Drive {
        name: shown(texts.name),
        bytes,
        turning,
        class,
        scheduler: chosen.or_else(|| texts.scheduler.map(shown)),
        logical: number(texts.logical),
        physical: number(texts.physical),
        shingled: matches!(
            texts.zoned.map(str::trim),
            Some("host-aware" | "host-managed")
        ),
    })
}

fn is_virtual(name: &str) -> bool {
    ["vd", "xvd", "dm-", "md", "loop", "zram", "nbd"]
        .iter()
        .any(|beginning| name.starts_with(beginning))
}
