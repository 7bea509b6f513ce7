//! What a good file becomes, and bytes that are no file.

use super::{LANE, catalogue, changed, line_of};
use crate::array::Level;
use crate::catalogue::Catalogue;
use crate::copper::FibreGrade;
use crate::quantity::{Measure, in_megabytes_per_second, terabytes};
use crate::site::{
    Attachment, Drive, End, Machine, Medium, Origin, Service, Site, Socket, read, read_bytes,
};

fn site(text: &str) -> Site {
    read(text, &[], &catalogue()).unwrap_or_else(|f| panic!("{f}"))
}

#[test]
fn the_example_sites_can_be_read() {
    for (name, text) in narrows_data::SITES {
        let read = read(text, &[], &catalogue());
        assert!(read.is_ok(), "{name}: {read:?}");
    }
}

#[test]
fn groups_of_any_raid_level_are_striped_over() {
    let vault = |edits: &[&str]| changed(edits).unwrap().arrays[0].layout().unwrap();
    let eight = "array.vault.drives=8 x 10 TB hdd-7200";
    let two = "array.vault.groups=2";
    let named = vault(&["array.vault.layout=raid50", eight]);
    assert_eq!(vault(&["array.vault.layout=raid5", eight, two]), named);
    assert_eq!(named.level(), Level::Raid50);
    // mirrors of four, striped over: any three may fail
    let mirrors = vault(&["array.vault.layout=raid1", eight, two]);
    assert_eq!(mirrors.to_string(), "2 x raid1 4 x 10 TB");
    assert_eq!((mirrors.survives_any(), mirrors.data_drives()), (3, 2));
}

#[test]
fn a_file_becomes_what_it_says() {
    let site = site(LANE);
    assert_eq!(site.name, "Granary Lane");
    let desks: Vec<&str> = site.desks.iter().map(|d| d.name.as_str()).collect();
    assert_eq!(desks, ["cut-1", "cut-2", "colour", "sound", "ingest"]);
    assert_eq!(site.runs.len(), 7);

    let array = &site.arrays[0];
    assert_eq!(
        (array.name.as_str(), array.nas.as_str()),
        ("vault", "store")
    );
    assert_eq!(array.level, Level::Raid6);
    assert_eq!(array.drives.count, 6);
    assert_eq!(array.drives.capacity.median(), terabytes(10.0));
    assert_eq!(array.drives.capacity.origin, Origin::Stated);
    let Some(Drive::Spinning { class, outer, .. }) = array.drives.drive.value.only() else {
        panic!("{:?}", array.drives.drive);
    };
    assert_eq!(class, "hdd-7200");
    assert_eq!(outer.id, "array.vault.drives/hdd-7200/outer-rate");
    assert!(outer.is_assumed());
    assert_eq!(array.fill.id, "array.vault.fill");

    let nas = &site.nas[0];
    assert_eq!(
        nas.cpu.class.value.only().map(String::as_str),
        Some("small")
    );
    assert_eq!(nas.cpu.cores.id, "nas.store.cpu/cores");
    approx::assert_relative_eq!(nas.cpu.cores.median(), 4.0);
    assert_eq!(nas.service.value.only(), Some(&Service::Smb));
    assert_eq!(nas.signed.value.options().len(), 2);
    assert_eq!(
        nas.ports[0].attachment,
        Some(Attachment::Slot {
            generation: 3,
            lanes: 4
        })
    );
    assert_eq!(nas.ports[0].mtu, 1500);
    assert_eq!(nas.ports[0].knows.len(), 3);

    let run = &site.runs[1];
    assert_eq!(run.number, 2);
    assert_eq!(run.to.to_string(), "switch.attic.fast");
    assert_eq!(site.port(&run.from).map(|p| p.socket), Some(Socket::Copper));
    let Medium::Copper {
        category,
        length,
        bundle,
        ..
    } = &run.medium
    else {
        panic!("{:?}", run.medium);
    };
    assert_eq!(category.value.only().map(String::as_str), Some("cat5e"));
    let (low, _, high) = length.value.law().knots();
    assert_eq!((low, high), (20.0, 35.0));
    assert_eq!(bundle.value.only().map(String::as_str), Some("loose"));
}

/// Every stand-in is listed, with a value that the file would accept in its place.
#[test]
fn what_is_assumed_is_listed_and_reads_back() {
    let before = site(LANE);
    for (id, value) in [
        ("network.round-trip", "100..200..500 us"),
        (
            "desk.sound.disk",
            "nvme-gen3 40 %, nvme-gen4 35 %, ssd-sata 20 %, hdd 5 %",
        ),
        ("nas.store.signed", "signed 40 %, unsigned 60 %"),
        ("run.5.length", "8..18..45 m"),
    ] {
        let found = before
            .assumptions
            .iter()
            .find(|a| a.id == id)
            .unwrap_or_else(|| panic!("{id}"));
        assert_eq!(found.value, value);
        assert!(
            found.because.contains("judgement"),
            "{id}: {}",
            found.because
        );
        assert!(!found.find_out.is_empty());
    }
    let mut written = 0;
    for assumption in &before.assumptions {
        // a part of a field's text is not a field
        if assumption.id.contains('/') {
            continue;
        }
        let edit = format!("{}=\"{}\"", assumption.id, assumption.value);
        let after = changed(&[&edit]).unwrap_or_else(|f| panic!("{edit}: {f}"));
        assert!(
            after.assumptions.iter().all(|a| a.id != assumption.id),
            "{edit}"
        );
        written += 1;
    }
    assert!(written > 20, "{written}");
}

#[test]
fn a_file_that_gives_all_assumes_little() {
    let site = site(
        r#"
[network]
round-trip = "0.2 ms"
tagged = true
mtu = 9000
[array.vault]
nas = "store"
layout = "RAID 6"
drives = "6x 10TB hdd-7200"
fill = "50 %"
drive-rate = "210 MB/s +- 10 %"
attached = "usb 10 Gb/s"
local-read = "430 MB/s"
local-write = "380..400 MB/s"
[nas.store]
cpu = "small 60 %, medium 40 %, 2..4 cores"
memory = "8 GiB"
service = "smb 90 %, nfs 10 %"
signed = "plain"
encrypted = false
port.a = { rate = "10 Gb/s", rates = "1 Gb/s, 2.5 Gb/s, 10 Gb/s", mtu = 1500 }
[desk.cut-1]
disk = "1 TB nvme-gen3"
disk-fill = "0..50 %"
cpu = "large, 16 cores"
overlap = "yes"
client = "kernel"
port.a = { rate = "10 Gb/s", rates = "10 Gb/s", adapter = "usb 10 Gb/s" }
[[run]]
from = "desk.cut-1.a"
to = "nas.store"
cable = "cat6a 50 %, cat7 50 %"
length = "130 m"
bundle = "alone"
negotiated = "10 Gb/s"
"#,
    );
    assert_eq!(site.assumptions, []);
    assert_eq!(site.network.tagged.value.only(), Some(&true));
    assert_eq!(site.arrays[0].level, Level::Raid6);
    assert_eq!(site.nas[0].ports[0].mtu, 1500);
    assert_eq!(site.desks[0].ports[0].mtu, 9000);
    let attached = site.arrays[0].attached.as_ref().unwrap();
    assert_eq!(attached.id, "array.vault.attached/usb 10 Gb/s");
    let Some(Drive::Spinning { outer, .. }) = site.arrays[0].drives.drive.value.only() else {
        panic!();
    };
    assert_eq!(outer.id, "array.vault.drive-rate");
    approx::assert_relative_eq!(in_megabytes_per_second(outer.median()), 210.0);
    assert!(!site.desks[0].disk.is_assumed());
    let classes = site.nas[0].cpu.class.value.options();
    assert_eq!(classes.len(), 2);
}

#[test]
fn unknown_is_legal_wherever_the_catalogue_can_stand_in() {
    let site = site(
        r#"
[array.vault]
nas = "store"
layout = "raid5"
drives = "4 x unknown"
fill = "unknown"
drive-rate = "unknown"
[nas.store]
cpu = "unknown"
memory = "unknown"
service = "unknown"
signed = "unknown"
encrypted = "unknown"
port.a = { rate = "1 Gb/s", slot = "unknown" }
[desk.cut-1]
disk = "unknown"
cpu = "unknown, 4 cores"
overlap = "unknown"
port.a = { rate = "1 Gb/s" }
[[run]]
from = "desk.cut-1"
to = "nas.store"
cable = "unknown"
length = "unknown"
bundle = "unknown"
negotiated = "unknown"
"#,
    );
    let array = &site.arrays[0];
    assert!(array.drives.drive.is_assumed());
    assert!(array.drives.drive.value.options().len() > 2);
    assert_eq!(array.drives.interface.id, "array.vault.drives/interface");
    approx::assert_relative_eq!(site.desks[0].cpu.cores.median(), 4.0);
    for id in [
        "array.vault.drives",
        "array.vault.drives/capacity",
        "nas.store.cpu",
        "desk.cut-1.cpu",
        "run.1.cable",
    ] {
        assert!(site.assumptions.iter().any(|a| a.id == id), "{id}");
    }
}

#[test]
fn names_may_be_in_any_script() {
    for name in [
        "schnittplatz",
        "Schnittplätze",
        "मॉन्टाज",
        "編集-1",
        "стол_2",
        "قص",
    ] {
        let text = LANE.replace("[desk.cut-1]", &format!("[desk.\"{name}\"]"));
        let text = text.replace("\"desk.cut-1\"", &format!("\"desk.{name}\""));
        assert_eq!(site(&text).desks[0].name, name);
    }
}

const RADIO: &str = r#"
[array.vault]
nas = "store"
drives = "1 x 4 TB hdd"
[nas.store]
port.a = { rate = "1 Gb/s" }
[switch.air]
port.up = { rate = "1 Gb/s" }
port.air = { rate = "866 Mb/s" }
[desk.cut-1]
port.air = { rate = "866 Mb/s" }
[desk.cut-2]
port.air = { rate = "866 Mb/s" }
[[run]]
from = "nas.store"
to = "switch.air.up"
[[run]]
from = "desk.cut-1"
to = "switch.air.air"
wireless = "measured 240 Mb/s"
[[run]]
from = "desk.cut-2"
to = "switch.air.air"
wireless = "rated 866 Mb/s"
"#;

#[test]
fn radio_links_share_a_port_and_have_rates_of_their_own() {
    let site = site(RADIO);
    let goodput = |run: usize| match &site.runs[run].medium {
        Medium::Wireless {
            carries: crate::site::Radio::Payload(goodput),
        } => goodput.clone(),
        other => panic!("{other:?}"),
    };
    assert_eq!(goodput(1).origin, Origin::Stated);
    approx::assert_relative_eq!(in_megabytes_per_second(goodput(1).median()), 30.0);
    let share = catalogue().number("wireless.share").unwrap().likely;
    approx::assert_relative_eq!(
        in_megabytes_per_second(goodput(2).median()),
        866.0 / 8.0 * share,
        // the constant is read from decimal digits
        max_relative = 1e-12
    );
    assert!(goodput(2).is_assumed());
    let assumed = site
        .assumptions
        .iter()
        .find(|a| a.id == "run.3.wireless")
        .unwrap();
    assert!(assumed.value.starts_with("measured "), "{}", assumed.value);
    assert_eq!(site.arrays[0].level, Level::Single);
}

#[test]
fn cages_take_modules_and_twinax() {
    let cages = |cable: &str| {
        site(&format!(
            r#"
[array.reel]
nas = "press"
drives = "1 x 4 TB nvme-gen3"
[nas.press]
port.a = {{ rate = "10 Gb/s", socket = "cage" }}
[desk.colour]
port.a = {{ rate = "10 Gb/s", socket = "cage" }}
[[run]]
from = "desk.colour"
to = "nas.press"
{cable}
"#
        ))
    };
    let unstated = cages("");
    assert_eq!(
        unstated.runs[0].medium,
        Medium::Clear {
            word: "twinax".to_owned(),
            length: None,
            grade: None,
            cords: None,
        }
    );
    assert!(unstated.assumptions.iter().any(|a| a.id == "run.1.cable"));
    assert!(unstated.assumptions.iter().all(|a| a.id != "run.1.length"));
    let fibre =
        cages("cable = \"fibre\"\nlength = \"60..80 m\"\ngrade = \"om5\"\ncord-grade = \"om1\"");
    let Medium::Clear {
        word,
        length: Some(length),
        grade,
        cords,
    } = &fibre.runs[0].medium
    else {
        panic!("{:?}", fibre.runs[0].medium)
    };
    assert_eq!(
        (word.as_str(), length.id.as_str()),
        ("fibre", "run.1.length")
    );
    // as OM4 for optics of one wavelength
    assert_eq!(
        (*grade, *cords),
        (Some(FibreGrade::Om4), Some(FibreGrade::Om1))
    );
    let copper = cages("cable = \"cat6a\"");
    for id in ["run.1.from/module", "run.1.to/module"] {
        assert!(copper.assumptions.iter().any(|a| a.id == id), "{id}");
    }
    // no copper port is sold as 100 Gb/s, so nobody has to say that it is a cage
    let text = LANE.replace("slot = \"pcie 3 x4\"", "count = 2");
    let text = text.replace(
        "[switch.attic]\n",
        "[switch.attic]\nport.up = { rate = \"100 Gb/s\" }\n",
    );
    let end = End {
        machine: Machine::Switch,
        name: "attic".to_owned(),
        port: "up".to_owned(),
    };
    assert_eq!(site(&text).port(&end).map(|p| p.socket), Some(Socket::Cage));
}

#[test]
fn a_mark_and_any_line_end_are_accepted() {
    let text = format!("\u{feff}{}", LANE.replace('\n', "\r\n"));
    let expected = site(LANE);
    assert_eq!(read_bytes(text.as_bytes(), &[], &catalogue()), Ok(expected));
}

#[test]
fn what_is_no_text_is_said_to_be_none() {
    let catalogue = catalogue();
    let bytes = |bytes: &[u8]| {
        let faults = read_bytes(bytes, &[], &catalogue).unwrap_err();
        assert_eq!(faults.count(), 1);
        faults.iter().next().unwrap().clone()
    };
    let picture = bytes(b"name = \"x\"\n\x89PNG\r\n\x1a\n\0\0");
    assert_eq!(picture.title, "this is not a text file");
    assert!(picture.found.contains("byte 11"), "{}", picture.found);
    assert_eq!(picture.span, 11..11);
    let zero = bytes(b"name = \"x\"\n\0");
    assert!(zero.found.contains("byte 11"), "{}", zero.found);
    assert_eq!(zero.span, 11..12);
    let film = vec![b'a'; (1 << 20) + 1];
    assert_eq!(bytes(&film).title, "this is not a site file");
    let text = String::from_utf8(film).unwrap();
    let faults = read(&text, &[], &catalogue).unwrap_err();
    assert_eq!(
        faults.iter().next().unwrap().title,
        "this is not a site file"
    );
}

/// Large files of nothing but faults stay quick and end.
#[test]
fn a_file_full_of_faults_is_read_to_its_end() {
    let catalogue = catalogue();
    let key = "k".repeat(100_000);
    for text in [
        format!("{key} = 1\n[[run]]\n{key} = 1\nlength = \"{key}\"\n"),
        "[nas.store]\n".repeat(2000),
        "[".repeat(20_000),
        format!("a = {}", "{ a = ".repeat(5000)),
        "[desk.a]\nport.a = { rate = \"1\" }\n".repeat(500),
        "a.".repeat(20_000) + "b = 1",
        "[[run]]\nfrom = \"desk.a\"\n".repeat(3000),
    ] {
        let faults = read(&text, &[], &catalogue).unwrap_err();
        assert!(
            faults.iter().all(|f| f.title.len() < 400),
            "{}",
            line_of(&text, 0)
        );
    }
}

#[test]
fn an_empty_catalogue_is_a_fault_and_no_panic() {
    let faults = read(LANE, &[], &Catalogue::default()).unwrap_err();
    assert!(
        faults
            .iter()
            .any(|f| f.title == "the catalogue is not complete")
    );
}

#[test]
fn faults_quote_nothing_that_a_terminal_obeys() {
    let text = LANE.replace("\"cat6a\"", "\"cat\\u001b[31m\"");
    let faults = read(&text, &[], &catalogue()).unwrap_err();
    let shown = faults.to_string();
    assert!(shown.contains("cat"), "{shown}");
    assert!(!shown.contains('\u{1b}'));
}

#[test]
fn quantities_keep_their_base_units() {
    let site = site(&LANE.replace("8 GB", "8 GiB"));
    assert!((site.nas[0].memory.median().base() - 8.0 * 1024f64.powi(3)).abs() < 1.0);
}

#[test]
fn verify_where_a_value_stands() {
    let catalogue = super::catalogue();
    let found = |path: &str| {
        crate::site::line_of(super::LANE.as_bytes(), path, &catalogue)
            .map(|line| (line.number, line.whole))
    };
    let number = |text: &str| {
        super::LANE
            .lines()
            .position(|l| l.starts_with(text))
            .unwrap()
            + 1
    };
    let nas = number("[nas.store]");
    assert_eq!(found("nas.store.signed"), Some((nas + 4, true)));
    assert_eq!(found("nas.store.encrypted"), Some((nas, false)));
    assert_eq!(
        found("desk.cut-1.port.a.mtu"),
        Some((number("[desk.cut-1]") + 2, false))
    );
    let runs: Vec<usize> = (1..)
        .zip(super::LANE.lines())
        .filter(|(_, line)| line.starts_with("[[run]]"))
        .map(|(number, _)| number)
        .collect();
    let (line, whole) = found("run.2.negotiated").unwrap();
    assert!(
        !whole && (runs[1]..runs[2]).contains(&line),
        "{line} {runs:?}"
    );
    let (line, whole) = found("run.2.length").unwrap();
    assert!(whole && (runs[1] + 1..runs[2]).contains(&line), "{line}");
    assert_eq!(found("network.tagged"), None);
    assert_eq!(found("run.99.length").map(|found| found.1), Some(false));
    assert_eq!(found(""), None);
}
