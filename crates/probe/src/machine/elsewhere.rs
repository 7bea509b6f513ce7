//! Machines that are no Linux, through their own tools. Never tried on one: marked so, and what is not said as
//! expected is not there.

use super::{Link, Machine};
use crate::says::{self, Duplex, Errors, Kind, Memory, NotThere, Said, State};

/// Asks a tool: program and fixed arguments.
pub type Asking<'a> = &'a dyn Fn(&str, &[&str]) -> Said<String>;

fn nothing<T>() -> Said<T> {
    Err(NotThere("this system is not asked for it".to_owned()))
}

/// What such a machine says of itself.
pub fn elsewhere(system: &'static str, ask: Asking<'_>) -> Machine {
    let (links, mounts, memory) = match system {
        "macos" => (
            ask("/sbin/ifconfig", &["-a"]).map_or_else(|_| Vec::new(), |text| blocks(&text)),
            ask("/sbin/mount", &[]).map_or_else(
                |_| Vec::new(),
                |text| {
                    let mut found = says::foreign_mounts(&text);
                    let shares = ask("/usr/bin/smbutil", &["statshares", "-a"]);
                    let (signed, encrypted) = shares.map_or_else(
                        |why| (Err(why.clone()), Err(why)),
                        |text| says::foreign_sharing(&text),
                    );
                    let smb = |mount: &says::Mount| mount.service == says::Service::Smb;
                    // the list names no mount, so it is of one share only
                    if found.iter().filter(|mount| smb(mount)).count() == 1 {
                        for mount in found.iter_mut().filter(|mount| smb(mount)) {
                            mount.signed.clone_from(&signed);
                            mount.encrypted.clone_from(&encrypted);
                        }
                    }
                    found
                },
            ),
            ask("/usr/sbin/sysctl", &["hw.memsize"]).and_then(|text| says::foreign_memory(&text)),
        ),
        "windows" => (
            ask(
                "powershell.exe",
                &[
                    "-NoProfile",
                    "-Command",
                    "Get-NetAdapter | Format-List Name,LinkSpeed,MtuSize,FullDuplex",
                ],
            )
            .map_or_else(|_| Vec::new(), |text| adapters(&text)),
            Vec::new(),
            nothing(),
        ),
        _ => (Vec::new(), Vec::new(), nothing()),
    };
    Machine {
        links,
        mounts,
        drives: Vec::new(),
        arrays: Vec::new(),
        processor: nothing(),
        memory: memory.map(|total| Memory {
            total,
            available: None,
            unsaved: None,
        }),
        radios: Vec::new(),
        untried: Some(system),
    }
}

fn wire(name: &str) -> Link {
    Link {
        name: says::shown(name),
        kind: Kind::Wire,
        state: State::Unsaid,
        carrier: nothing(),
        rate: nothing(),
        duplex: nothing(),
        largest_packet: nothing(),
        changes: nothing(),
        joined: None,
        tag: None,
        slot: nothing(),
        slot_most: nothing(),
        usb: None,
        errors: Errors::default(),
        bytes: None,
        radio: None,
    }
}

/// Blocks that begin with `en0: flags=8863<UP> mtu 1500`.
fn blocks(text: &str) -> Vec<Link> {
    let mut found: Vec<(String, String)> = Vec::new();
    for line in text.lines().take(10_000) {
        match line.split_once(": flags=") {
            Some((name, _)) if !line.starts_with([' ', '\t']) => {
                found.push((name.to_owned(), line.to_owned()));
            }
            _ => {
                if let Some((_, block)) = found.last_mut() {
                    block.push('\n');
                    block.push_str(line);
                }
            }
        }
    }
    let link = |(name, block): (String, String)| {
        let (rate, full) = says::foreign_link(&block).ok()?;
        let head = block.lines().next().unwrap_or_default();
        Some(Link {
            rate: Ok(rate),
            duplex: Ok(if full { Duplex::Full } else { Duplex::Half }),
            carrier: Ok(block.contains("status: active")),
            largest_packet: head
                .split_once(" mtu ")
                .ok_or_else(|| NotThere("no mtu".to_owned()))
                .and_then(|(_, mtu)| says::largest_packet(mtu)),
            ..wire(&name)
        })
    };
    found.into_iter().take(64).filter_map(link).collect()
}

/// Paragraphs of `name : value` lines.
fn adapters(text: &str) -> Vec<Link> {
    let unix = text.replace('\r', "");
    unix.split("\n\n")
        .take(64)
        .filter_map(|block| {
            let (rate, mtu, full) = says::foreign_adapter(block).ok()?;
            let name = block.lines().find_map(|line| {
                let (name, value) = line.split_once(':')?;
                (name.trim() == "Name").then(|| value.trim())
            })?;
            Some(Link {
                rate: Ok(rate),
                carrier: Ok(true),
                largest_packet: mtu.map_or_else(nothing, Ok),
                duplex: full.map_or_else(nothing, |full| {
                    Ok(if full { Duplex::Full } else { Duplex::Half })
                }),
                ..wire(name)
            })
        })
        .collect()
}
