//! Cases from the field in a neutral form, turned into a site, readings and remarks the same way
//! for every case: by its fields, and by words in what people wrote.

use narrows_core::catalogue::Catalogue;
use narrows_core::explain::{
    Amount, Exactness, Meaning, RateReading, RateUnit, Reading, Remark, Told, What,
};
use narrows_core::quantity::{in_megabytes_per_second, megabytes, megabytes_per_second};
use narrows_core::site::read;
use narrows_core::work::Direction;
use serde_json::Value;
use std::fmt::Write;

/// A case without what was only known after the diagnosis.
fn before_diagnosis(case: &Value) -> Value {
    let mut case = case.clone();
    if let Some(chain) = case.get_mut("chain").and_then(Value::as_array_mut) {
        chain.retain(|hop| hop.get("found_later") != Some(&Value::Bool(true)));
        for hop in chain {
            hide(hop);
        }
    }
    for part in ["service", "array", "host", "desk", "workload"] {
        if let Some(part) = case.get_mut(part) {
            hide(part);
        }
    }
    case
}

fn hide(part: &mut Value) {
    let later: Vec<String> = texts(part, "found_later").map(str::to_owned).collect();
    if let Some(map) = part.as_object_mut() {
        for key in later {
            map.remove(&key);
        }
    }
}

fn texts<'a>(value: &'a Value, key: &str) -> impl Iterator<Item = &'a str> {
    value
        .get(key)
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
        .filter_map(Value::as_str)
}

fn text<'a>(value: &'a Value, path: &[&str]) -> &'a str {
    let mut at = value;
    for key in path {
        match at.get(key) {
            Some(next) => at = next,
            None => return "",
        }
    }
    at.as_str().unwrap_or("")
}

fn number(value: &Value, path: &[&str]) -> Option<f64> {
    let mut at = value;
    for key in path {
        at = at.get(key)?;
    }
    at.as_f64()
}

/// Everything told of a case.
///
/// # Panics
/// Where a case makes a site that cannot be read: the fault is in this file or in the case.
pub fn told(case: &Value, catalogue: &Catalogue) -> Told {
    let case = &before_diagnosis(case);
    let mut told = Told {
        path_told: number_of_rates(case) > 0,
        array_told: !text(case, &["array", "layout"]).is_empty(),
        many_files_at_the_array: local(case) && text(case, &["workload", "kind"]) == "small-files",
        ..Told::default()
    };
    for (toml, weight) in sites(case) {
        let site = read(&toml, &[], catalogue)
            .unwrap_or_else(|f| panic!("{}: {f}\n{toml}", text(case, &["id"])));
        told.sites.push((site, weight));
    }
    told.readings = readings(case);
    told.remarks = remarks(case);
    told
}

fn hops(case: &Value) -> impl Iterator<Item = &Value> {
    case.get("chain").and_then(Value::as_array).into_iter().flatten()
}

fn local(case: &Value) -> bool {
    case.pointer("/desk/is_local") == Some(&Value::Bool(true))
}

fn number_of_rates(case: &Value) -> usize {
    hops(case).filter(|h| number(h, &["rate_mbit_s"]).is_some()).count()
}

/// Rates that a port knows that is sold as one of these.
const LADDER: [u64; 11] = [10, 100, 1000, 2000, 2500, 5000, 10_000, 20_000, 25_000, 40_000, 100_000];

fn rate_text(megabits: u64) -> String {
    if megabits >= 1000 {
        format!("{} Gb/s", megabits as f64 / 1000.0)
    } else {
        format!("{megabits} Mb/s")
    }
}

fn port_text(megabits: u64, more: &str) -> String {
    let known: Vec<String> = LADDER
        .into_iter()
        .filter(|&r| r <= megabits)
        .chain((!LADDER.contains(&megabits)).then_some(megabits))
        .map(rate_text)
        .collect();
    let socket = if megabits > 10_000 { "cage" } else { "copper" };
    format!(
        "{{ rate = \"{}\", rates = \"{}\", socket = \"{socket}\"{more} }}",
        rate_text(megabits),
        known.join(", ")
    )
}

/// The site files that a case may be, with weights: what is not told is left open.
fn sites(case: &Value) -> Vec<(String, f64)> {
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
            ("layout = \"single\"\ndrives = \"1 x 4 TB hdd\"\n".to_owned(), 0.3),
            ("layout = \"raid1\"\ndrives = \"2 x 4 TB hdd\"\n".to_owned(), 0.2),
            ("layout = \"raid5\"\ndrives = \"4 x 4 TB hdd\"\n".to_owned(), 0.3),
            ("layout = \"single\"\ndrives = \"1 x 1 TB ssd-sata\"\n".to_owned(), 0.2),
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
    radio: Option<String>,
}

fn site(case: &Value, array: &str, speed: u64) -> String {
    let mut out = format!("name = \"field case\"\n\n[array.vault]\nnas = \"store\"\n{array}");
    let mut desk = Machine::default();
    let mut nas = Machine::default();
    let mut between: Vec<u64> = Vec::new();
    let mut switched = false;
    let mut round_trip = None;
    for hop in hops(case) {
        let rate = number(hop, &["member_mbit_s"])
            .or_else(|| number(hop, &["negotiated_mbit_s"]))
            .or_else(|| number(hop, &["rate_mbit_s"]))
            .map(|r| r as u64);
        let note = text(hop, &["note"]).to_lowercase();
        let at_desk = text(hop, &["at"]) == "desk";
        let mtu = number(hop, &["mtu"]).map_or(String::new(), |m| format!(", mtu = {m}"));
        match text(hop, &["kind"]) {
            "port" | "bond" | "usb-adapter" => {
                let mut more = mtu;
                if let Some(members) = number(hop, &["members"]) {
                    let _ = write!(more, ", members = {members}");
                }
                if text(hop, &["kind"]) == "usb-adapter" {
                    let sold = number(hop, &["rate_mbit_s"]).unwrap_or(1000.0);
                    let bus = if note.contains("usb 2") || note.contains("usb2") {
                        "usb 480 Mb/s"
                    } else if sold > 5000.0 {
                        "usb 20 Gb/s"
                    } else {
                        "usb 5 Gb/s"
                    };
                    let _ = write!(more, ", adapter = \"{bus}\"");
                }
                match text(hop, &["at"]) {
                    "desk" => {
                        desk.rate = rate;
                        desk.more.push_str(&more);
                    }
                    "host" => {
                        nas.rate = rate;
                        nas.more.push_str(&more);
                    }
                    _ => between.extend(rate),
                }
            }
            "switch" | "router" => {
                switched = true;
                between.extend(rate);
            }
            "slot" => {
                let side = if at_desk { &mut desk } else { &mut nas };
                let pcie = text(hop, &["pcie"]);
                if let Some(slot) = pcie.strip_prefix("gen") {
                    let _ = write!(side.more, ", slot = \"pcie {slot}\"");
                }
            }
            "wireless" => {
                let rated = rate.map_or("measured 8..50 MB/s".to_owned(), |r| {
                    format!("rated {}", rate_text(r))
                });
                desk.radio = Some(rated);
            }
            "wan" => {
                round_trip = number(hop, &["rtt_ms"]).or(round_trip);
                if note.contains("continent") {
                    round_trip = Some(150.0);
                }
                if let Some(rate) = rate {
                    between.push(rate);
                }
            }
            _ => {}
        }
    }
    let told: Vec<u64> = [desk.rate, nas.rate].into_iter().flatten().chain(between.iter().copied()).collect();
    let joined = hops(case)
        .filter(|h| text(h, &["kind"]) == "bond")
        .filter_map(|h| number(h, &["rate_mbit_s"]))
        .map(|r| r as u64);
    let usual = told.iter().copied().chain(joined).max().unwrap_or(if speed > 0 { speed } else { 1000 });
    let least = between.iter().copied().min();
    // an end of which nothing is told is no slower than the rest
    let desk_rate = desk.rate.unwrap_or(usual);
    let nas_rate = nas.rate.unwrap_or(usual);
    let middle = least.unwrap_or(usual);
    out.push_str("\n[nas.store]\n");
    match text(case, &["host", "cpu_class"]) {
        "small" => cpu(&mut out, "small", case),
        "desktop" => cpu(&mut out, "medium", case),
        "server" => cpu(&mut out, "large", case),
        "router-soc" => cpu(&mut out, "tiny", case),
        _ => {}
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
    let _ = writeln!(out, "port.a = {}", port_text(nas_rate, &nas.more));
    if switched || desk.radio.is_some() || middle < desk_rate.min(nas_rate) {
        let _ = writeln!(
            out,
            "\n[switch.middle]\nport.any = {{ count = 4, {}",
            port_text(middle.max(if least.is_some() { middle } else { usual }), "").trim_start_matches("{ ")
        );
        switched = true;
    }
    out.push_str("\n[desk.desk]\n");
    match text(case, &["desk", "disk_class"]) {
        "hdd-usb" | "hdd" => out.push_str("disk = \"hdd\"\n"),
        "ssd" | "ssd-sata" => out.push_str("disk = \"ssd-sata\"\n"),
        "ssd-nvme" => out.push_str("disk = \"nvme-gen3\"\n"),
        _ => {}
    }
    if text(case, &["desk", "cpu_class"]) == "small" {
        out.push_str("cpu = \"small\"\n");
    }
    let _ = writeln!(out, "port.a = {}", port_text(desk_rate, &desk.more));
    let clear = |a: u64, b: u64| if a.max(b) > 10_000 { "cable = \"twinax\"\n" } else { "" };
    let category = hops(case)
        .map(|h| text(h, &["category"]).to_lowercase())
        .find(|c| !c.is_empty());
    let cable = |a: u64, b: u64| match (&category, clear(a, b)) {
        (Some(category), "") => format!("cable = \"{category}\"\n"),
        (_, clear) => clear.to_owned(),
    };
    let first = match &desk.radio {
        Some(radio) => format!("wireless = \"{radio}\"\n"),
        None => cable(desk_rate, if switched { middle } else { nas_rate }),
    };
    if switched {
        let _ = write!(out, "\n[[run]]\nfrom = \"desk.desk\"\nto = \"switch.middle\"\n{first}");
        let _ = write!(
            out,
            "\n[[run]]\nfrom = \"nas.store\"\nto = \"switch.middle\"\n{}",
            clear(nas_rate, middle)
        );
    } else {
        let _ = write!(out, "\n[[run]]\nfrom = \"desk.desk\"\nto = \"nas.store\"\n{first}");
    }
    if let Some(trip) = round_trip {
        let _ = write!(out, "\n[network]\nround-trip = \"{trip} ms\"\n");
    }
    out
}

fn cpu(out: &mut String, class: &str, case: &Value) {
    let _ = match number(case, &["host", "cores"]) {
        Some(cores) => writeln!(out, "cpu = \"{class}, {cores} cores\""),
        None => writeln!(out, "cpu = \"{class}\""),
    };
}

fn direction(value: &Value) -> Option<Direction> {
    match text(value, &["direction"]) {
        "read" => Some(Direction::Read),
        "write" => Some(Direction::Write),
        _ => None,
    }
}

fn what(case: &Value, word: &str) -> Option<What> {
    Some(match word {
        "copy" if text(case, &["workload", "kind"]) == "small-files" => What::ManyFiles,
        "copy" => What::Copy,
        "raw-tcp" => What::RawTcp,
        "local-array" => What::LocalArray,
        "local-disk" => What::LocalDisk,
        _ => return None,
    })
}

fn readings(case: &Value) -> Vec<Reading> {
    let doubtful = texts(case, "symptoms").any(|s| s.contains("unit written"));
    let measured = case.get("measured").and_then(Value::as_array);
    measured
        .into_iter()
        .flatten()
        // writing over what is there is other work than writing
        .filter(|m| !text(m, &["note"]).contains("rewrite"))
        .filter_map(|m| {
            let rate = number(m, &["mb_s"])?;
            let (low, high) = (
                number(m, &["low_mb_s"]).unwrap_or(rate),
                number(m, &["high_mb_s"]).unwrap_or(rate),
            );
            let exactness = match text(m, &["value_type"]) {
                "approximate" => Exactness::About,
                "midpoint" if low < high => Exactness::Range,
                "midpoint" => Exactness::About,
                "lower_bound" => Exactness::AtLeast,
                "upper_bound" => Exactness::AtMost,
                "peak" => Exactness::Peak,
                _ => Exactness::Point,
            };
            let main = text(m, &["what"]) == "copy" || measured.is_some_and(|m| m.len() == 1);
            Some(Reading {
                text: format!("{} {} {rate} MB/s", text(m, &["what"]), text(m, &["direction"])),
                desk: None,
                what: what(case, text(m, &["what"]))?,
                direction: direction(m),
                amount: Amount::Rate(RateReading {
                    meanings: meanings((low, rate, high), doubtful),
                    exactness,
                }),
                size: number(case, &["workload", "file_mb"]).filter(|_| main).map(megabytes),
                streams: number(case, &["workload", "streams"]).unwrap_or(1.0) as u32,
                again: false,
            })
        })
        .collect()
}

/// Rates in these cases are decimal megabytes; people's own units may have been binary ones.
fn meanings((low, middle, high): (f64, f64, f64), doubtful: bool) -> Vec<Meaning> {
    let of = |unit, factor: f64, weight, slip| Meaning {
        unit,
        low: megabytes_per_second(low * factor),
        middle: megabytes_per_second(middle * factor),
        high: megabytes_per_second(high * factor),
        weight,
        slip,
    };
    let bits = if doubtful { 0.4 } else { 0.02 };
    vec![
        of(RateUnit::Megabytes, 1.0, 0.85 * (1.0 - bits), false),
        of(RateUnit::Mebibytes, 1.048_576, 0.15 * (1.0 - bits), false),
        of(RateUnit::Megabits, 0.125, bits / 2.0, true),
        of(RateUnit::Megabits, 8.0, bits / 2.0, true),
    ]
}

/// Words in what people wrote, and the remark they make; all words of a row have to be there.
const SAID: &[(&[&str], &str)] = &[
    (&["stalls"], "stalls"),
    (&["stall", "zero"], "stalls"),
    (&["burst", "wait"], "bursts"),
    (&["drops to 0"], "bursts"),
    (&["pulses"], "bursts"),
    (&["sawtooth"], "bursts"),
    (&["retransmi"], "retransmissions"),
    (&["packet loss"], "retransmissions"),
    (&["varies"], "varies"),
    (&["unstable"], "varies"),
    (&["fluctuat"], "varies"),
    (&["starts", "falls"], "drops-after"),
    (&["starts", "tails"], "drops-after"),
    (&["starts", "drops"], "drops-after"),
    (&["starts", "then"], "drops-after"),
    (&["falls from"], "drops-after"),
    (&["collapses"], "drops-after"),
    (&["at first", "after"], "drops-after"),
    (&["buffer fills"], "buffer-filled"),
    (&["buffer zone"], "drops-after"),
    (&["reboot"], "fine-after-restart"),
    (&["restart"], "fine-after-restart"),
    (&["upgrade"], "after-update"),
    (&["update"], "after-update"),
    (&["faster before"], "better-before"),
    (&["was fine before"], "better-before"),
    (&["another not"], "other-computer-better"),
    (&["another system"], "other-computer-better"),
    (&["another client", "fine"], "other-computer-better"),
    (&["another computer", "fine"], "other-computer-better"),
    (&["sibling", "fine"], "other-service-better"),
    (&["sftp reach"], "other-service-better"),
    (&["other protocol", "fine"], "other-service-better"),
    (&["single-threaded", "as many streams"], "one-thread-tool-many-streams"),
    (&["single-threaded"], "one-thread-tool"),
    (&["weaker cipher"], "without-encryption-better"),
    (&["without encryption"], "without-encryption-better"),
    (&["offloads", "off"], "offloads-off"),
    (&["third", "machine"], "third-machine"),
    (&["link errors"], "slot-errors"),
    (&["fragment"], "fragmented"),
    (&["counters split"], "uneven-members"),
    (&["counters", "other port"], "traffic-elsewhere"),
    (&["wired", "fine"], "wired-better"),
    (&["several connections"], "parallel-adds"),
    (&["connections", "add up"], "parallel-adds"),
    (&["frames", "halve"], "smaller-frames-worse"),
    (&["encrypted files directly"], "overlay"),
    (&["overlay"], "overlay"),
    (&["one core", "100"], "core-busy-high"),
    (&["core", "busy"], "core-busy-high"),
    (&["cpu", "low"], "core-busy-low"),
    (&["after idle"], "fine-after-idle"),
    (&["single link gets the same"], "other-computer-same"),
    (&["write cache", "off"], "write-cache-off"),
    (&["dialect 1,"], "old-client"),
    (&["dialect 1 "], "old-client"),
    (&["dialect 2.0"], "old-client"),
    (&["file-manager mount"], "user-space-client"),
    (&["user-space"], "user-space-client"),
    (&["64 kib requests"], "small-requests"),
    (&["32 kib packets"], "small-requests"),
    (&["one outstanding"], "one-request"),
    (&["direct, no switch"], "direct-cable"),
    (&["no difference"], "other-cable-same"),
    (&["no change"], "other-cable-same"),
    (&["vm on"], "virtual-machine"),
    (&["virtual machine"], "virtual-machine"),
    (&["same file"], "memory-warm"),
    (&["buffer warm"], "memory-warm"),
    (&["array-to-array"], "same-drives"),
    (&["inside the array"], "same-drives"),
    (&["same spindles"], "same-drives"),
    (&["sync-copy tool"], "own-copy-tool"),
    (&["beside it"], "beside-another-device"),
    (&["dedicated parity"], "parity-apart"),
    (&["distance"], "long-distance"),
    (&["structure between"], "varies"),
];

fn remarks(case: &Value) -> Vec<Remark> {
    let mut ids: Vec<(String, String)> = Vec::new();
    let mut notes: Vec<String> = texts(case, "symptoms").map(str::to_owned).collect();
    for part in ["service", "array", "desk", "workload", "host"] {
        notes.push(text(case, &[part, "note"]).to_owned());
        notes.push(text(case, &[part, "drive_note"]).to_owned());
    }
    notes.extend(hops(case).map(|h| text(h, &["note"]).to_owned()));
    let measured = case.get("measured").and_then(Value::as_array);
    notes.extend(measured.into_iter().flatten().map(|m| text(m, &["note"]).to_owned()));
    for note in notes.iter().filter(|n| !n.is_empty()) {
        let lower = note.to_lowercase();
        for (words, id) in SAID {
            if words.iter().all(|w| lower.contains(w)) {
                ids.push(((*id).to_owned(), note.clone()));
                break;
            }
        }
    }
    let block = number(case, &["workload", "block_kib"]);
    if block.is_some_and(|b| b < 4.0) {
        ids.push(("small-blocks".to_owned(), "small blocks".to_owned()));
    }
    if number(case, &["workload", "queue_depth"]) == Some(1.0) && block.is_some_and(|b| b <= 128.0) {
        ids.push(("one-request".to_owned(), "one request at a time".to_owned()));
    }
    if matches!(text(case, &["desk", "disk_class"]), "sd-card" | "hdd-usb") {
        ids.push(("slow-desk-disk".to_owned(), "slow disk at the desk".to_owned()));
    }
    let comparisons = case.get("comparisons").and_then(Value::as_array);
    for other in comparisons.into_iter().flatten() {
        if let Some(id) = compared(case, other) {
            ids.push((id.to_owned(), text(other, &["context"]).to_owned()));
        }
    }
    ids.sort();
    ids.dedup_by(|a, b| a.0 == b.0);
    ids.into_iter()
        .map(|(id, text)| Remark {
            text,
            id,
            desk: None,
            rate: None,
            size: None,
            time: None,
        })
        .collect()
}

/// What a figure for comparison says, by its words and by whether it is better.
fn compared(case: &Value, other: &Value) -> Option<&'static str> {
    let context = text(other, &["context"]).to_lowercase();
    let rate = number(other, &["mb_s"])?;
    let kind = text(other, &["what"]);
    let way = text(other, &["direction"]);
    let measured = case.get("measured").and_then(Value::as_array)?;
    let same_kind = |m: &&Value| text(m, &["what"]) == kind;
    let same_way = |m: &&Value| {
        let own = text(m, &["direction"]);
        own == way || own == "unknown" || way == "unknown"
    };
    let own = measured
        .iter()
        .filter(same_way)
        .find(same_kind)
        .or_else(|| measured.iter().find(same_way))
        .or_else(|| measured.first())
        .and_then(|m| number(m, &["mb_s"]))?;
    let better = rate >= own * 1.2;
    let worse = rate < own * 0.8;
    let has = |words: &[&str]| words.iter().any(|w| context.contains(w));
    let pick = |when_better, when_same, when_worse| {
        if better {
            when_better
        } else if worse {
            when_worse
        } else {
            when_same
        }
    };
    if kind == "local-disk" || has(&["single drive", "each disk", "disk alone"]) {
        if has(&["source"]) {
            return better.then_some("one-drive-fast-enough");
        }
        let local = measured.iter().any(|m| text(m, &["what"]) == "local-array");
        return if local {
            pick(Some("one-drive-better"), Some("one-drive-same"), None)
        } else {
            pick(Some("one-drive-fast-enough"), None, None)
        };
    }
    if has(&["asynchronous", "async", "without sync"]) {
        return better.then_some("without-sync-better");
    }
    if has(&["cipher", "without encryption"]) {
        return better.then_some("without-encryption-better");
    }
    if has(&["streams", "sessions", "in parallel", "connections"]) {
        return pick(Some("parallel-adds"), Some("parallel-flat"), Some("parallel-flat"));
    }
    if has(&["added latency"]) {
        return better.then_some("long-distance");
    }
    if has(&["tool", "multi-threaded"]) {
        return pick(Some("other-tool-better"), None, None);
    }
    if has(&["frames"]) && !has(&["earlier", "before"]) {
        return better.then_some("larger-frames-better");
    }
    if has(&["earlier", "before", "previous", "last month", "ago"]) {
        return better.then_some("better-before");
    }
    if has(&["adapter", "built-in", "port", "switch"]) && !has(&["same adapter"]) {
        return pick(Some("other-adapter-better"), None, None);
    }
    if has(&["another client", "another computer", "another laptop", "on a pc", "another system", "other client"]) {
        return pick(Some("other-computer-better"), Some("other-computer-same"), None);
    }
    if has(&["ssh", "sftp", "over smb", "over nfs", "protocol", "file system", "raid"]) {
        return pick(Some("other-service-better"), None, Some("other-service-worse"));
    }
    if has(&["wired"]) {
        return better.then_some("wired-better");
    }
    if has(&["path", "over a"]) && !has(&["same path"]) {
        return pick(None, Some("slower-path-same"), None);
    }
    None
}

/// The likeliest rate of a reading in MB/s.
pub fn in_megabytes(reading: &Reading) -> Option<f64> {
    match &reading.amount {
        Amount::Rate(rate) => Some(in_megabytes_per_second(rate.likeliest())),
        _ => None,
    }
}
