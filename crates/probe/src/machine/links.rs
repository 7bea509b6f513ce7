//! Network interfaces.

use super::root::Root;
use crate::says::{
    self, Duplex, Errors, Joined, Kind, KindTexts, NotThere, Radio, Said, Slot, State, Tagged,
};
use narrows_units::quantity::LinkRate;

/// A network interface as the system describes it.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// What it does.
    pub state: State,
    /// Whether there is a signal.
    pub carrier: Said<bool>,
    /// What both ends agreed on; of joined links that of one, of a tag that of the interface below.
    pub rate: Said<LinkRate>,
    /// Duplex.
    pub duplex: Said<Duplex>,
    /// Largest IP packet.
    pub largest_packet: Said<u32>,
    /// How often the signal came or went since the start: only a difference means anything.
    pub changes: Said<u64>,
    /// How it is joined, where it is.
    pub joined: Option<Said<Joined>>,
    /// Its tag, where it is one.
    pub tag: Option<Tagged>,
    /// The narrowest slot on the way to the processor.
    pub slot: Said<Slot>,
    /// What the card itself could take.
    pub slot_most: Said<Slot>,
    /// The bus of a USB adapter, Mb/s.
    pub usb: Option<Said<u64>>,
    /// Errors since the start.
    pub errors: Errors,
    /// Bytes received and sent since the start, with Ethernet headers.
    pub bytes: Option<(u64, u64)>,
    /// Signal of a radio.
    pub radio: Option<Radio>,
}

impl Link {
    /// Whether bytes can pass.
    pub fn is_up(&self) -> bool {
        self.carrier == Ok(true) && !matches!(self.state, State::Down | State::LowerDown)
    }

    /// Whether it can be a port of a site: a wire, or several of them.
    pub fn is_port(&self) -> bool {
        matches!(self.kind, Kind::Wire | Kind::Joined)
    }

    /// How many links are joined, one where none are.
    pub fn members(&self) -> usize {
        match &self.joined {
            Some(Ok(Joined::Equal { members, .. })) => *members,
            _ => 1,
        }
    }
}

/// All interfaces, by name.
pub fn links(root: &Root) -> Vec<Link> {
    let tags = root
        .text("proc/net/vlan/config")
        .map(|text| says::tagged(&text))
        .unwrap_or_default();
    let radios = root
        .text("proc/net/wireless")
        .map(|text| says::radios(&text))
        .unwrap_or_default();
    root.names("sys/class/net")
        .into_iter()
        .filter(|name| root.has(&format!("sys/class/net/{name}/operstate")))
        .map(|name| link(root, name, &tags, &radios))
        .collect()
}

fn link(root: &Root, name: String, tags: &[Tagged], radios: &[Radio]) -> Link {
    let at = format!("sys/class/net/{name}");
    let text = |file: &str| root.text(&format!("{at}/{file}"));
    let has = |file: &str| root.has(&format!("{at}/{file}"));
    let uevent = text("uevent").ok();
    let hardware = text("type").ok();
    let kind = says::kind(KindTexts {
        hardware: hardware.as_deref(),
        uevent: uevent.as_deref(),
        radio: has("phy80211") || has("wireless"),
        joined: has("bonding"),
        bridge: has("bridge"),
        tunnel: has("tun_flags"),
        device: has("device"),
    });
    let state = says::state(&text("operstate").unwrap_or_default());
    let carrier = text("carrier").and_then(|text| says::carrier(&text));
    let (joined, tag) = match kind {
        Kind::Joined => (Some(joined(root, &at)), None),
        Kind::Tag => (None, tags.iter().find(|tag| tag.name == name).cloned()),
        _ => (None, None),
    };
    let down = state == State::Down && carrier.is_err();
    let rate = match (kind, &joined, &tag) {
        _ if down => Err(NotThere("it is set down".to_owned())),
        (Kind::Joined, Some(Ok(Joined::Equal { member, .. })), _) => Ok(*member),
        (Kind::Joined, Some(Ok(Joined::Unequal(_))), _) => {
            Err(NotThere("its joined links differ".to_owned()))
        }
        (Kind::Joined, Some(Err(why)), _) => Err(why.clone()),
        (Kind::Tag, _, Some(tag)) => root
            .text(&format!("sys/class/net/{}/speed", tag.parent))
            .and_then(|text| says::rate(&text)),
        (Kind::Wire, ..) => text("speed").and_then(|text| says::rate(&text)),
        (Kind::Radio, ..) => Err(NotThere(
            "the rate of a radio changes by the second".to_owned(),
        )),
        _ => Err(NotThere("no wire stands behind it".to_owned())),
    };
    let nothing = || NotThere("it is set down".to_owned());
    let asked = |file: &str| if down { Err(nothing()) } else { text(file) };
    let (slot, slot_most, usb) = attachment(root, &at);
    let count = |file: &str| {
        text(&format!("statistics/{file}"))
            .ok()
            .and_then(|text| text.trim().parse::<u64>().ok())
    };
    Link {
        kind,
        state,
        rate,
        duplex: asked("duplex").and_then(|text| says::duplex(&text)),
        largest_packet: text("mtu").and_then(|text| says::largest_packet(&text)),
        changes: text("carrier_changes").and_then(|text| {
            text.trim()
                .parse()
                .map_err(|_| NotThere("no count of changes".to_owned()))
        }),
        carrier,
        joined,
        tag,
        slot,
        slot_most,
        usb,
        errors: Errors {
            checks: count("rx_crc_errors").unwrap_or(0),
            receive: count("rx_errors").unwrap_or(0),
            send: count("tx_errors").unwrap_or(0),
            dropped: count("rx_dropped").unwrap_or(0),
            missed: count("rx_missed_errors").unwrap_or(0),
            collisions: count("collisions").unwrap_or(0),
        },
        bytes: count("rx_bytes").zip(count("tx_bytes")),
        radio: radios.iter().find(|radio| radio.name == name).cloned(),
        name,
    }
}

fn joined(root: &Root, at: &str) -> Said<Joined> {
    let mode = root.text(&format!("{at}/bonding/mode"))?;
    let names = root.text(&format!("{at}/bonding/slaves"))?;
    let rates: Vec<LinkRate> = names
        .split_whitespace()
        .take(64)
        .filter(|name| !name.contains(['/', '.']))
        .filter_map(|name| {
            let text = root.text(&format!("sys/class/net/{name}/speed")).ok()?;
            says::rate(&text).ok()
        })
        .collect();
    says::joined(&mode, &rates)
}

/// Slot, what the card could take, and bus of an adapter.
fn attachment(root: &Root, at: &str) -> (Said<Slot>, Said<Slot>, Option<Said<u64>>) {
    let none = |why: &str| NotThere(why.to_owned());
    let Some(device) = root.real(&format!("{at}/device")) else {
        let why = none("no device stands behind it");
        return (Err(why.clone()), Err(why), None);
    };
    let upward = || {
        let mut folder = device.as_str();
        std::iter::from_fn(move || {
            let now = folder;
            folder = now.rsplit_once('/').map_or("", |(front, _)| front);
            (!now.is_empty()).then_some(now)
        })
        .take(32)
    };
    if device.split('/').any(|part| {
        part.strip_prefix("usb")
            .is_some_and(|number| number.parse::<u16>().is_ok())
    }) {
        let bus = upward()
            .find_map(|folder| root.text(&format!("{folder}/speed")).ok())
            .ok_or_else(|| none("its bus says no rate"))
            .and_then(|text| says::usb_bus(&text));
        let why = none("it hangs on USB");
        return (Err(why.clone()), Err(why), Some(bus));
    }
    let slot = |folder: &str, which: &str| {
        let speed = root.text(&format!("{folder}/{which}_link_speed"))?;
        let width = root.text(&format!("{folder}/{which}_link_width"))?;
        says::slot(&speed, &width)
    };
    let slots: Vec<Slot> = upward()
        .filter_map(|folder| slot(folder, "current").ok())
        .collect();
    let narrowest = says::narrowest(&slots).ok_or_else(|| none("no slot says its rate"));
    (narrowest, slot(&device, "max"), None)
}
