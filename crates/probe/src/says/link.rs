//! A network interface: rate, duplex, kind, joined links, tags.

use super::{NotThere, Said, shown};
use narrows_units::quantity::LinkRate;

/// Whether both ends send at once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Duplex {
    /// Both at once.
    Full,
    /// One after the other.
    Half,
}

/// What an interface does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Ready.
    Up,
    /// No carrier, or set down.
    Down,
    /// What it stands on is down.
    LowerDown,
    /// Waiting for something outside.
    Dormant,
    /// In a test.
    Testing,
    /// Its hardware is not there.
    Absent,
    /// The driver does not say.
    Unsaid,
}

/// What an interface is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A wire, or a guest's picture of one.
    Wire,
    /// A radio.
    Radio,
    /// Several links joined.
    Joined,
    /// A tag on another interface.
    Tag,
    /// A switch inside the machine.
    Bridge,
    /// A mobile network.
    Mobile,
    /// The machine talking to itself.
    Loopback,
    /// No wire behind it: a tunnel, a pair inside the machine.
    Virtual,
}

/// The link rate out of the text of `speed`, which is in Mb/s.
///
/// -1, 65535 and 4294967295 stand for "the driver does not say". Range: 1 to 800000. Source: kernel document of
/// `sysfs-class-net`. Test: `validate_rates`.
pub fn rate(text: &str) -> Said<LinkRate> {
    let text = text.trim();
    match text {
        "-1" | "0" | "65535" | "4294967295" => {
            return Err(NotThere::because("the driver does not say a rate"));
        }
        _ => {}
    }
    match text.parse::<u64>() {
        Ok(megabits) if (1..=800_000).contains(&megabits) => Ok(LinkRate::from_megabits(megabits)),
        _ => Err(NotThere::because(format!(
            "'{}' is no link rate",
            shown(text)
        ))),
    }
}

/// Duplex. Test: `validate_rates`.
pub fn duplex(text: &str) -> Said<Duplex> {
    match text.trim() {
        "full" => Ok(Duplex::Full),
        "half" => Ok(Duplex::Half),
        "unknown" => Err(NotThere::because("the driver does not say a duplex mode")),
        other => Err(NotThere::because(format!(
            "'{}' is no duplex mode",
            shown(other)
        ))),
    }
}

/// Whether there is a signal from the other end. Test: `validate_rates`.
pub fn carrier(text: &str) -> Said<bool> {
    match text.trim() {
        "1" => Ok(true),
        "0" => Ok(false),
        other => Err(NotThere::because(format!(
            "'{}' is neither 0 nor 1",
            shown(other)
        ))),
    }
}

/// The largest IP packet in bytes: 68 to 65536. Test: `validate_rates`.
pub fn largest_packet(text: &str) -> Said<u32> {
    match text.trim().parse::<u32>() {
        Ok(mtu) if (68..=65_536).contains(&mtu) => Ok(mtu),
        _ => Err(NotThere::because(format!("'{}' is no MTU", shown(text)))),
    }
}

/// `operstate`. Source: RFC 2863. Test: `verify_states`.
pub fn state(text: &str) -> State {
    match text.trim() {
        "up" => State::Up,
        "down" => State::Down,
        "lowerlayerdown" => State::LowerDown,
        "dormant" => State::Dormant,
        "testing" => State::Testing,
        "notpresent" => State::Absent,
        _ => State::Unsaid,
    }
}

/// The value of a key of `uevent`. Test: `validate_kinds`.
pub fn uevent<'t>(text: &'t str, key: &str) -> Option<&'t str> {
    text.lines()
        .find_map(|line| line.strip_prefix(key)?.strip_prefix('='))
        .map(str::trim)
        .filter(|value| !value.is_empty())
}

/// What is looked at to tell the kind.
#[allow(clippy::struct_excessive_bools)] // each is a file that is there or not
#[derive(Clone, Copy, Debug, Default)]
pub struct KindTexts<'t> {
    /// Text of `type`: 1 Ethernet, 772 loopback.
    pub hardware: Option<&'t str>,
    /// Text of `uevent`.
    pub uevent: Option<&'t str>,
    /// Whether `phy80211` or `wireless` is there.
    pub radio: bool,
    /// Whether `bonding` is there.
    pub joined: bool,
    /// Whether `bridge` is there.
    pub bridge: bool,
    /// Whether `tun_flags` is there.
    pub tunnel: bool,
    /// Whether `device` is there.
    pub device: bool,
}

/// Tells the kind. An interface without a device has no wire, whatever rate it says. Test: `validate_kinds`.
pub fn kind(texts: KindTexts<'_>) -> Kind {
    let class = texts.uevent.and_then(|text| uevent(text, "DEVTYPE"));
    match class {
        Some("wlan") => return Kind::Radio,
        Some("bond") => return Kind::Joined,
        Some("vlan") => return Kind::Tag,
        Some("bridge") => return Kind::Bridge,
        Some("wwan") => return Kind::Mobile,
        _ => {}
    }
    if texts.hardware.map(str::trim) == Some("772") {
        Kind::Loopback
    } else if texts.radio {
        Kind::Radio
    } else if texts.joined {
        Kind::Joined
    } else if texts.bridge {
        Kind::Bridge
    } else if texts.tunnel || !texts.device {
        Kind::Virtual
    } else {
        Kind::Wire
    }
}

/// Joined links as the site describes them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Joined {
    /// So many equal links share the packets.
    Equal {
        /// Rate of one of them.
        member: LinkRate,
        /// How many.
        members: usize,
    },
    /// They differ, so that the site has no word for them.
    Unequal(Vec<LinkRate>),
}

/// Joined links out of `bonding/mode` and the rates of the members that have one.
///
/// Only one link works in the modes active-backup and broadcast. Test: `validate_joined_links`.
pub fn joined(mode: &str, rates: &[LinkRate]) -> Said<Joined> {
    let word = mode.split_whitespace().next().unwrap_or_default();
    let one_works = match word {
        "active-backup" | "broadcast" => true,
        "balance-rr" | "balance-xor" | "802.3ad" | "balance-tlb" | "balance-alb" => false,
        other => {
            return Err(NotThere::because(format!(
                "the way of joining '{}' is not known",
                shown(other)
            )));
        }
    };
    let Some(first) = rates.first() else {
        return Err(NotThere::because("no joined link says its rate"));
    };
    if rates.iter().any(|rate| rate != first) {
        return Ok(Joined::Unequal(rates.to_vec()));
    }
    Ok(Joined::Equal {
        member: *first,
        members: if one_works { 1 } else { rates.len() },
    })
}

/// A tag on another interface.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tagged {
    /// Its own name.
    pub name: String,
    /// VLAN number.
    pub number: u16,
    /// The interface below.
    pub parent: String,
}

/// Rows of `/proc/net/vlan/config`. Test: `validate_tags`.
pub fn tagged(text: &str) -> Vec<Tagged> {
    text.lines()
        .filter_map(|line| {
            let mut cells = line.split('|').map(str::trim);
            let (name, number, parent) = (cells.next()?, cells.next()?, cells.next()?);
            let number: u16 = number.parse().ok()?;
            (!name.is_empty() && !parent.is_empty() && number <= 4095).then(|| Tagged {
                name: shown(name),
                number,
                parent: shown(parent),
            })
        })
        .take(1000)
        .collect()
}
