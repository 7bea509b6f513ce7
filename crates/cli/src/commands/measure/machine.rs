//! What this machine says of itself.

use super::against::{self, Difference};
use super::json;
use crate::arguments::MeasureMachine;
use crate::input::{self, Stop};
use crate::render::document::printed;
use crate::render::prose::{counted, item, paragraph, sentence};
use crate::render::table::{Side, Table};
use crate::{Outcome, Screen};
use narrows_core::quantity::{bytes, show};
use narrows_core::site::line_of;
use narrows_probe::machine::{Link, Machine, Role, Root, machine, piece, space};
use narrows_probe::says::{Activity, Duplex, Joined, Kind, Mount, Running, Said, Turning};
use std::fmt::Write;
use std::path::Path;

/// What is shown.
pub(super) struct Shown<'a> {
    pub machine: &'a Machine,
    /// Fill of the folders of shares, from 0 to 1.
    pub fills: &'a [(String, f64)],
    pub piece: Option<String>,
    pub site: Option<&'a str>,
    /// The path of its file.
    pub file: &'a str,
    pub differences: &'a [Difference],
    pub why: bool,
    pub width: usize,
}

pub(super) fn run(asked: &MeasureMachine, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let root = match &asked.root {
        Some(path) if !path.is_dir() => {
            return Err(input::refuse(
                screen,
                &format!("{} is no folder", path.display()),
                "name the folder in which proc and sys stand",
            ));
        }
        Some(path) => Root::at(path),
        None => Root::own(),
    };
    let found = machine(&root);
    let name = asked.desk.as_deref().or(asked.nas.as_deref());
    let role = match (&asked.nas, name) {
        (Some(nas), _) => Role::Nas(nas.clone()),
        (None, Some(desk)) => Role::Desk(desk.to_owned()),
        (None, None) => Role::Desk("this".to_owned()),
    };
    let mut differences = Vec::new();
    let mut site_name = None;
    let mut file = String::new();
    if let Some(path) = &asked.site {
        let catalogue = input::catalogue(screen)?;
        let description = input::file(path, screen)?;
        let site = input::site(&description, &[], &catalogue, screen)?;
        differences = against::against(&found, &role, &site)
            .map_err(|(what, help)| input::refuse(screen, &what, &help))?;
        for difference in &mut differences {
            difference.line = line_of(&description.bytes, &difference.path, &catalogue);
        }
        file.clone_from(&description.path);
        site_name = Some(site.name);
    }
    let fills: Vec<(String, f64)> = if root.is_own() {
        let fill = |mount: &Mount| {
            Some((
                mount.point.clone(),
                space(Path::new(&mount.point)).ok()?.fill,
            ))
        };
        found.shares().filter_map(fill).collect()
    } else {
        Vec::new()
    };
    let shown = Shown {
        machine: &found,
        fills: &fills,
        piece: asked.site.is_none().then(|| piece(&found, &role)),
        site: site_name.as_deref(),
        file: &file,
        differences: &differences,
        why: asked.why,
        width: screen.width,
    };
    let text = printed(
        asked.format,
        || json::machine(&shown),
        || [shown.links()],
        || shown.text(),
    )?;
    write!(screen.out, "{text}")?;
    Ok(Outcome::Fine)
}

fn or_not<T: ToString>(said: &Said<T>) -> String {
    said.as_ref().map_or_else(|_| "-".to_owned(), T::to_string)
}

fn yes_no(said: &Said<bool>) -> String {
    match said {
        Ok(true) => "yes".to_owned(),
        Ok(false) => "no".to_owned(),
        Err(_) => "-".to_owned(),
    }
}

pub(super) fn duplex(link: &Link) -> &'static str {
    match link.duplex {
        Ok(Duplex::Full) => "full",
        Ok(Duplex::Half) => "half",
        Err(_) => "-",
    }
}

pub(super) fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Wire => "wire",
        Kind::Radio => "radio",
        Kind::Joined => "joined links",
        Kind::Tag => "tag",
        Kind::Bridge => "bridge",
        Kind::Mobile => "mobile network",
        Kind::Loopback => "loopback",
        Kind::Virtual => "virtual",
    }
}

impl Shown<'_> {
    fn guest(&self) -> bool {
        self.machine.processor.as_ref().is_ok_and(|p| p.guest)
    }

    /// The first line: an array in trouble, or what the fastest link does.
    fn first(&self) -> String {
        let hurt = |array: &&narrows_probe::says::Raid| {
            array.running == Running::No || array.failed.is_some_and(|failed| failed > 0)
        };
        if let Some(array) = self.machine.arrays.iter().find(hurt) {
            return format!(
                "{} {}. Before anything else: is the second copy of the pictures complete, and has somebody opened files from it?",
                array.name,
                match array.failed {
                    Some(failed @ 1..) =>
                        format!("lacks {}", counted(failed as usize, "drive", "drives")),
                    _ => "does not run".to_owned(),
                }
            );
        }
        let best = self
            .machine
            .working()
            .filter_map(|link| Some((link.rate.as_ref().ok()?, link)))
            .max_by_key(|(rate, _)| **rate);
        match best {
            Some((rate, link)) => {
                let half = if link.duplex == Ok(Duplex::Half) {
                    ", one way at a time"
                } else {
                    ""
                };
                let members = match link.members() {
                    1 => String::new(),
                    n => format!(", {n} links joined"),
                };
                format!("{} runs at {rate}{half}{members}.", link.name)
            }
            None if self.machine.working().next().is_some() => {
                "A link is up, but its rate is not there: its driver does not say it.".to_owned()
            }
            None => "No link to other machines is up.".to_owned(),
        }
    }

    /// What a person should look at.
    fn troubles(&self) -> Vec<String> {
        let mut out = Vec::new();
        for array in &self.machine.arrays {
            let name = &array.name;
            if array.running == Running::No {
                out.push(format!(
                    "{name} does not run: no restart and nothing written until somebody has looked"
                ));
            }
            if let Some(failed @ 1..) = array.failed {
                out.push(format!(
                    "{name} lacks {}: no rebuild and no drive pulled until the second copy is seen to be complete. An array is not a backup",
                    counted(failed as usize, "drive", "drives")
                ));
            }
            let share = array.done.map_or(String::new(), |done| {
                format!(", {:.1} % done", done * 100.0)
            });
            match array.activity {
                Some(Activity::Rebuilding) => out.push(format!(
                    "{name} is being put together again{share}: rates are lower until then"
                )),
                Some(Activity::Waiting) => {
                    out.push(format!("{name} waits to be put together again"));
                }
                Some(Activity::Scrubbing) => out.push(format!(
                    "{name} is read through to find damage{share}: rates are lower until then"
                )),
                None => {}
            }
        }
        for link in self.machine.working() {
            let name = &link.name;
            if link.duplex == Ok(Duplex::Half) {
                out.push(format!("{name} sends and receives one at a time: set both ends to automatic, try another cable"));
            }
            if let (Ok(rate), true) = (&link.rate, link.is_port())
                && rate.megabits() <= 100.0
            {
                out.push(format!("{name} came up at {rate}: plug both ends anew, then try another cable; 1 Gb/s needs all four pairs"));
            }
            if let Some(Ok(Joined::Unequal(rates))) = &link.joined {
                let rates: Vec<String> = rates.iter().map(ToString::to_string).collect();
                out.push(format!(
                    "{name} joins links of {}: they should be alike",
                    rates.join(" and ")
                ));
            }
            if let (Ok(slot), Ok(most), false) = (&link.slot, &link.slot_most, self.guest()) {
                if slot.generation < most.generation {
                    out.push(format!("{name} sits in {slot} now and could do generation {}: idle slots slow down, so look again during a copy", most.generation));
                } else if slot.lanes < most.lanes {
                    out.push(format!(
                        "{name} sits in {slot}; the card could take {} lanes",
                        most.lanes
                    ));
                }
            }
            let spoilt = link.errors.spoilt();
            if spoilt > 0 {
                out.push(format!("{name} counted {spoilt} bad frames since it started: look whether the number rises during a copy"));
            }
        }
        for mount in self.machine.shares().filter(|mount| mount.user_space) {
            out.push(format!(
                "{} is mounted outside the kernel, which is often slower",
                mount.point
            ));
        }
        for drive in self.machine.drives.iter().filter(|drive| drive.shingled) {
            out.push(format!(
                "{} has shingled tracks: after a large write it is slow for hours",
                drive.name
            ));
        }
        out
    }

    fn links(&self) -> Table {
        let mut table = Table::new(&[
            ("link", Side::Left),
            ("what", Side::Left),
            ("rate", Side::Right),
            ("duplex", Side::Left),
            ("MTU", Side::Right),
            ("slot", Side::Left),
            ("bad frames", Side::Right),
            ("came and went", Side::Right),
        ]);
        for link in &self.machine.links {
            if matches!(link.kind, Kind::Loopback | Kind::Virtual | Kind::Bridge) {
                continue;
            }
            let slot = match (&link.usb, self.guest()) {
                (Some(Ok(bus)), _) => format!("USB {bus} Mb/s"),
                (Some(Err(_)), _) => "USB".to_owned(),
                (None, true) => "-".to_owned(),
                (None, false) => or_not(&link.slot),
            };
            table.row(vec![
                link.name.clone(),
                kind(link.kind).to_owned(),
                if link.is_up() {
                    or_not(&link.rate)
                } else {
                    "down".to_owned()
                },
                duplex(link).to_owned(),
                or_not(&link.largest_packet),
                slot,
                link.errors.spoilt().to_string(),
                or_not(&link.changes),
            ]);
        }
        table
    }

    fn shares(&self) -> Table {
        let mut table = Table::new(&[
            ("folder", Side::Left),
            ("service", Side::Left),
            ("version", Side::Left),
            ("signed", Side::Left),
            ("encrypted", Side::Left),
            ("connections", Side::Right),
            ("full %", Side::Right),
        ])
        .folding(0);
        for mount in self.machine.shares() {
            let fill = self.fills.iter().find(|(point, _)| *point == mount.point);
            table.row(vec![
                mount.point.clone(),
                mount
                    .service
                    .word()
                    .unwrap_or(&mount.file_system)
                    .to_owned(),
                or_not(&mount.version),
                yes_no(&mount.signed),
                yes_no(&mount.encrypted),
                or_not(&mount.connections),
                fill.map_or("-".to_owned(), |(_, fill)| format!("{:.0}", fill * 100.0)),
            ]);
        }
        table
    }

    fn text(&self) -> String {
        let mut out = String::new();
        let mut put = |text: &str| {
            let _ = writeln!(out, "{text}");
        };
        let width = self.width;
        put(&paragraph(&self.first(), width, 0));
        let troubles = self.troubles();
        match troubles.len() {
            0 => put("Nothing here looks wrong."),
            n => put(&format!(
                "{} to look at, below.",
                sentence(&counted(n, "thing", "things")).trim_end_matches('.')
            )),
        }
        let next = match self.site {
            Some(_) if self.differences.is_empty() => "The site file says the same, as far as this machine can tell.".to_owned(),
            Some(_) => "The site file says something else in places; see the end.".to_owned(),
            None => "Next: put the piece below into the site file, then measure the network: narrows measure network --wait on the NAS.".to_owned(),
        };
        put(&paragraph(&next, width, 0));
        put("");
        let links = self.links();
        if !links.is_empty() {
            put(links.text(width).trim_end());
        }
        put(&paragraph(
            "-: not there, this machine does not say it. Bad frames, came and went: since it started.",
            width,
            0,
        ));
        let shares = self.shares();
        if !shares.is_empty() {
            put("");
            put(shares.text(width).trim_end());
        }
        put("");
        put(&paragraph(&self.rest(), width, 0));
        if !troubles.is_empty() {
            put("\nLook at this:");
            for trouble in &troubles {
                put(&item(&format!("{trouble}."), width));
            }
        }
        if self.why {
            put("\nNot there, and why:");
            for (fact, why) in not_there(self.machine) {
                put(&item(&format!("{fact}: {why}"), width));
            }
        }
        if let Some(piece) = &self.piece {
            put("\nFor the site file:\n");
            put(piece.trim_end());
        }
        for difference in self.differences {
            put("");
            put(&paragraph(&difference.words(self.file), width, 0));
            put(&format!("  --set '{}'", difference.set));
        }
        out
    }

    /// Drives, arrays, processor and memory in a sentence each.
    fn rest(&self) -> String {
        let mut parts = Vec::new();
        if let Ok(processor) = &self.machine.processor {
            parts.push(format!(
                "{}{}.",
                counted(processor.cores, "core", "cores"),
                if processor.aes {
                    ", with help for encryption"
                } else {
                    ", without help for encryption"
                }
            ));
        }
        if let Ok(memory) = &self.machine.memory {
            parts.push(format!("{} of memory.", show(bytes(memory.total as f64))));
        }
        for drive in &self.machine.drives {
            let turning = match drive.turning {
                Ok(Turning::Likely) => "probably spinning",
                Ok(Turning::No) => "flash",
                Err(_) => "of a kind that is not said",
            };
            parts.push(format!(
                "{}: {}, {turning}.",
                drive.name,
                show(bytes(drive.bytes as f64))
            ));
        }
        for array in &self.machine.arrays {
            let layout = array
                .layout
                .unwrap_or("of a level that a site has no word for");
            let of = array.wanted.map_or(String::new(), |n| {
                format!(" of {}", counted(n as usize, "drive", "drives"))
            });
            let failed = array
                .failed
                .map_or("; how many failed is not there".to_owned(), |n| {
                    format!(", {n} failed")
                });
            parts.push(format!("{}: {layout}{of}{failed}.", array.name));
        }
        for (name, rate) in &self.machine.radios {
            if let Ok(rate) = rate {
                parts.push(format!(
                    "{name}: radio at {} Mb/s, signal {} dBm.",
                    or_not(&rate.transmit),
                    or_not(&rate.signal)
                ));
            }
        }
        if self.guest() {
            parts.push("This is a guest of another machine: what it says of slots and processor is made up, and left out.".to_owned());
        }
        if let Some(system) = self.machine.untried {
            parts.push(format!("The texts of {system} were never tried on such a machine: hold them against its own settings."));
        }
        parts.join(" ")
    }
}

/// All that is not there, with the reason.
pub(super) fn not_there(machine: &Machine) -> Vec<(String, String)> {
    let mut out = Vec::new();
    let mut add = |fact: String, why: Option<&narrows_probe::says::NotThere>| {
        if let Some(why) = why {
            out.push((fact, why.0.clone()));
        }
    };
    for link in &machine.links {
        let of = |fact: &str| format!("{} of {}", fact, link.name);
        add(of("rate"), link.rate.as_ref().err());
        add(of("duplex"), link.duplex.as_ref().err());
        add(of("MTU"), link.largest_packet.as_ref().err());
        add(of("slot"), link.slot.as_ref().err());
    }
    for mount in machine.shares() {
        let of = |fact: &str| format!("{} of {}", fact, mount.point);
        add(of("version"), mount.version.as_ref().err());
        add(of("signing"), mount.signed.as_ref().err());
        add(of("encryption"), mount.encrypted.as_ref().err());
    }
    for drive in &machine.drives {
        add(
            format!("class of {}", drive.name),
            drive.class.as_ref().err(),
        );
    }
    add("processor".to_owned(), machine.processor.as_ref().err());
    add("memory".to_owned(), machine.memory.as_ref().err());
    out
}
