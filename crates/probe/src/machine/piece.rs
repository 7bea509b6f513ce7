//! A piece of a site file that describes this machine.

use super::Machine;
use crate::says::{Raid, Running, Slot};
use narrows_units::quantity::{bytes, show};
use std::fmt::Write;

/// What the machine is in the site.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Role {
    /// A desk of that name.
    Desk(String),
    /// A machine that holds arrays.
    Nas(String),
}

/// A key that a site accepts, out of the name of an interface.
pub(crate) fn key(name: &str) -> String {
    name.chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect()
}

/// The piece, ready to be pasted. What the machine does not say is left out, or stands behind a `#` with the reason.
pub fn piece(machine: &Machine, role: &Role) -> String {
    let mut out = String::new();
    let (section, name) = match role {
        Role::Desk(name) => ("desk", name),
        Role::Nas(name) => ("nas", name),
    };
    let _ = writeln!(out, "[{section}.{}]", key(name));
    match (&machine.processor, &machine.memory) {
        (Ok(processor), _) if processor.guest => {
            let _ = writeln!(
                out,
                "# a guest of another machine: its slots and processor are made up"
            );
        }
        (Ok(processor), _) => {
            let _ = writeln!(
                out,
                "# cpu = \"large, {} cores\"   # small, large: look at its name; it {} AES",
                processor.cores,
                if processor.aes {
                    "helps with"
                } else {
                    "does not help with"
                }
            );
        }
        (Err(why), _) => {
            let _ = writeln!(out, "# cpu: not there ({why})");
        }
    }
    if let (Role::Nas(_), Ok(memory)) = (role, &machine.memory) {
        let _ = writeln!(out, "memory = \"{}\"", show(bytes(memory.total as f64)));
    }
    if let Role::Desk(_) = role {
        match machine
            .drives
            .iter()
            .find_map(|drive| drive.class.as_ref().ok().map(|class| (drive, class)))
        {
            Some((drive, class)) => {
                let _ = writeln!(
                    out,
                    "disk = \"{} {class}\"   # {}",
                    show(bytes(drive.bytes as f64)),
                    drive.name
                );
            }
            None => {
                let _ = writeln!(out, "# disk: its class stands on its data sheet");
            }
        }
    }
    ports(machine, &mut out);
    if let Role::Nas(name) = role {
        for array in &machine.arrays {
            out.push('\n');
            out.push_str(&of_array(array, name));
        }
    }
    out
}

/// A line for each wire that is up.
fn ports(machine: &Machine, out: &mut String) {
    let mut count = 0;
    for link in machine.working().filter(|link| link.is_port()) {
        let port = key(&link.name);
        let Ok(rate) = &link.rate else {
            let why = link.rate.as_ref().err().map_or("", |why| why.0.as_str());
            let _ = writeln!(out, "# port.{port}: rate not there ({why})");
            continue;
        };
        let mut fields = vec![format!("rate = \"{rate}\"")];
        if let Ok(mtu) = link.largest_packet
            && (576..=9216).contains(&mtu)
            && mtu != 1500
        {
            fields.push(format!("mtu = {mtu}"));
        }
        let guest = machine.processor.as_ref().is_ok_and(|p| p.guest);
        match (&link.usb, &link.slot) {
            (Some(Ok(480)), _) => fields.push("adapter = \"usb 480 Mb/s\"".to_owned()),
            (Some(Ok(bus @ (5000 | 10_000 | 20_000))), _) => {
                fields.push(format!("adapter = \"usb {} Gb/s\"", bus / 1000));
            }
            (None, Ok(Slot { generation, .. })) if *generation <= 5 && !guest => {
                if let Ok(slot) = &link.slot {
                    fields.push(format!("slot = \"{slot}\""));
                }
            }
            _ => {}
        }
        if (2..=8).contains(&link.members()) {
            fields.push(format!("members = {}", link.members()));
        }
        // a port that came up slow is no slow port
        let fell = rate.megabits() <= 100.0;
        let _ = writeln!(
            out,
            "{}port.{port} = {{ {} }}   # what the link runs at now; the port may know more",
            if fell { "# " } else { "" },
            fields.join(", ")
        );
        count += 1;
    }
    if count == 0 {
        let _ = writeln!(out, "# no wire that says its rate is up");
    }
}

fn of_array(array: &Raid, nas: &str) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "[array.{}]", key(&array.name));
    let _ = writeln!(out, "nas = \"{}\"", key(nas));
    if array.running == Running::No {
        let _ = writeln!(
            out,
            "# it does not run: somebody has to look at it before anything else"
        );
    }
    match array.layout {
        Some(layout) => {
            let _ = writeln!(out, "layout = \"{layout}\"");
        }
        None => {
            let _ = writeln!(out, "# layout: its level has no word in a site");
        }
    }
    let count = array
        .wanted
        .map_or(array.drives.len(), |wanted| wanted as usize);
    let _ = writeln!(
        out,
        "drives = \"{count}\"   # add size and class: \"{count} x 10 TB hdd-7200\""
    );
    if array.spares > 0 {
        let _ = writeln!(out, "spares = {}", array.spares);
    }
    if let Some(failed @ 1..) = array.failed {
        let _ = writeln!(out, "failed = {failed}");
    }
    match array.activity {
        Some(crate::says::Activity::Scrubbing) => {
            let _ = writeln!(out, "scrubbing = \"yes\"");
        }
        Some(_) => {
            let _ = writeln!(out, "rebuilding = \"yes\"");
        }
        None => {}
    }
    out
}
