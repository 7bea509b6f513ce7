//! Texts of other systems' own tools. Written from their manuals and not tried on such machines; what they do not
//! say as expected is not there.

use super::{Mount, NotThere, Said, Service, Tcp, shown};
use narrows_units::quantity::LinkRate;

/// The media line of `ifconfig`: `media: autoselect (10Gbase-T <full-duplex>)`. Rate, and whether full duplex is said.
pub fn foreign_link(text: &str) -> Said<(LinkRate, bool)> {
    let line = text
        .lines()
        .find_map(|line| line.trim().strip_prefix("media:"))
        .ok_or_else(|| NotThere::because("no media line"))?;
    let inside = line
        .split_once('(')
        .map_or(line.trim(), |(_, inside)| inside);
    let word = inside
        .split([' ', '<', ')'])
        .next()
        .unwrap_or_default()
        .to_ascii_lowercase();
    let digits: String = word
        .chars()
        .take_while(|c| c.is_ascii_digit() || *c == '.')
        .collect();
    let unit = word.get(digits.len()..).unwrap_or_default();
    let number: f64 = digits
        .parse()
        .map_err(|_| NotThere::because(format!("'{}' holds no rate", shown(line))))?;
    let megabits = if unit.starts_with("gbase") {
        number * 1000.0
    } else if unit.starts_with("base") {
        number
    } else {
        return Err(NotThere::because(format!(
            "'{}' holds no rate",
            shown(line)
        )));
    };
    if !(1.0..=800_000.0).contains(&megabits) {
        return Err(NotThere::because(format!(
            "'{}' holds no rate",
            shown(line)
        )));
    }
    Ok((
        LinkRate::from_megabits(megabits.round() as u64),
        inside.contains("full-duplex"),
    ))
}

/// A list of `name : value` lines of an adapter: `LinkSpeed : 2.5 Gbps`, `MtuSize : 1500`, `FullDuplex : True`.
pub fn foreign_adapter(text: &str) -> Said<(LinkRate, Option<u32>, Option<bool>)> {
    let of = |name: &str| {
        text.lines().find_map(|line| {
            let (known, value) = line.split_once(':')?;
            known
                .trim()
                .eq_ignore_ascii_case(name)
                .then(|| value.trim())
        })
    };
    let speed = of("LinkSpeed").ok_or_else(|| NotThere::because("no LinkSpeed"))?;
    let mut words = speed.split_whitespace();
    let number = words.next().and_then(|word| word.parse::<f64>().ok());
    let megabits = match (number, words.next()) {
        (Some(number), Some("Gbps")) => number * 1000.0,
        (Some(number), Some("Mbps")) => number,
        _ => 0.0,
    };
    if !(1.0..=800_000.0).contains(&megabits) {
        return Err(NotThere::because(format!("'{}' is no rate", shown(speed))));
    }
    Ok((
        LinkRate::from_megabits(megabits.round() as u64),
        of("MtuSize").and_then(|text| text.parse().ok()),
        of("FullDuplex").map(|text| text.eq_ignore_ascii_case("true")),
    ))
}

/// `hw.memsize: 17179869184`, in bytes.
pub fn foreign_memory(text: &str) -> Said<u64> {
    super::numbered(text, "hw.memsize")
        .filter(|bytes| *bytes > 0)
        .ok_or_else(|| NotThere::because("no hw.memsize"))
}

/// Lines of `mount`: `//someone@store/vault on /Volumes/vault (smbfs, nodev, nosuid)`.
pub fn foreign_mounts(text: &str) -> Vec<Mount> {
    let unsaid = || NotThere::because("this system's list of mounts does not say it");
    text.lines()
        .take(4096)
        .filter_map(|line| {
            let (source, rest) = line.split_once(" on ")?;
            let (point, options) = rest.rsplit_once(" (")?;
            let options = options.strip_suffix(')')?;
            let file_system = options.split(',').next()?.trim();
            let service = match file_system {
                "smbfs" => Service::Smb,
                "nfs" => Service::Nfs,
                "afpfs" => Service::Afp,
                "webdav" => Service::Webdav,
                _ => Service::Local,
            };
            let authority = source.rsplit_once('@').map_or(source, |(_, host)| host);
            Some(Mount {
                point: shown(point),
                file_system: shown(file_system),
                source: shown(authority),
                device: String::new(),
                service,
                version: Err(unsaid()),
                signed: Err(unsaid()),
                encrypted: Err(unsaid()),
                read_size: Err(unsaid()),
                write_size: Err(unsaid()),
                connections: Err(unsaid()),
                waits: options.split(',').any(|word| word.trim() == "synchronous"),
                user_space: false,
                read_only: options.split(',').any(|word| word.trim() == "read-only"),
            })
        })
        .collect()
}

/// Lines of a share's state: `SIGNING_ON TRUE`, `ENCRYPTION_ON FALSE`, or `Signed : True`, `Encrypted : False`.
/// Signed and encrypted, each where it is said.
pub fn foreign_sharing(text: &str) -> (Said<bool>, Said<bool>) {
    let of = |names: [&str; 2]| {
        text.lines()
            .find_map(|line| {
                let mut words = line.split([' ', '\t', ':']).filter(|word| !word.is_empty());
                let name = words.next()?;
                let value = words.next()?;
                names
                    .iter()
                    .any(|known| known.eq_ignore_ascii_case(name))
                    .then(|| match value.to_ascii_lowercase().as_str() {
                        "true" | "yes" => Some(true),
                        "false" | "no" => Some(false),
                        _ => None,
                    })
            })
            .flatten()
            .ok_or_else(|| NotThere::because(format!("no {}", names[0])))
    };
    (
        of(["SIGNING_ON", "Signed"]),
        of(["ENCRYPTION_ON", "Encrypted"]),
    )
}

/// Lines of `netstat -s`: `905822 packets sent` and `120 data packets (81230 bytes) retransmitted`, or
/// `Segments Sent = 905822` and `Segments Retransmitted = 120`.
pub fn foreign_tcp(text: &str) -> Said<Tcp> {
    let leading = |line: &str| line.split_whitespace().next()?.parse::<u64>().ok();
    let behind = |line: &str| line.split_once('=')?.1.trim().parse::<u64>().ok();
    let mut found = Tcp::default();
    let (mut sent, mut resent) = (None, None);
    for line in text.lines() {
        let line = line.trim();
        if line.ends_with("packets sent") && sent.is_none() {
            sent = leading(line);
        } else if line.ends_with("retransmitted") && line.contains("data packets") {
            resent = resent.or_else(|| leading(line));
        } else if line.starts_with("Segments Sent") {
            sent = sent.or_else(|| behind(line));
        } else if line.starts_with("Segments Retransmitted") {
            resent = resent.or_else(|| behind(line));
        }
    }
    match (sent, resent) {
        (Some(sent), Some(resent)) => {
            found.sent = sent;
            found.resent = resent;
            Ok(found)
        }
        _ => Err(NotThere::because("no counters of TCP")),
    }
}
