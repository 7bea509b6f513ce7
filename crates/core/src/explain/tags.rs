//! What is so at a site, as far as causes care.

use super::Told;
use super::reading::{Amount, What};
use crate::array::Level;
use crate::quantity::{LinkRate, megabytes, milliseconds, ratio};
use crate::site::{Attachment, Drive, Medium, Service, Site};

/// Everything a condition may name.
pub(crate) const TAGS: &[&str] = &[
    "network", "wired", "wireless", "switch", "direct", "told-path", "slow-link", "gigabit", "fast",
    "over-2500", "over-5000", "step-down", "bonded", "usb-adapter", "told-slot", "old-slot",
    "large-frames", "mixed-frames", "old-cable", "far", "smb", "nfs", "sftp", "iscsi", "encrypted",
    "signed-told", "sync-told", "async-told", "weak-nas", "strong-nas", "array-told", "spinning",
    "flash", "shingled", "parity", "redundant", "many-drives", "half-full", "full", "size-told",
    "fits-memory", "again", "many-files", "many-files-local", "raw-only", "small-blocks", "slow-desk-disk",
];

/// The tags of one site with what was told about it.
pub(crate) fn tags(site: &Site, told: &Told) -> Vec<&'static str> {
    let mut found = Vec::new();
    let mut add = |tag: &'static str, so: bool| {
        if so {
            debug_assert!(TAGS.contains(&tag), "{tag}");
            found.push(tag);
        }
    };
    let readings = &told.readings;
    let over_network = readings
        .iter()
        .any(|r| !matches!(r.what, What::LocalArray | What::LocalDisk));
    add("network", over_network);
    let desk = told.whose();
    let desk = site.desks.iter().find(|d| desk.is_none_or(|n| d.name == n));
    let routes = desk.map(|d| crate::route::routes(site, &d.name)).unwrap_or_default();
    let links = routes.first().map(|r| r.links.as_slice()).unwrap_or_default();
    let runs = || links.iter().filter_map(|l| site.runs.get(l.run));
    let radio = runs().any(|r| matches!(r.medium, Medium::Wireless { .. }));
    add("wireless", over_network && radio);
    add("wired", over_network && runs().any(|r| !matches!(r.medium, Medium::Wireless { .. })));
    add("switch", over_network && links.len() > 1);
    add("direct", over_network && links.len() == 1);
    add("told-path", told.path_told);
    let ports = || links.iter().flat_map(|l| [&l.near, &l.far]).filter_map(|e| site.port(e));
    let least = links_at(site, links);
    if let Some(least) = least.filter(|_| over_network) {
        add("slow-link", least <= LinkRate::from_megabits(100));
        add("gigabit", least == LinkRate::from_megabits(1000));
        add("fast", least > LinkRate::from_megabits(1000));
        add("over-2500", least > LinkRate::from_megabits(2500));
        add("over-5000", least > LinkRate::from_megabits(5000));
    }
    let ends = [links.first().map(|l| &l.near), links.last().map(|l| &l.far)];
    let rates: Vec<LinkRate> = ends
        .into_iter()
        .flatten()
        .filter_map(|e| site.port(e))
        .map(|p| p.rate)
        .collect();
    add("step-down", rates.windows(2).any(|w| w[0] != w[1]));
    add("bonded", over_network && ports().any(|p| p.members > 1));
    let attached = |f: &dyn Fn(&Attachment) -> bool| ports().any(|p| p.attachment.as_ref().is_some_and(f));
    let local_attached = site.arrays.first().and_then(|a| a.attached.as_ref());
    add("usb-adapter", attached(&|a| matches!(a, Attachment::Adapter(w) if w.starts_with("usb"))));
    add("told-slot", attached(&|_| true) || local_attached.is_some());
    add("old-slot", attached(&|a| matches!(a, Attachment::Adapter(w) if w.starts_with("pci"))));
    let most = ports().map(|p| p.mtu).max().unwrap_or(1500);
    let fewest = ports().map(|p| p.mtu).min().unwrap_or(1500);
    add("large-frames", over_network && most > 1500);
    add("mixed-frames", over_network && most != fewest);
    add(
        "old-cable",
        runs().any(|r| match &r.medium {
            Medium::Copper { category, .. } => matches!(category.value.only().map(String::as_str), Some("cat5" | "cat5e")),
            _ => false,
        }),
    );
    add("far", site.network.round_trip.median() >= milliseconds(1.5));
    let nas = routes.first().and_then(|r| site.nas(&r.nas)).or_else(|| site.nas.first());
    if let Some(nas) = nas {
        let service = nas.service.value.only().copied();
        let told_service = over_network && !nas.service.is_assumed();
        add("smb", told_service && service == Some(Service::Smb));
        add("nfs", told_service && service == Some(Service::Nfs));
        add("sftp", told_service && service == Some(Service::Sftp));
        add("iscsi", told_service && service == Some(Service::Iscsi));
        add("encrypted", over_network && nas.encrypted.value.only() == Some(&true));
        add("signed-told", !nas.signed.is_assumed() && nas.signed.value.only().is_some());
        let sync = nas.sync.as_ref().and_then(|s| s.value.only());
        add("sync-told", sync == Some(&true));
        add("async-told", sync == Some(&false));
        let class = nas.cpu.class.value.only().map(String::as_str).filter(|_| !nas.cpu.class.is_assumed());
        add("weak-nas", matches!(class, Some("tiny" | "small")));
        add("strong-nas", matches!(class, Some("medium" | "large")));
        let memory = nas.memory.median();
        add(
            "fits-memory",
            readings.iter().any(|r| r.size.is_some_and(|s| s < memory * ratio(0.7))),
        );
    }
    if let Some(array) = site.arrays.first() {
        let drive = array.drives.drive.value.likeliest();
        let (spins, class) = match drive {
            Drive::Spinning { class, .. } => (true, class.as_str()),
            Drive::Flash { class, .. } => (false, class.as_str()),
        };
        add("array-told", told.array_told);
        add("spinning", spins);
        add("flash", !spins);
        add("shingled", class == "hdd-smr");
        add("parity", array.level.parity() > 0);
        add("redundant", !matches!(array.level, Level::Raid0 | Level::Single));
        add("many-drives", array.drives.count > 1);
        add("half-full", array.fill.median() >= ratio(0.45) && !array.fill.is_assumed());
        add("full", array.fill.median() >= ratio(0.85));
    }
    add("size-told", readings.iter().any(|r| r.size.is_some_and(|s| s > megabytes(100.0))));
    add("again", readings.iter().any(|r| r.again) || told.says("memory-warm"));
    add("many-files", readings.iter().any(|r| r.what == What::ManyFiles) && over_network);
    add("many-files-local", told.many_files_at_the_array);
    let rates = || readings.iter().filter(|r| matches!(r.amount, Amount::Rate(_)));
    add("raw-only", rates().count() > 0 && rates().all(|r| r.what == What::RawTcp));
    add("small-blocks", told.says("small-blocks"));
    let slow_disk = desk.is_some_and(|d| {
        matches!(d.disk.value.likeliest(), Drive::Spinning { .. }) && !d.disk.is_assumed()
    });
    add("slow-desk-disk", slow_disk || told.says("slow-desk-disk"));
    found
}

/// The fastest that all cables of a way can link at, as far as ports and what was seen say.
pub(crate) fn links_at(site: &Site, links: &[crate::route::RouteLink]) -> Option<LinkRate> {
    let cabled = links.iter().filter_map(|link| {
        let run = site.runs.get(link.run)?;
        (!matches!(run.medium, Medium::Wireless { .. })).then_some((run, link))
    });
    cabled
        .flat_map(|(run, link)| {
            let ports = [site.port(&link.near), site.port(&link.far)];
            let tops = ports.into_iter().flatten().filter_map(|p| p.knows.iter().copied().max());
            tops.chain(run.negotiated).collect::<Vec<_>>()
        })
        .min()
}
