//! What this machine says of itself.

mod drives;
mod elsewhere;
mod links;
mod piece;
mod root;
mod tools;

pub use drives::{below, drives};
pub use elsewhere::{Asking, elsewhere};
pub use links::{Link, links};
pub use piece::{Role, piece};
pub use root::Root;
pub(crate) use root::reason;
pub use tools::asked;

use crate::says::{self, Drive, Memory, Mount, Processor, RadioRate, Raid, Said, Tcp};
use narrows_units::quantity::Information;
#[cfg(unix)]
use narrows_units::quantity::bytes;
use std::net::IpAddr;

/// What a machine says of itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// Network interfaces.
    pub links: Vec<Link>,
    /// All mounts.
    pub mounts: Vec<Mount>,
    /// Drives.
    pub drives: Vec<Drive>,
    /// RAID of the kernel.
    pub arrays: Vec<Raid>,
    /// Processor.
    pub processor: Said<Processor>,
    /// Memory.
    pub memory: Said<Memory>,
    /// Radios by the tool of their drivers, by interface.
    pub radios: Vec<(String, Said<RadioRate>)>,
    /// The kind of system, where its texts were never tried.
    pub untried: Option<&'static str>,
}

impl Machine {
    /// Mounts of other machines.
    pub fn shares(&self) -> impl Iterator<Item = &Mount> {
        self.mounts.iter().filter(|mount| mount.service.is_remote())
    }

    /// Links through which bytes can pass to other machines: wires, joined links, tags and radios that are up.
    pub fn working(&self) -> impl Iterator<Item = &Link> {
        use says::Kind::{Joined, Radio, Tag, Wire};
        self.links
            .iter()
            .filter(|link| matches!(link.kind, Wire | Joined | Tag | Radio) && link.is_up())
    }

    /// A drive by name.
    pub fn drive(&self, name: &str) -> Option<&Drive> {
        self.drives.iter().find(|drive| drive.name == name)
    }
}

/// Looks at a machine. Nothing is changed, and no rights are asked for.
pub fn machine(root: &Root) -> Machine {
    if root.is_own() && !cfg!(target_os = "linux") {
        return elsewhere(std::env::consts::OS, &asked);
    }
    let said = |path: &str| root.text(path);
    let links = links(root);
    let radios = if root.is_own() {
        links
            .iter()
            .filter(|link| link.kind == says::Kind::Radio)
            .map(|link| {
                let text = asked("iw", &["dev", &link.name, "link"]);
                (
                    link.name.clone(),
                    text.and_then(|text| says::radio_rate(&text)),
                )
            })
            .collect()
    } else {
        Vec::new()
    };
    Machine {
        links,
        mounts: said("proc/self/mountinfo")
            .or_else(|_| said("proc/1/mountinfo"))
            .map(|text| says::mounts(&text))
            .unwrap_or_default(),
        drives: drives(root),
        arrays: said("proc/mdstat")
            .map(|text| says::arrays(&text))
            .unwrap_or_default(),
        processor: said("proc/cpuinfo").and_then(|text| says::processor(&text)),
        memory: said("proc/meminfo").and_then(|text| says::memory(&text)),
        radios,
        untried: None,
    }
}

/// Counters of TCP now.
pub fn tcp_now(root: &Root) -> Said<Tcp> {
    root.text("proc/net/snmp").and_then(|text| says::tcp(&text))
}

/// Ticks of all cores now.
pub fn ticks_now(root: &Root) -> Vec<says::Ticks> {
    root.text("proc/stat")
        .map(|text| says::ticks(&text))
        .unwrap_or_default()
}

/// The interface through which bytes to an address go.
pub fn way_to(root: &Root, address: IpAddr) -> Said<String> {
    match address {
        IpAddr::V4(address) => root
            .text("proc/net/route")
            .and_then(|text| says::way_to(&text, address)),
        IpAddr::V6(address) => root
            .text("proc/net/ipv6_route")
            .and_then(|text| says::way_to_v6(&text, address)),
    }
}

/// Space of a file system.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Space {
    /// All.
    pub total: Information,
    /// What may be written without rights.
    pub free: Information,
    /// Share that is taken, from 0 to 1.
    pub fill: f64,
}

/// Space of the file system that holds a folder. Quotas and thin pools may leave less than it says.
#[cfg(unix)]
pub fn space(folder: &std::path::Path) -> Said<Space> {
    let found = rustix::fs::statvfs(folder)
        .map_err(|error| says::NotThere(reason(&std::io::Error::from(error))))?;
    let of = |blocks: u64| blocks as f64 * found.f_frsize as f64;
    let (total, free) = (of(found.f_blocks), of(found.f_bavail));
    let kept_free = of(found.f_bfree);
    if total <= 0.0 {
        return Err(says::NotThere("the file system says no size".to_owned()));
    }
    Ok(Space {
        total: bytes(total),
        free: bytes(free),
        fill: ((total - kept_free) / total).clamp(0.0, 1.0),
    })
}

/// Not there on this system.
#[cfg(not(unix))]
pub fn space(_: &std::path::Path) -> Said<Space> {
    Err(says::NotThere(
        "this system is not asked for space".to_owned(),
    ))
}

#[cfg(test)]
mod tests;
