//! Words of the air.

use super::catalogue;
use crate::air::{Band, Generation, Reading, Width};
use crate::site::{Medium, Radio, Site, read};

/// A house of two storeys with a desk through the air.
pub(super) const AIRY: &str = r#"
name = "Granary Lane"
[array.vault]
nas = "store"
layout = "raid6"
drives = "6 x 10 TB hdd-7200"
[nas.store]
port.a = { rate = "10 Gb/s" }
[switch.attic]
port.slow = { rate = "1 Gb/s", count = 8 }
port.fast = { rate = "10 Gb/s" }
[access-point.landing]
room = "landing"
band = "5 GHz"
width = "80 MHz"
generation = "ax"
streams = 2
port.a = { rate = "1 Gb/s" }
[desk.laptop]
room = "kitchen"
wireless = "ax, 2 streams"
[desk.cut-1]
port.a = { rate = "1 Gb/s" }
[building]
walls = "brick"
floors = "timber-floor"
stairs = true
[room.kitchen]
floor = 0
wide = "4 m"
[room.landing]
floor = 1
wide = "4 m"
[room.loft]
floor = 1
[[wall]]
rooms = "landing, loft"
made = "concrete 25 cm"
[jack.by-the-stove]
room = "kitchen"
power = true
[[run]]
from = "nas.store"
to = "switch.attic.fast"
cable = "cat6a"
length = "3 m"
[[run]]
from = "access-point.landing"
to = "switch.attic.slow"
cable = "cat5e"
length = "12 m"
[[run]]
from = "desk.laptop"
to = "access-point.landing"
wireless = "unknown"
[[run]]
from = "desk.cut-1"
to = "switch.attic.slow"
cable = "cat5e"
length = "12 m"
"#;

fn airy(edits: &[(&str, &str)]) -> Result<Site, String> {
    let mut text = AIRY.to_owned();
    for (old, new) in edits {
        assert!(text.contains(old), "{old}");
        text = text.replacen(old, new, 1);
    }
    read(&text, &[], &catalogue()).map_err(|faults| faults.to_string())
}

fn link(site: &Site) -> &crate::air::Link {
    let Medium::Wireless {
        carries: Radio::Link(link),
    } = &site.runs[2].medium
    else {
        panic!("{:?}", site.runs[2].medium)
    };
    link
}

#[test]
fn a_radio_link_is_made_of_its_ends_and_of_what_stands_between() {
    let site = airy(&[]).unwrap();
    let found = link(&site);
    assert_eq!(found.ends, ["access-point.landing", "desk.laptop"]);
    assert_eq!(found.speaks.band, Some(Band::Five));
    assert_eq!(found.speaks.width, Some(Width::Eighty));
    assert_eq!(found.speaks.generation, Some(Generation::Ax));
    assert_eq!(found.speaks.streams, Some(2));
    let obstacles = found.between.obstacles.as_ref().unwrap();
    // the landing is straight above the kitchen
    assert_eq!(obstacles.len(), 1, "{obstacles:?}");
    assert_eq!(obstacles[0].kind, "timber-floor");
    assert_eq!(found.between.floors, 1);
    assert!(found.between.round.is_some());
    assert_eq!(site.runs[2].to.port, "air");
    assert_eq!(site.runs[1].from.port, "a");
    let walls = &site.house.walls[0].made;
    assert_eq!(walls[0].kind, "concrete-20");
    assert!(walls[0].count > 1.2 && walls[0].count < 1.3);
    assert!(site.house.jacks[0].power);
}

#[test]
fn an_older_desk_holds_its_link_to_what_it_speaks() {
    let site = airy(&[("\"ax, 2 streams\"", "\"ac, 1 stream, 40 MHz\"")]).unwrap();
    let speaks = link(&site).speaks;
    assert_eq!(speaks.generation, Some(Generation::Ac));
    assert_eq!(
        (speaks.streams, speaks.width),
        (Some(1), Some(Width::Forty))
    );
}

#[test]
fn what_was_read_off_is_taken_as_that() {
    for (written, expected) in [
        (
            "signal -64 dBm",
            Reading::Signal(crate::copper::DecibelMilliwatts(-64.0)),
        ),
        (
            "shown 866.7 Mb/s",
            Reading::Shown(crate::air::AirRate(866.7)),
        ),
        ("unknown", Reading::None),
    ] {
        let site = airy(&[("\"unknown\"", &format!("\"{written}\""))]).unwrap();
        match (link(&site).reading, expected) {
            (Reading::Shown(a), Reading::Shown(b)) => assert!((a.0 - b.0).abs() < 1e-9),
            (a, b) => assert_eq!(a, b),
        }
    }
    // a link says itself what stands between, and how far it is
    let told = "wireless = \"unknown\"\ndistance = \"9 m\"\nthrough = \"2 x stud, wall, concrete-10 floor\"";
    let site = airy(&[("wireless = \"unknown\"", told)]).unwrap();
    let between = &link(&site).between;
    let kinds: Vec<_> = between
        .obstacles
        .iter()
        .flatten()
        .map(|o| (o.kind.as_str(), o.count))
        .collect();
    assert_eq!(
        kinds,
        [("stud", 2.0), ("unknown-wall", 1.0), ("concrete-10", 1.0)]
    );
    assert_eq!(between.floors, 1);
}

/// Everything that can be written wrong has its fault.
#[test]
fn what_is_wrong_is_said_with_its_place() {
    for (old, new, says) in [
        ("\"unknown\"", "\"signal loud dBm\"", "is no signal"),
        ("\"unknown\"", "\"signal -300 dBm\"", "is no signal"),
        ("\"unknown\"", "\"shown quick\"", "is no rate on the air"),
        (
            "\"unknown\"",
            "\"about 3\"",
            "does not begin with measured or rated",
        ),
        ("\"5 GHz\"", "\"7 GHz\"", "is not one of the words"),
        (
            "width = \"80 MHz\"",
            "width = \"320 MHz\"",
            "knows no channel of 320 MHz",
        ),
        (
            "generation = \"ax\"",
            "generation = \"ac\"\nchannel = 999",
            "is not a whole number",
        ),
        (
            "\"ax, 2 streams\"",
            "\"ax, 9 streams\"",
            "is not what a radio speaks",
        ),
        (
            "\"ax, 2 streams\"",
            "\"ac, 2.4 GHz\"",
            "has no place at 2.4 GHz",
        ),
        (
            "\"brick\"",
            "\"cheese\"",
            "names nothing that stands in the way",
        ),
        (
            "room = \"kitchen\"\nwireless",
            "room = \"kichen\"\nwireless",
            "names no room of this site",
        ),
        ("\"landing, loft\"", "\"landing\"", "parts no two rooms"),
        (
            "\"landing, loft\"",
            "\"landing, attic\"",
            "names no room of this site",
        ),
        (
            "[jack.by-the-stove]\nroom = \"kitchen\"",
            "[jack.by-the-stove]\nroom = \"bath\"",
            "names no room of this site",
        ),
        (
            "[jack.by-the-stove]\nroom = \"kitchen\"",
            "[jack.by-the-stove]",
            "has no 'room'",
        ),
        ("made = \"concrete 25 cm\"", "", "has no 'made'"),
        ("rooms = \"landing, loft\"", "", "has no 'rooms'"),
        (
            "[access-point.landing]",
            "[access-point.attic]",
            "has the name of a switch",
        ),
        (
            "cable = \"cat5e\"\nlength = \"12 m\"",
            "cable = \"cat5e\"\nthrough = \"brick\"",
            "describes a way through the air",
        ),
        (
            "wireless = \"unknown\"",
            "wireless = \"measured 300 Mb/s\"\ndistance = \"3 m\"",
            "describes a way through the air",
        ),
        (
            "[building]",
            "[building]\ncolour = \"red\"",
            "'colour' is not",
        ),
    ] {
        let fault = airy(&[(old, new)]).unwrap_err();
        assert!(fault.contains(says), "{new}: {fault}");
    }
}

#[test]
fn what_is_wrong_of_a_link_and_of_power_is_said_with_its_place() {
    for (old, new, says) in [
        (
            "wireless = \"unknown\"",
            "wireless = \"unknown\"\nweaker = \"12\"",
            "is no loss",
        ),
        (
            "wireless = \"unknown\"",
            "wireless = \"unknown\"\nweaker = \"80 dB\"",
            "is no loss",
        ),
        (
            "wireless = \"unknown\"",
            "wireless = \"shown 866.7 Mb/s\"\nweaker = \"12 dB\"",
            "is in the rate that is shown",
        ),
        (
            "wireless = \"unknown\"",
            "wireless = \"unknown\"\nband = \"7 GHz\"",
            "is not one of the words",
        ),
        (
            "wireless = \"unknown\"",
            "wireless = \"measured 300 Mb/s\"\nrelayed = true",
            "describes a way through the air",
        ),
        (
            "power = true",
            "power = true\nswitch = \"atic\"",
            "names no switch of this site",
        ),
        (
            "[switch.attic]",
            "[switch.attic]\npower-budget = \"0 W\"",
            "is zero",
        ),
        (
            "[switch.attic]",
            "[switch.attic]\npower-class = 9",
            "is not a whole number",
        ),
    ] {
        let fault = airy(&[(old, new)]).unwrap_err();
        assert!(fault.contains(says), "{new}: {fault}");
    }
}

/// A laptop that sits in another band of its box has nothing else of what the box is set to, and an air of its own.
#[test]
fn a_link_that_was_seen_in_another_band_is_of_that_band() {
    let seen =
        "wireless = \"unknown\"\nband = \"2.4 GHz\"\nweaker = \"5..12 dB\"\nrelayed = \"yes\"";
    let site = airy(&[("wireless = \"unknown\"", seen)]).unwrap();
    let found = link(&site);
    assert_eq!(found.speaks.band, Some(Band::Two));
    assert_eq!(found.speaks.width, None);
    assert_eq!(found.speaks.generation, Some(Generation::Ax));
    assert!(found.relayed && found.weaker.is_some());
    let air = |site: &Site| site.air_of(&site.runs[2]).unwrap();
    assert_eq!(air(&site), "access-point.landing.air.2");
    assert_eq!(air(&airy(&[]).unwrap()), "access-point.landing.air");
    // a desk says its band too
    let site = airy(&[("\"ax, 2 streams\"", "\"ax, 2 streams, 2.4 GHz\"")]).unwrap();
    assert_eq!(link(&site).speaks.width, None);
}

#[test]
fn what_a_switch_and_a_jack_say_of_power_is_kept() {
    let site = airy(&[
        ("[switch.attic]", "[switch.attic]\npower-budget = \"60 W\""),
        ("power = true", "switch = \"attic\""),
        ("streams = 2\n", "streams = 2\ncrowd = \"10 %\"\n"),
    ])
    .unwrap();
    let powers = site.switches[0].powers.as_ref().unwrap();
    assert_eq!(powers.class, 4);
    assert_eq!(site.house.jacks[0].switch.as_deref(), Some("attic"));
    assert!(!site.house.jacks[0].power);
    assert!(link(&site).crowd.is_some());
}
