//! The sites that a case may be.

use super::{hops, local, number, number_of_rates, text};
use serde_json::Value;
use std::fmt::Write;

/// Rates that a port knows that is sold as one of these.
const LADDER: [u64; 11] = [
    10, 100, 1000, 2000, 2500, 5000, 10_000, 20_000, 25_000, 40_000, 100_000,
];

fn rate_text(megabits: u64) -> String {
    if megabits >= 1000 {
        format!("{} Gb/s", megabits as f64 / 1000.0)
    } else {
        format!("{megabits} Mb/s")
    }
}

/// A port; of a way that has one above 10 Gb/s all have cages.
fn port_text(megabits: u64, fastest: u64, more: &str) -> String {
    let known: Vec<String> = LADDER
        .into_iter()
        .filter(|&r| r <= megabits)
        .chain((!LADDER.contains(&megabits)).then_some(megabits))
        .map(rate_text)
        .collect();
    let socket = if fastest > 10_000 { "cage" } else { "copper" };
    format!(
        "{{ rate = \"{}\", rates = \"{}\", socket = \"{socket}\"{more} }}",
        rate_text(megabits),
        known.join(", ")
    )
}

/// The site files that a case may be, with weights: what is not told is left open.
pub(super) fn sites(case: &Value) -> Vec<(String, f64)> {
    let mut all = Vec::new();
    for (array, array_weight) in arrays(case) {
        for (speed, speed_weight) in speeds(case) {
            all.push((site(case, &array, speed), array_weight * speed_weight));
        }
    }
    all
}

fn speeds(case: &Value) -> Vec<(u64, f64)> {
    if local(case) || number_of_rates(case) > 0 {
        return vec![(0, 1.0)];
    }
    vec![(100, 0.08), (1000, 0.74), (2500, 0.08), (10_000, 0.1)]
}

fn arrays(case: &Value) -> Vec<(String, f64)> {
    let Some(array) = case.get("array") else {
        return vec![
            (
                "layout = \"single\"\ndrives = \"1 x 4 TB hdd\"\n".to_owned(),
                0.3,
            ),
            (
                "layout = \"raid1\"\ndrives = \"2 x 4 TB hdd\"\n".to_owned(),
                0.2,
            ),
            (
                "layout = \"raid5\"\ndrives = \"4 x 4 TB hdd\"\n".to_owned(),
                0.3,
            ),
            (
                "layout = \"single\"\ndrives = \"1 x 1 TB ssd-sata\"\n".to_owned(),
                0.2,
            ),
        ];
    };
    let note = text(array, &["drive_note"]).to_lowercase();
    let class = match text(array, &["drive_class"]) {
        "hdd-5400" => "hdd-5400",
        "hdd-7200" => "hdd-7200",
        "smr" => "hdd-smr",
        "ssd-sata" | "ssd" if note.contains("qlc") => "ssd-sata-qlc",
        "ssd-sata" | "ssd" => "ssd-sata",
        "ssd-nvme" => "nvme-gen3",
        _ if note.contains("ssd") && !note.contains("hdd") => "ssd-sata",
        _ => "hdd",
    };
    let drives = number(array, &["drives"]);
    let groups = number(array, &["groups"]).unwrap_or(1.0) as usize;
    let size = number(array, &["drive_tb"]).map_or(String::new(), |tb| format!("{tb} TB "));
    let note = text(array, &["note"]).to_lowercase();
    let layout = text(array, &["layout"]);
    let of = |layout: &str, count: usize, groups: usize| {
        let mut out = format!("layout = \"{layout}\"\ndrives = \"{count} x {size}{class}\"\n");
        if groups > 1 {
            let _ = writeln!(out, "groups = {groups}");
        }
        if let Some(fill) = number(array, &["fill_pct"]) {
            let _ = writeln!(out, "fill = \"{} %\"", fill.max(1.0));
        }
        if array.get("degraded") == Some(&Value::Bool(true)) {
            out.push_str("failed = 1\n");
        }
        if array.get("rebuilding") == Some(&Value::Bool(true)) {
            out.push_str("rebuilding = \"yes\"\n");
        }
        out
    };
    let count = |usual: usize| drives.map_or(usual, |d| d as usize);
    match layout {
        "single" => vec![(of("single", 1, 1), 1.0)],
        "mirror" => vec![(of("mirror", count(2), groups), 1.0)],
        "raid10" if groups > 1 => vec![(of("mirror", count(4), groups), 1.0)],
        "raid10" if note.contains("far") || count(4) % 2 == 1 => {
            vec![(of("raid10-far", count(4), 1), 1.0)]
        }
        "raid0" | "raid1" | "raid5" | "raid6" | "raid10" | "raidz1" | "raidz2" | "raidz3" => {
            let usual = match layout {
                "raid0" | "raid1" => 2,
                "raid5" => 4,
                "raidz3" => 8,
                _ => 6,
            };
            vec![(of(layout, count(usual), groups), 1.0)]
        }
        _ => match drives.map(|d| d as usize) {
            Some(1) => vec![(of("single", 1, 1), 1.0)],
            Some(2) => vec![(of("raid1", 2, 1), 0.7), (of("raid0", 2, 1), 0.3)],
            Some(n) if n >= 4 => vec![(of("raid5", n, 1), 0.5), (of("raid6", n, 1), 0.5)],
            Some(3) => vec![(of("raid5", 3, 1), 1.0)],
            _ => vec![
                (of("single", 1, 1), 0.4),
                (of("raid1", 2, 1), 0.25),
                (of("raid5", 4, 1), 0.35),
            ],
        },
    }
}

/// One end of the way.
#[derive(Default)]
struct Machine {
    rate: Option<u64>,
    more: String,
}

/// What is told of the way between a desk and the array.
#[derive(Default)]
struct Way {
    desk: Machine,
    nas: Machine,
    radio: Option<String>,
    between: Vec<u64>,
    /// Both members of joined links together, which what lies around them can carry.
    joined: Vec<u64>,
    switched: bool,
    round_trip: Option<f64>,
    category: Option<String>,
}

impl Way {
    fn of(case: &Value) -> Self {
        let mut way = Self::default();
        for hop in hops(case) {
            way.add(hop);
        }
        way
    }

    fn add(&mut self, hop: &Value) {
        let rate = number(hop, &["member_mbit_s"])
            .or_else(|| number(hop, &["negotiated_mbit_s"]))
            .or_else(|| number(hop, &["rate_mbit_s"]))
            .map(|r| r as u64);
        match text(hop, &["kind"]) {
            "port" | "bond" | "usb-adapter" => self.port(hop, rate),
            "switch" | "router" => {
                self.switched = true;
                self.between.extend(rate);
            }
            "slot" => self.slot(hop),
            "wireless" => {
                self.radio = Some(rate.map_or("measured 8..50 MB/s".to_owned(), |r| {
                    format!("rated {}", rate_text(r))
                }));
            }
            "wan" => {
                self.round_trip = number(hop, &["rtt_ms"]).or(self.round_trip);
                self.between.extend(rate);
            }
            "cable" => {
                let category = text(hop, &["category"]).to_lowercase();
                if !category.is_empty() {
                    self.category = Some(category);
                }
            }
            _ => {}
        }
    }

    fn port(&mut self, hop: &Value, rate: Option<u64>) {
        let mut more = number(hop, &["mtu"]).map_or(String::new(), |m| format!(", mtu = {m}"));
        let sold = number(hop, &["rate_mbit_s"]);
        if let Some(members) = number(hop, &["members"]) {
            let _ = write!(more, ", members = {members}");
            self.joined.extend(sold.map(|r| r as u64));
        }
        if text(hop, &["kind"]) == "usb-adapter" {
            let note = text(hop, &["note"]).to_lowercase();
            let bus = if note.contains("usb 2") || note.contains("usb2") {
                "usb 480 Mb/s"
            } else if sold.is_some_and(|r| r > 5000.0) {
                "usb 20 Gb/s"
            } else {
                "usb 5 Gb/s"
            };
            let _ = write!(more, ", adapter = \"{bus}\"");
        }
        match text(hop, &["at"]) {
            "desk" => {
                self.desk.rate = rate;
                self.desk.more.push_str(&more);
            }
            "host" => {
                self.nas.rate = rate;
                self.nas.more.push_str(&more);
            }
            _ => self.between.extend(rate),
        }
    }

    fn slot(&mut self, hop: &Value) {
        let side = if text(hop, &["at"]) == "desk" {
            &mut self.desk
        } else {
            &mut self.nas
        };
        let slot = text(hop, &["pcie"]);
        if let Some(slot) = slot.strip_prefix("gen") {
            let _ = write!(side.more, ", slot = \"pcie {slot}\"");
        } else if slot.contains("32-bit PCI") {
            side.more.push_str(", adapter = \"pci 32-bit\"");
        }
    }
}

fn site(case: &Value, array: &str, speed: u64) -> String {
    let mut out = format!("name = \"field case\"\n\n[array.vault]\nnas = \"store\"\n{array}");
    let way = Way::of(case);
    let told = [way.desk.rate, way.nas.rate].into_iter().flatten();
    let told = told
        .chain(way.between.iter().copied())
        .chain(way.joined.iter().copied());
    let usual = told.max().unwrap_or(if speed > 0 { speed } else { 1000 });
    // an end of which nothing is told is no slower than the rest
    let desk_rate = way.desk.rate.unwrap_or(usual);
    let nas_rate = way.nas.rate.unwrap_or(usual);
    let middle = way.between.iter().copied().min().unwrap_or(usual);
    let switched = way.switched || way.radio.is_some() || middle < desk_rate.min(nas_rate);
    let fastest = desk_rate.max(nas_rate).max(middle);
    machine(&mut out, case);
    let _ = writeln!(
        out,
        "port.a = {}",
        port_text(nas_rate, fastest, &way.nas.more)
    );
    if switched {
        let ports = port_text(middle, fastest, ", count = 4");
        let _ = writeln!(out, "\n[switch.middle]\nport.any = {ports}");
    }
    desk(&mut out, case);
    let _ = writeln!(
        out,
        "port.a = {}",
        port_text(desk_rate, fastest, &way.desk.more)
    );
    let cable = || match &way.category {
        _ if fastest > 10_000 => "cable = \"twinax\"\n".to_owned(),
        Some(category) => format!("cable = \"{category}\"\n"),
        None => String::new(),
    };
    let first = match &way.radio {
        Some(radio) => format!("wireless = \"{radio}\"\n"),
        None => cable(),
    };
    let to = if switched {
        "switch.middle"
    } else {
        "nas.store"
    };
    let _ = write!(
        out,
        "\n[[run]]\nfrom = \"desk.desk\"\nto = \"{to}\"\n{first}"
    );
    if switched {
        let second = if fastest > 10_000 {
            "cable = \"twinax\"\n"
        } else {
            ""
        };
        let _ = write!(
            out,
            "\n[[run]]\nfrom = \"nas.store\"\nto = \"switch.middle\"\n{second}"
        );
    }
    if let Some(trip) = way.round_trip {
        let _ = write!(out, "\n[network]\nround-trip = \"{trip} ms\"\n");
    }
    out
}

fn machine(out: &mut String, case: &Value) {
    out.push_str("\n[nas.store]\n");
    let class = match text(case, &["host", "cpu_class"]) {
        "small" => "small",
        "desktop" => "medium",
        "server" => "large",
        "router-soc" => "router",
        _ => "",
    };
    if !class.is_empty() {
        let cores = number(case, &["host", "cores"]);
        let cores = cores.map_or(String::new(), |n| format!(", {n} cores"));
        let _ = writeln!(out, "cpu = \"{class}{cores}\"");
    }
    if let Some(ram) = number(case, &["host", "ram_gb"]) {
        let _ = writeln!(out, "memory = \"{ram} GB\"");
    }
    match text(case, &["service", "protocol"]) {
        "none" | "" => {}
        "ssh" => out.push_str("service = \"sftp\"\n"),
        other => {
            let _ = writeln!(out, "service = \"{other}\"");
        }
    }
    if let Some(sync) = case.pointer("/service/sync").and_then(Value::as_bool) {
        let _ = writeln!(out, "sync = \"{}\"", if sync { "yes" } else { "no" });
    }
    if case.pointer("/service/encrypted") == Some(&Value::Bool(true)) {
        out.push_str("encrypted = \"yes\"\n");
    }
}

fn desk(out: &mut String, case: &Value) {
    out.push_str("\n[desk.desk]\n");
    let disk = match text(case, &["desk", "disk_class"]) {
        "hdd-usb" | "hdd" => "hdd",
        "ssd" | "ssd-sata" => "ssd-sata",
        "ssd-nvme" => "nvme-gen3",
        _ => "",
    };
    if !disk.is_empty() {
        let _ = writeln!(out, "disk = \"{disk}\"");
    }
    if text(case, &["desk", "cpu_class"]) == "small" {
        out.push_str("cpu = \"small\"\n");
    }
}
