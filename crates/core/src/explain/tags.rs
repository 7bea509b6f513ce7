//! What is so at a site, as far as causes care.

use super::Observations;
use super::judged::Judged;
use super::reading::{Amount, Reading, What};
use crate::array::Level;
use crate::quantity::LinkRate;
use crate::route::{Route, RouteLink};
use crate::site::{Array, Attachment, Drive, Medium, Nas, Run, Service, Site};

/// Everything a condition may name.
pub(crate) const TAGS: &[&str] = &[
    "network",
    "wired",
    "wireless",
    "told-air",
    "switch",
    "direct",
    "told-path",
    "slow-link",
    "gigabit",
    "fast",
    "over-2500",
    "over-5000",
    "step-down",
    "bonded",
    "usb-adapter",
    "told-slot",
    "old-slot",
    "large-frames",
    "mixed-frames",
    "old-cable",
    "far",
    "smb",
    "nfs",
    "sftp",
    "iscsi",
    "encrypted",
    "signed-told",
    "sync-told",
    "async-told",
    "weak-nas",
    "strong-nas",
    "array-told",
    "spinning",
    "flash",
    "shingled",
    "parity",
    "redundant",
    "many-drives",
    "half-full",
    "full",
    "size-told",
    "fits-memory",
    "again",
    "many-files",
    "many-files-local",
    "raw-only",
    "small-blocks",
    "slow-desk-disk",
];

/// The tags of the way of one desk, with what was told about it.
pub(crate) fn tags(
    site: &Site,
    (desk, route): (&str, Option<&Route>),
    told: &Observations,
    judged: &Judged,
) -> Vec<&'static str> {
    let mut found = Found(Vec::new());
    let own = Own::of(desk, told);
    let links = route.map(|r| r.links.as_slice()).unwrap_or_default();
    let array = route.and_then(|r| site.arrays.iter().find(|a| a.nas == r.nas));
    let array = array.or_else(|| site.arrays.first());
    found.add("network", own.network());
    if own.network() {
        way(&mut found, site, links);
        // said, where the site does not say it or nobody knows how many there are
        let joined = ["joined-links", "uneven-links"];
        if joined.iter().any(|remark| own.says(remark)) && !found.has("bonded") {
            found.add("bonded", true);
        }
    }
    found.add("told-path", told.path_told);
    cards(&mut found, site, links, array);
    found.add("far", site.network.round_trip.median() >= judged.far);
    if let Some(nas) = route
        .and_then(|r| site.nas(&r.nas))
        .or_else(|| site.nas.first())
    {
        machine(&mut found, nas, &own, judged);
    }
    if let Some(array) = array {
        drives(&mut found, array, told, judged);
    }
    said(&mut found, &own, judged);
    let slow_disk = site.desks.iter().find(|d| d.name == desk).is_some_and(|d| {
        matches!(d.disk.value.likeliest(), Drive::Spinning { .. }) && !d.disk.is_assumed()
    });
    found.add("slow-desk-disk", slow_disk || own.says("slow-desk-disk"));
    found.0
}

/// What was told of one desk.
struct Own<'t> {
    told: &'t Observations,
    desk: &'t str,
    readings: Vec<&'t Reading>,
}

impl<'t> Own<'t> {
    fn of(desk: &'t str, told: &'t Observations) -> Self {
        let all = told.readings.iter();
        Self {
            told,
            desk,
            readings: all.filter(|r| told.desk_of(r) == desk).collect(),
        }
    }

    /// Whether anything was measured over the network.
    fn network(&self) -> bool {
        self.readings.iter().any(|r| r.is_over_the_network())
    }

    /// Whether a remark was made, of this desk or of nobody's in particular.
    fn says(&self, remark: &str) -> bool {
        self.told.says(remark, self.desk)
    }
}

struct Found(Vec<&'static str>);

impl Found {
    fn has(&self, tag: &str) -> bool {
        self.0.contains(&tag)
    }

    fn add(&mut self, tag: &'static str, so: bool) {
        debug_assert!(TAGS.contains(&tag), "{tag}");
        if so {
            self.0.push(tag);
        }
    }
}

/// Cables, radio, switches and rates of the way.
fn way(found: &mut Found, site: &Site, links: &[RouteLink]) {
    let runs = || links.iter().filter_map(|l| site.runs.get(l.run));
    let radio = |r: &Run| matches!(r.medium, Medium::Wireless { .. });
    found.add("wireless", runs().any(radio));
    found.add("told-air", runs().any(|r| r.medium.is_worked_out()));
    found.add("wired", runs().any(|r| !radio(r)));
    found.add("switch", links.len() > 1);
    found.add("direct", links.len() == 1);
    if let Some(least) = links_at(site, links) {
        let over = |megabits| least > LinkRate::from_megabits(megabits);
        found.add("slow-link", !over(100));
        found.add("gigabit", least == LinkRate::from_megabits(1000));
        found.add("fast", over(1000));
        found.add("over-2500", over(2500));
        found.add("over-5000", over(5000));
    }
    let ports = || {
        links
            .iter()
            .flat_map(|l| [&l.near, &l.far])
            .filter_map(|e| site.port(e))
    };
    found.add("bonded", ports().any(|p| p.members > 1));
    let most = ports().map(|p| p.mtu).max().unwrap_or(1500);
    let fewest = ports().map(|p| p.mtu).min().unwrap_or(1500);
    found.add("large-frames", most > 1500);
    found.add("mixed-frames", most != fewest);
    let old = |r: &Run| match &r.medium {
        Medium::Copper { category, .. } => {
            matches!(
                category.value.only().map(String::as_str),
                Some("telephone" | "two-pair" | "cat5" | "cat5e")
            )
        }
        _ => false,
    };
    found.add("old-cable", runs().any(old));
}

/// What the ports at both ends sit on.
fn cards(found: &mut Found, site: &Site, links: &[RouteLink], array: Option<&Array>) {
    let ends = [links.first().map(|l| &l.near), links.last().map(|l| &l.far)];
    let rates: Vec<LinkRate> = ends
        .into_iter()
        .flatten()
        .filter_map(|e| site.port(e))
        .map(|p| p.rate)
        .collect();
    found.add("step-down", rates.windows(2).any(|w| w[0] != w[1]));
    let ports = || {
        links
            .iter()
            .flat_map(|l| [&l.near, &l.far])
            .filter_map(|e| site.port(e))
    };
    let attached =
        |f: &dyn Fn(&Attachment) -> bool| ports().any(|p| p.attachment.as_ref().is_some_and(f));
    let on = |bus: &'static str| move |a: &Attachment| matches!(a, Attachment::Adapter(w) if w.starts_with(bus));
    found.add("usb-adapter", attached(&on("usb")));
    found.add("old-slot", attached(&on("pci")));
    let enclosure = array.is_some_and(|a| a.attached.is_some());
    found.add("told-slot", attached(&|_| true) || enclosure);
}

/// The machine that holds the array, and its service.
fn machine(found: &mut Found, nas: &Nas, own: &Own<'_>, judged: &Judged) {
    let told_service = own.network() && !nas.service.is_assumed();
    let service = nas.service.value.only().copied().filter(|_| told_service);
    found.add("smb", service == Some(Service::Smb));
    found.add("nfs", service == Some(Service::Nfs));
    found.add("sftp", service == Some(Service::Sftp));
    found.add("iscsi", service == Some(Service::Iscsi));
    found.add(
        "encrypted",
        own.network() && nas.encrypted.value.only() == Some(&true),
    );
    found.add(
        "signed-told",
        !nas.signed.is_assumed() && nas.signed.value.only().is_some(),
    );
    let sync = nas.sync.as_ref().and_then(|s| s.value.only());
    found.add("sync-told", sync == Some(&true));
    found.add("async-told", sync == Some(&false));
    let class = nas
        .cpu
        .class
        .value
        .only()
        .map(String::as_str)
        .filter(|_| !nas.cpu.class.is_assumed());
    found.add(
        "weak-nas",
        matches!(class, Some("router" | "tiny" | "small")),
    );
    found.add("strong-nas", matches!(class, Some("medium" | "large")));
    let room = nas.memory.median() * judged.fits_memory;
    found.add(
        "fits-memory",
        own.readings
            .iter()
            .any(|r| r.size.is_some_and(|s| s < room)),
    );
}

/// The array and its drives.
fn drives(found: &mut Found, array: &Array, told: &Observations, judged: &Judged) {
    let (spins, class) = match array.drives.drive.value.likeliest() {
        Drive::Spinning { class, .. } => (true, class.as_str()),
        Drive::Flash { class, .. } => (false, class.as_str()),
    };
    found.add("array-told", told.array_told);
    found.add("spinning", spins);
    found.add("flash", !spins);
    found.add("shingled", class == "hdd-smr");
    found.add("parity", array.level.parity() > 0);
    found.add(
        "redundant",
        !matches!(array.level, Level::Raid0 | Level::Single),
    );
    found.add("many-drives", array.drives.count > 1);
    found.add(
        "half-full",
        array.fill.median() >= judged.half_full && !array.fill.is_assumed(),
    );
    found.add("full", array.fill.median() >= judged.full);
}

/// What the readings themselves say.
fn said(found: &mut Found, own: &Own<'_>, judged: &Judged) {
    let readings = &own.readings;
    found.add(
        "size-told",
        readings
            .iter()
            .any(|r| r.size.is_some_and(|s| s > judged.large_file)),
    );
    found.add(
        "again",
        readings.iter().any(|r| r.again) || own.says("memory-warm"),
    );
    let many = readings.iter().any(|r| r.what == What::ManyFiles);
    found.add("many-files", many && own.network());
    found.add("many-files-local", own.told.many_files_at_the_array);
    let rates = || {
        readings
            .iter()
            .filter(|r| matches!(r.amount, Amount::Rate(_)))
    };
    found.add(
        "raw-only",
        rates().count() > 0 && rates().all(|r| r.what == What::RawTcp),
    );
    found.add("small-blocks", own.says("small-blocks"));
}

/// The fastest that all cables of a way can link at, as far as ports and what was seen say.
pub(crate) fn links_at(site: &Site, links: &[RouteLink]) -> Option<LinkRate> {
    let cabled = links.iter().filter_map(|link| {
        let run = site.runs.get(link.run)?;
        (!matches!(run.medium, Medium::Wireless { .. })).then_some((run, link))
    });
    cabled
        .flat_map(|(run, link)| {
            let ports = [site.port(&link.near), site.port(&link.far)];
            let tops = ports
                .into_iter()
                .flatten()
                .filter_map(|p| p.knows.iter().copied().max());
            tops.chain(run.negotiated).collect::<Vec<_>>()
        })
        .min()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::explain::simulations::reasoning::{copy, lane};
    use crate::quantity::megabytes;
    use crate::work::Direction;

    /// Tags of sound at the example with one thing changed.
    fn at(edit: &str, size: Option<f64>) -> Vec<&'static str> {
        let catalogue = Catalogue::embedded().unwrap();
        let edit = crate::change::Edit::parse(edit, 0).unwrap();
        let site = crate::site::read(lane(), &[edit], &catalogue).unwrap();
        let reading = Reading {
            size: size.map(|gigabytes| megabytes(gigabytes * 1000.0)),
            ..copy("sound", Direction::Read, 11.4)
        };
        let told = Observations {
            sites: vec![(site.clone(), 1.0)],
            readings: vec![reading],
            ..Observations::default()
        };
        let route = crate::route::routes(&site, "sound").into_iter().next();
        let judged = Judged::new(&catalogue).unwrap();
        tags(&site, ("sound", route.as_ref()), &told, &judged)
    }

    #[test]
    fn thresholds_part_what_is_so_from_what_is_not() {
        let trip = |ms: &str| at(&format!("network.round-trip=\"{ms} ms\""), None);
        assert!(!trip("1.4").contains(&"far") && trip("1.6").contains(&"far"));
        let fill = |percent: &str| at(&format!("array.vault.fill=\"{percent} %\""), None);
        assert!(!fill("44").contains(&"half-full") && fill("46").contains(&"half-full"));
        assert!(!fill("84").contains(&"full") && fill("86").contains(&"full"));
        // 8 GB of memory
        let size = |gigabytes: f64| at("nas.store.memory=\"8 GB\"", Some(gigabytes));
        assert!(size(5.5).contains(&"fits-memory") && !size(5.7).contains(&"fits-memory"));
        assert!(size(0.11).contains(&"size-told") && !size(0.09).contains(&"size-told"));
    }
}
