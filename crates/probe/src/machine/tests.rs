//! Made-up trees of files.
#![cfg(unix)]

use super::*;
use crate::says::{Joined, Kind, State};
use narrows_units::quantity::LinkRate;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

static NEXT: AtomicU32 = AtomicU32::new(0);

/// A folder that goes away with the test.
struct Tree(PathBuf);

impl Tree {
    fn new() -> Self {
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let at = std::env::temp_dir().join(format!("narrows-tree-{}-{number}", std::process::id()));
        std::fs::create_dir_all(&at).unwrap();
        Self(at)
    }
    fn with(self, files: &[(&str, &str)]) -> Self {
        for (path, text) in files {
            let at = self.0.join(path);
            std::fs::create_dir_all(at.parent().unwrap()).unwrap();
            std::fs::write(at, text).unwrap();
        }
        self
    }
    fn linked(self, path: &str, to: &str) -> Self {
        let at = self.0.join(path);
        std::fs::create_dir_all(at.parent().unwrap()).unwrap();
        std::os::unix::fs::symlink(to, at).unwrap();
        self
    }
    fn root(&self) -> Root {
        Root::at(&self.0)
    }
    fn links(&self) -> Vec<Link> {
        links(&self.root())
    }
}

impl Drop for Tree {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn interface(name: &str, files: &[(&str, &str)]) -> Tree {
    let files: Vec<(String, &str)> = files
        .iter()
        .map(|(file, text)| (format!("sys/class/net/{name}/{file}"), *text))
        .collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(a, b)| (a.as_str(), *b)).collect();
    Tree::new().with(&files)
}

fn only(tree: &Tree) -> Link {
    let mut found = tree.links();
    assert_eq!(found.len(), 1, "{found:?}");
    found.remove(0)
}

const WIRE: [(&str, &str); 2] = [("type", "1\n"), ("device/vendor", "0x0000\n")];

#[test]
fn validate_a_link_that_is_up() {
    let tree = interface(
        "enp3s0",
        &[
            &WIRE[..],
            &[
                ("operstate", "up\n"),
                ("speed", "10000\n"),
                ("duplex", "full\n"),
                ("carrier", "1\n"),
                ("mtu", "9000\n"),
                ("carrier_changes", "2\n"),
                ("statistics/rx_crc_errors", "7\n"),
                ("statistics/rx_bytes", "10\n"),
                ("statistics/tx_bytes", "20\n"),
            ],
        ]
        .concat(),
    );
    let link = only(&tree);
    assert_eq!(link.rate, Ok(LinkRate::from_megabits(10_000)));
    assert_eq!(
        (link.duplex.clone(), link.largest_packet.clone()),
        (Ok(Duplex::Full), Ok(9000))
    );
    assert!(link.is_up() && link.is_port());
    assert_eq!(
        (link.errors.checks, link.bytes, link.changes),
        (7, Some((10, 20)), Ok(2))
    );
}

use crate::says::Duplex;

#[test]
fn validate_a_rate_that_is_not_there() {
    let files = [
        &WIRE[..],
        &[
            ("operstate", "up"),
            ("speed", "-1\n"),
            ("duplex", "unknown"),
            ("carrier", "1"),
        ],
    ]
    .concat();
    let link = only(&interface("eth0", &files));
    assert!(link.is_up() && link.rate.is_err() && link.duplex.is_err());
    // the piece says so and invents nothing
    let machine = Machine {
        links: vec![link],
        ..nothing()
    };
    let piece = piece(&machine, &Role::Desk("cut-1".into()));
    assert!(piece.contains("# port.eth0: rate not there"), "{piece}");
    assert!(!piece.contains("rate = "), "{piece}");
}

#[test]
fn validate_a_link_that_is_set_down() {
    // a file that refuses to be read: here a folder in its place
    let files = [
        &WIRE[..],
        &[
            ("operstate", "down\n"),
            ("speed/x", ""),
            ("carrier/x", ""),
            ("duplex", "full\n"),
        ],
    ]
    .concat();
    let link = only(&interface("eth1", &files));
    assert_eq!(link.state, State::Down);
    assert!(link.rate.is_err_and(|why| why.0 == "it is set down"));
    assert!(link.duplex.is_err());
}

#[test]
fn validate_joined_links_and_tags_in_a_tree() {
    let bond = |mode: &'static str, second: &'static str| {
        Tree::new().with(&[
            ("sys/class/net/bond0/operstate", "up"),
            ("sys/class/net/bond0/carrier", "1"),
            ("sys/class/net/bond0/speed", "20000"),
            (
                "sys/class/net/bond0/uevent",
                "DEVTYPE=bond\nINTERFACE=bond0\nIFINDEX=7\n",
            ),
            ("sys/class/net/bond0/bonding/mode", mode),
            ("sys/class/net/bond0/bonding/slaves", "enp3s0 enp4s0\n"),
            ("sys/class/net/enp3s0/speed", "10000"),
            ("sys/class/net/enp4s0/speed", second),
        ])
    };
    let both = only(&bond("802.3ad 4", "10000"));
    assert_eq!(
        (both.rate.clone(), both.members()),
        (Ok(LinkRate::from_megabits(10_000)), 2)
    );
    let machine = Machine {
        links: vec![both],
        ..nothing()
    };
    let text = piece(&machine, &Role::Nas("store".into()));
    assert!(
        text.contains("port.bond0 = { rate = \"10 Gb/s\", members = 2 }"),
        "{text}"
    );
    assert_eq!(only(&bond("active-backup 1", "10000")).members(), 1);
    let mixed = only(&bond("802.3ad 4", "1000"));
    assert!(matches!(mixed.joined, Some(Ok(Joined::Unequal(_)))));
    assert!(mixed.rate.is_err());
    let tag = only(&Tree::new().with(&[
        ("sys/class/net/lan.30/operstate", "up"),
        (
            "sys/class/net/lan.30/uevent",
            "DEVTYPE=vlan\nINTERFACE=lan.30\n",
        ),
        (
            "proc/net/vlan/config",
            "VLAN Dev name\t | VLAN ID\nlan.30         | 30  | lan\n",
        ),
        ("sys/class/net/lan/speed", "2500"),
    ]));
    assert_eq!(
        (tag.kind, tag.rate.clone()),
        (Kind::Tag, Ok(LinkRate::from_megabits(2500)))
    );
    assert_eq!(tag.tag.unwrap().parent, "lan");
}

#[test]
fn validate_a_pair_inside_the_machine() {
    let link = only(&interface(
        "veth0",
        &[
            ("operstate", "up"),
            ("speed", "10000"),
            ("uevent", "INTERFACE=veth0\n"),
            ("type", "1"),
        ],
    ));
    assert_eq!(link.kind, Kind::Virtual);
    assert!(link.rate.is_err());
}

fn card(bridge: &str, current: &str) -> Tree {
    let top = "sys/devices/pci0000:00/0000:00:01.0";
    let at = format!("{top}/0000:01:00.0");
    let files = [
        (format!("{top}/current_link_speed"), bridge),
        (format!("{top}/current_link_width"), "4"),
        (format!("{at}/current_link_speed"), current),
        (format!("{at}/current_link_width"), "4"),
        (format!("{at}/max_link_speed"), "8.0 GT/s PCIe"),
        (format!("{at}/max_link_width"), "8"),
        (format!("{at}/net/enp1s0/operstate"), "up"),
        (format!("{at}/net/enp1s0/carrier"), "1"),
        (format!("{at}/net/enp1s0/speed"), "10000"),
    ];
    let files: Vec<(&str, &str)> = files.iter().map(|(a, b)| (a.as_str(), *b)).collect();
    Tree::new()
        .with(&files)
        .linked(&format!("{at}/net/enp1s0/device"), "../../")
        .linked(
            "sys/class/net/enp1s0",
            "../../devices/pci0000:00/0000:00:01.0/0000:01:00.0/net/enp1s0",
        )
}

#[test]
fn validate_slots_in_a_tree() {
    let link = only(&card("8.0 GT/s PCIe", "8.0 GT/s PCIe"));
    assert_eq!(link.slot.unwrap().to_string(), "pcie 3 x4");
    assert_eq!(link.slot_most.unwrap().lanes, 8);
    // a slow bridge above the card counts
    let link = only(&card("2.5 GT/s PCIe", "8.0 GT/s PCIe"));
    assert_eq!(link.slot.unwrap().to_string(), "pcie 1 x4");
    let link = only(&card("Unknown", "Unknown"));
    assert!(link.slot.is_err());
}

#[test]
fn verify_an_adapter_on_usb() {
    let at = "sys/devices/pci0000:00/0000:00:14.0/usb2/2-1";
    let files = [
        (format!("{at}/speed"), "5000\n"),
        (format!("{at}/2-1:1.0/net/enx0/operstate"), "up"),
        (format!("{at}/2-1:1.0/net/enx0/carrier"), "1"),
        (format!("{at}/2-1:1.0/net/enx0/speed"), "2500"),
        (
            "sys/devices/pci0000:00/0000:00:14.0/usb2/speed".to_owned(),
            "10000\n",
        ),
    ];
    let files: Vec<(&str, &str)> = files.iter().map(|(a, b)| (a.as_str(), *b)).collect();
    let tree = Tree::new()
        .with(&files)
        .linked(&format!("{at}/2-1:1.0/net/enx0/device"), "../../")
        .linked(
            "sys/class/net/enx0",
            &format!("../../../{at}/2-1:1.0/net/enx0"),
        );
    let link = only(&tree);
    assert_eq!(link.usb, Some(Ok(5000)));
    let machine = Machine {
        links: vec![link],
        ..nothing()
    };
    let text = piece(&machine, &Role::Desk("cut-1".into()));
    assert!(text.contains("adapter = \"usb 5 Gb/s\""), "{text}");
}

#[test]
fn verify_a_radio_and_a_bridge_are_no_ports() {
    let tree = Tree::new().with(&[
        ("sys/class/net/wlan0/operstate", "up"),
        ("sys/class/net/wlan0/carrier", "1"),
        ("sys/class/net/wlan0/uevent", "DEVTYPE=wlan\n"),
        ("sys/class/net/br0/operstate", "up"),
        ("sys/class/net/br0/bridge/x", ""),
        ("sys/class/net/bonding_masters", "bond0\n"),
        (
            "proc/net/wireless",
            "a\nb\n wlan0: 0000   58.  -52.  -256  0 0 0 3 41 0\n",
        ),
    ]);
    let found = tree.links();
    assert_eq!(found.len(), 2);
    assert!(found.iter().all(|link| !link.is_port()));
    assert_eq!(found[1].radio.as_ref().unwrap().signal, Ok(-52.0));
}

#[test]
fn verify_drives_below_mapped_ones() {
    let disk = "sys/devices/pci0000:00/ata1/block/sda";
    let files = [
        (format!("{disk}/size"), "15628053168"),
        (format!("{disk}/queue/rotational"), "1"),
        (format!("{disk}/sda1/partition"), "1"),
        ("sys/devices/virtual/block/dm-0/size".to_owned(), "100"),
        ("sys/devices/virtual/block/loop0/size".to_owned(), "100"),
    ];
    let files: Vec<(&str, &str)> = files.iter().map(|(a, b)| (a.as_str(), *b)).collect();
    let tree = Tree::new()
        .with(&files)
        .linked("sys/block/sda", "../devices/pci0000:00/ata1/block/sda")
        .linked("sys/block/dm-0", "../devices/virtual/block/dm-0")
        .linked("sys/block/loop0", "../devices/virtual/block/loop0")
        .linked("sys/dev/block/253:0", "../../devices/virtual/block/dm-0")
        .linked(
            "sys/devices/virtual/block/dm-0/slaves/sda1",
            "../../../../pci0000:00/ata1/block/sda/sda1",
        );
    let found = drives(&tree.root());
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].turning, Ok(crate::says::Turning::Likely));
    assert_eq!(below(&tree.root(), "253:0"), ["sda"]);
    assert!(below(&tree.root(), "9:9").is_empty());
    assert!(below(&tree.root(), "../../..").is_empty());
}

#[test]
fn verify_an_empty_tree_says_nothing() {
    let tree = Tree::new();
    let found = machine(&tree.root());
    assert!(found.links.is_empty() && found.mounts.is_empty() && found.arrays.is_empty());
    assert!(found.memory.is_err() && found.processor.is_err());
    let missing = machine(&Root::at(Path::new("/no/such/root")));
    assert_eq!(missing.links, []);
    assert!(tcp_now(&tree.root()).is_err());
    let text = piece(&found, &Role::Desk("cut 1".into()));
    assert!(text.starts_with("[desk.cut-1]\n"), "{text}");
}

#[test]
fn verify_links_that_lead_out_of_the_tree_say_nothing() {
    let tree = interface(
        "eth0",
        &[("operstate", "up"), ("carrier", "1"), ("speed", "1000")],
    )
    .linked("sys/class/net/eth0/device", "/");
    let link = only(&tree);
    assert!(link.slot.is_err() && link.usb.is_none());
}

#[test]
fn verify_files_that_are_none_are_not_read() {
    let tree = Tree::new().with(&[("proc/meminfo/x", "")]);
    assert!(tree.root().text("proc/meminfo").is_err());
    let long = "MemTotal: 1024 kB\n".repeat(200_000);
    let tree = Tree::new().with(&[("proc/meminfo", &long)]);
    assert!(tree.root().text("proc/meminfo").unwrap().len() <= 1 << 20);
}

#[test]
fn verify_other_systems_are_marked_as_untried() {
    let ask = |program: &str, _: &[&str]| {
        match program {
        "/sbin/ifconfig" => Ok("lo0: flags=8049<UP> mtu 16384\nen0: flags=8863<UP> mtu 9000\n\tmedia: autoselect (10Gbase-T <full-duplex>)\n\tstatus: active\n".to_owned()),
        "/sbin/mount" => Ok("//someone@store/vault on /Volumes/vault (smbfs, nodev)\n".to_owned()),
        "/usr/bin/smbutil" => Ok("SIGNING_ON   TRUE\nENCRYPTION_ON  FALSE\n".to_owned()),
        "/usr/sbin/sysctl" => Ok("hw.memsize: 17179869184\n".to_owned()),
        _ => Err(says::NotThere("no such tool".into())),
    }
    };
    let found = elsewhere("macos", &ask);
    assert_eq!(found.untried, Some("macos"));
    let [link] = &found.links[..] else {
        panic!("{found:?}")
    };
    assert_eq!(
        (
            link.name.as_str(),
            link.rate.clone(),
            link.largest_packet.clone()
        ),
        ("en0", Ok(LinkRate::from_megabits(10_000)), Ok(9000))
    );
    assert_eq!(
        (&found.mounts[0].signed, &found.mounts[0].encrypted),
        (&Ok(true), &Ok(false))
    );
    let ask = |_: &str, _: &[&str]| {
        Ok("Name : Ethernet\r\nLinkSpeed : 1 Gbps\r\nMtuSize : 1500\r\nFullDuplex : True\r\n\r\nName : Radio\r\nLinkSpeed : 0 bps\r\n".to_owned())
    };
    let found = elsewhere("windows", &ask);
    assert_eq!(found.links.len(), 1);
    let silent = |_: &str, _: &[&str]| Err(says::NotThere("nothing".into()));
    assert!(elsewhere("macos", &silent).memory.is_err());
    assert!(elsewhere("plan", &silent).links.is_empty());
}

fn nothing() -> Machine {
    machine(&Root::at(Path::new("/no/such/root")))
}

#[test]
fn verify_an_array_in_trouble_in_the_piece() {
    let text = "md1 : active raid5 sdg1[5] sdh1[6](S) sdd1[3] sdc1[2] sdb1[1](F) sda1[0]\n      11720779776 blocks super 1.2 level 5, 64k chunk, algorithm 2 [4/3] [U_UU]\n      [==>..]  recovery = 12.6% (492289792/3906926592) finish=341.2min speed=166784K/sec\nmd3 : inactive sdd1[0](S)\n";
    let machine = Machine {
        arrays: says::arrays(text),
        ..nothing()
    };
    let text = piece(&machine, &Role::Nas("store".into()));
    for line in [
        "layout = \"raid5\"",
        "failed = 1",
        "spares = 1",
        "rebuilding = \"yes\"",
        "# it does not run",
    ] {
        assert!(text.contains(line), "{line}: {text}");
    }
}

#[test]
fn verify_this_machine_can_be_looked_at() {
    // whatever it says, it says it without rights and without panic
    let found = machine(&Root::own());
    if cfg!(target_os = "linux") {
        assert!(found.memory.is_ok() && found.processor.is_ok());
        assert!(!ticks_now(&Root::own()).is_empty());
    }
    let here = space(&std::env::temp_dir()).unwrap();
    assert!(here.total > here.free && (0.0..=1.0).contains(&here.fill));
}
