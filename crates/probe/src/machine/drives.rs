//! Block devices, mapped ones followed to what they stand on.

use super::root::Root;
use crate::says::{self, Drive, DriveTexts, Said};

/// All drives that hold something, by name; loops and memory disks left out.
pub fn drives(root: &Root) -> Vec<Drive> {
    root.names("sys/block")
        .into_iter()
        .filter(|name| {
            !["loop", "ram", "zram", "sr", "dm-", "md"]
                .iter()
                .any(|beginning| name.starts_with(beginning))
        })
        .filter_map(|name| drive(root, &name).ok())
        .collect()
}

fn drive(root: &Root, name: &str) -> Said<Drive> {
    let at = format!("sys/block/{name}");
    let text = |file: &str| root.text(&format!("{at}/{file}")).ok();
    let (size, rotational) = (text("size"), text("queue/rotational"));
    let (scheduler, zoned) = (text("queue/scheduler"), text("queue/zoned"));
    let (logical, physical) = (
        text("queue/logical_block_size"),
        text("queue/physical_block_size"),
    );
    let removable = text("removable");
    let real = root.real(&at).unwrap_or_default();
    says::drive(DriveTexts {
        name,
        size: size.as_deref(),
        rotational: rotational.as_deref(),
        scheduler: scheduler.as_deref(),
        logical: logical.as_deref(),
        physical: physical.as_deref(),
        zoned: zoned.as_deref(),
        removable: removable.as_deref(),
        usb: real.contains("/usb"),
        device: !real.contains("/virtual/"),
    })
}

/// Names of the drives below a device number such as `8:1` or `253:0`; mapped devices are followed.
pub fn below(root: &Root, device: &str) -> Vec<String> {
    let plain = device.split(':').all(|part| part.parse::<u32>().is_ok());
    if !plain {
        return Vec::new();
    }
    let Some(real) = root.real(&format!("sys/dev/block/{device}")) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    let mut open = vec![real];
    for _ in 0..256 {
        let Some(at) = open.pop() else { break };
        let members = root.names(&format!("{at}/slaves"));
        if members.is_empty() {
            // a partition lies in the folder of its drive
            let whole = if root.has(&format!("{at}/partition")) {
                at.rsplit_once('/').map_or("", |(front, _)| front)
            } else {
                &at
            };
            let name = whole.rsplit('/').next().unwrap_or_default().to_owned();
            if !name.is_empty() && !found.contains(&name) {
                found.push(name);
            }
        } else {
            for member in members {
                open.extend(root.real(&format!("{at}/slaves/{member}")));
            }
        }
    }
    found.sort();
    found
}
