//! The site file that says what was told, with a comment at everything that is not known.

use super::{Switch, Told, Written};
use narrows_units::catalogue::Catalogue;
use narrows_units::quantity::{LinkRate, exact};
use std::fmt::Write;

/// What stands in for a rate that nobody said.
const USUAL: LinkRate = LinkRate::from_megabits(1000);

struct Page {
    text: String,
    unknown: usize,
}

impl Page {
    fn line(&mut self, key: &str, value: &str) {
        let _ = writeln!(
            self.text,
            "{key} = \"{}\"",
            value.replace('\\', "").replace('"', "'")
        );
    }

    /// A value that is not known, with how to find it.
    fn missing(&mut self, find_out: &str) {
        self.unknown += 1;
        let _ = writeln!(self.text, "# not known yet: {find_out}");
    }

    fn field(&mut self, key: &str, value: Option<&String>, find_out: &str) {
        if value.is_none() {
            self.missing(find_out);
        }
        self.line(key, value.map_or("unknown", String::as_str));
    }

    fn port(&mut self, name: &str, rate: Option<LinkRate>, count: u32, find_out: &str) {
        if rate.is_none() {
            self.missing(&format!("{find_out}; {} is a guess", exact(USUAL)));
        }
        let rate = exact(rate.unwrap_or(USUAL));
        let count = if count > 1 {
            format!(", count = {count}")
        } else {
            String::new()
        };
        let _ = writeln!(self.text, "port.{name} = {{ rate = \"{rate}\"{count} }}");
    }
}

/// A layout to go on with where nobody knows it, by how many drives there are.
fn guessed(count: usize) -> &'static str {
    match count {
        1 => "single",
        2 => "raid1",
        3..=5 => "raid5",
        _ => "raid6",
    }
}

/// Writes the file.
pub(super) fn site(_: &Catalogue, told: &Told) -> Written {
    let mut page = Page {
        text: String::new(),
        unknown: 0,
    };
    page.text.push_str("# Words for every field: narrows facts words. Faults, and how to find what is missing: narrows check\n");
    page.line("name", &told.name);
    for left in &told.left {
        let _ = writeln!(
            page.text,
            "# said, and not understood: {}",
            left.replace('\n', " ")
        );
    }
    // the runs come first: behind a header they would belong to its part
    let head = std::mem::take(&mut page.text);
    array(&mut page, told);
    nas(&mut page, told);
    let switches = switches(&mut page, told);
    desks(&mut page, told);
    let parts = std::mem::replace(&mut page.text, head);
    runs(&mut page, told, &switches);
    page.text.push_str(&parts);
    Written {
        name: told.name.clone(),
        text: page.text,
        unknown: page.unknown,
    }
}

fn array(page: &mut Page, told: &Told) {
    page.text.push_str("\n[array.vault]\nnas = \"store\"\n");
    let drives = &told.drives;
    let count = drives.count.unwrap_or(4);
    match &drives.level {
        Some(level) => page.line("layout", level),
        None if drives.count == Some(1) => {}
        None => {
            page.missing("how the drives are put together: look in the storage settings of the NAS; this is a guess");
            page.line("layout", guessed(count));
        }
    }
    let mut said = drives.clone();
    if drives.count.is_none() {
        page.missing("how many drives there are; this is a guess");
        said.count = Some(count);
    }
    if drives.capacity.is_none() {
        page.missing("what one drive holds: look in the storage settings of the NAS");
    }
    if drives.class.is_none() {
        page.missing("which drives they are: look on their labels");
        said.class = Some("unknown".to_owned());
    }
    page.line(
        "drives",
        &said.long().unwrap_or_else(|| "4 x unknown".to_owned()),
    );
    if let Some(spares) = drives.spares {
        let _ = writeln!(page.text, "spares = {spares}");
    }
    page.field(
        "fill",
        told.fill.as_ref(),
        "how full it is: look in the storage settings of the NAS",
    );
}

fn nas(page: &mut Page, told: &Told) {
    page.text.push_str("\n[nas.store]\n");
    page.field(
        "cpu",
        told.cpu.as_ref(),
        "its processor and cores: look in the system settings of the NAS",
    );
    page.field(
        "memory",
        told.memory.as_ref(),
        "its memory: look in the system settings of the NAS",
    );
    page.field(
        "service",
        told.service.as_ref(),
        "the address that the desks mount begins with the service",
    );
    page.field(
        "signed",
        told.signed.as_ref(),
        "whether packets are signed: look in the file service settings of the NAS",
    );
    let direct = told.switches.as_ref().is_some_and(Vec::is_empty);
    let count = if direct { told.desks.len() as u32 } else { 1 };
    page.port(
        "a",
        told.rate,
        count,
        "how fast its port is: look in its network settings",
    );
}

/// The switches as they are written: what nobody knows is one switch with enough ports.
fn switches(page: &mut Page, told: &Told) -> Vec<Switch> {
    let Some(said) = &told.switches else {
        page.text.push_str("\n[switch.switch]\n");
        page.missing(
            "which switch there is and its ports: look at the front of the box; this is a guess",
        );
        let count = told.desks.len() as u32 + 1;
        let _ = writeln!(
            page.text,
            "port.any = {{ rate = \"{}\", count = {count} }}",
            exact(USUAL)
        );
        return vec![Switch {
            name: "switch".to_owned(),
            groups: vec![(count, USUAL)],
        }];
    };
    let mut all = Vec::new();
    for (at, switch) in said.iter().enumerate() {
        let _ = writeln!(page.text, "\n[switch.{}]", key(&switch.name));
        let mut switch = switch.clone();
        // desks, the NAS or the way up, and the ways down
        let on_it = told.desks.iter().filter(|d| d.switch == at).count() as u32;
        let needed = on_it + 1 + if at == 0 { said.len() as u32 - 1 } else { 0 };
        if switch.groups.is_empty() {
            page.missing("its ports: look at the front of the box; this is a guess");
            switch.groups.push((needed, USUAL));
        }
        let have: u32 = switch.groups.iter().map(|(n, _)| n).sum();
        if have < needed
            && let Some((count, rate)) = switch.groups.last_mut()
        {
            page.missing(&format!(
                "{have} ports were told and {needed} cables lead there; {} more at {} are a guess",
                needed - have,
                exact(*rate)
            ));
            *count += needed - have;
        }
        let names = names(switch.groups.len());
        let lines: Vec<(u32, LinkRate, String)> = switch
            .groups
            .iter()
            .zip(names)
            .map(|((count, rate), name)| (*count, *rate, name))
            .collect();
        for (count, rate, name) in lines {
            let _ = writeln!(
                page.text,
                "port.{name} = {{ rate = \"{}\", count = {count} }}",
                exact(rate)
            );
        }
        all.push(switch);
    }
    all
}

fn names(groups: usize) -> Vec<String> {
    match groups {
        1 => vec!["any".to_owned()],
        2 => vec!["fast".to_owned(), "slow".to_owned()],
        _ => (1..=groups).map(|n| format!("group-{n}")).collect(),
    }
}

fn desks(page: &mut Page, told: &Told) {
    for desk in &told.desks {
        let _ = writeln!(page.text, "\n[desk.{}]", key(&desk.name));
        page.field(
            "disk",
            desk.disk.as_ref(),
            "its own disk: look in the system information of the desk",
        );
        page.port(
            "a",
            desk.port,
            1,
            "how fast its port is: look in its network settings",
        );
    }
}

fn runs(page: &mut Page, told: &Told, switches: &[Switch]) {
    let end = |at: usize| {
        switches
            .get(at)
            .map_or_else(|| "nas.store".to_owned(), |s| format!("switch.{}", s.name))
    };
    page.text
        .push_str("\n# one line a cable: from - to: kind, length, how it lies\nrun = [\n");
    if !switches.is_empty() {
        let _ = writeln!(page.text, "  \"nas.store - {}\",", end(0));
    }
    for at in 1..switches.len() {
        let _ = writeln!(page.text, "  \"{} - {}\",", end(at), end(0));
    }
    for desk in &told.desks {
        let about = desk
            .cable
            .as_ref()
            .map(|c| format!(": {c}"))
            .unwrap_or_default();
        if desk.cable.is_none() {
            page.unknown += 1;
            let _ = writeln!(
                page.text,
                "  # not known yet: the cable of {}; read the print on its sheath",
                desk.name
            );
        }
        let _ = writeln!(
            page.text,
            "  \"desk.{} - {}{about}\",",
            desk.name,
            end(desk.switch)
        );
    }
    page.text.push_str("]\n");
}

fn key(name: &str) -> String {
    if name.is_ascii() {
        name.to_owned()
    } else {
        format!("\"{name}\"")
    }
}
