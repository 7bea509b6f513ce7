//! What an answer means.

use super::{Desk, Heard, Step, Switch, Told};
use crate::{Meaning, drives, is_unknown, level, link_rate, plain, word};
use narrows_units::catalogue::Catalogue;
use narrows_units::quantity::{Information, LinkRate, Ratio, exact, parse};
use narrows_units::spread::{Bounds, Spread};

/// More desks than these are no small studio.
const MOST_DESKS: usize = 64;

/// Takes an answer into what is told.
pub(super) fn take(catalogue: &Catalogue, told: &mut Told, step: Step, text: &str) -> Heard {
    let text = text.trim();
    let nothing = text.is_empty() || is_unknown(catalogue, text);
    match step {
        Step::Name => {
            let shown: String = text.chars().filter(|c| !c.is_control()).take(60).collect();
            told.name = if nothing {
                "our place".to_owned()
            } else {
                shown
            };
            Heard::Taken(told.name.clone())
        }
        Step::Desks => desks(catalogue, told, text),
        Step::Storage => storage(catalogue, told, text, nothing),
        Step::Layout => layout(catalogue, told, text, nothing),
        Step::StorageRate => match link_rate(text) {
            _ if nothing => Heard::Taken("its port is not known".to_owned()),
            Some(rate) => {
                told.rate = Some(rate);
                Heard::Taken(exact(rate))
            }
            None => again(text, "a rate such as 10 Gb/s or gigabit"),
        },
        Step::Service => service(catalogue, told, text, nothing),
        Step::Fill => fill(told, text, nothing),
        Step::Switches => switches(catalogue, told, text, nothing),
        Step::OnSwitch => on_switch(told, text, nothing),
        Step::Ports => ports(told, text, nothing),
        Step::Cable(at) => {
            let heard = crate::cable(catalogue, text);
            if !heard.stray.is_empty() {
                return again(
                    &heard.stray.join(" "),
                    "a kind and a length, such as cat 5e, 30 m",
                );
            }
            let said: Vec<String> = [heard.cable, heard.length, heard.bundle, heard.grade]
                .into_iter()
                .flatten()
                .collect();
            let shown = if said.is_empty() {
                "not known".to_owned()
            } else {
                said.join(", ")
            };
            if let Some(desk) = told.desks.get_mut(at) {
                desk.cable = (!said.is_empty()).then(|| said.join(", "));
            }
            Heard::Taken(shown)
        }
    }
}

fn again(said: &str, wanted: &str) -> Heard {
    Heard::Again(format!(
        "'{}' means nothing to me here; say {wanted}, or: don't know",
        said.trim()
    ))
}

/// A name that a site file takes.
pub(super) fn name_of(said: &str) -> String {
    let name: String = said
        .trim()
        .chars()
        .map(|c| {
            if c.is_whitespace() || c == '.' {
                '-'
            } else {
                c
            }
        })
        .filter(|c| c.is_alphanumeric() || *c == '-' || *c == '_')
        .take(40)
        .collect();
    name.trim_matches('-').to_owned()
}

fn desks(catalogue: &Catalogue, told: &mut Told, text: &str) -> Heard {
    let count = text
        .split_whitespace()
        .next()
        .and_then(|w| crate::drives::count_word(&w.to_lowercase()));
    let alone = text.split_whitespace().count() <= 2 && !text.contains(['\n', ',']);
    if let (Some(count), true) = (count, alone) {
        if count > MOST_DESKS {
            return again(text, "at most 64 desks");
        }
        told.desks = (1..=count)
            .map(|n| Desk {
                name: format!("desk-{n}"),
                ..Desk::default()
            })
            .collect();
        return Heard::Taken(format!("{count} desks, desk-1 and on"));
    }
    let mut found: Vec<Desk> = Vec::new();
    let mut left = Vec::new();
    for line in text.lines().map(str::trim).filter(|l| !l.is_empty()) {
        let mut pieces = line.split([',', ';', ':']);
        let name = name_of(pieces.next().unwrap_or_default());
        if name.is_empty() {
            return again(line, "a name for each desk");
        }
        if found.iter().any(|d| d.name == name) {
            return Heard::Again(format!(
                "'{name}' stands there twice; give each desk a name of its own"
            ));
        }
        let mut desk = Desk {
            name,
            ..Desk::default()
        };
        for piece in pieces
            .map(str::trim)
            .filter(|p| !p.is_empty() && !is_unknown(catalogue, p))
        {
            let heard = drives(catalogue, piece);
            if let Some(rate) = link_rate(piece) {
                desk.port = Some(rate);
            } else if let (true, Some(disk)) = (heard.stray.is_empty(), heard.long()) {
                desk.disk = Some(disk);
            } else {
                left.push(format!("{}: {piece}", desk.name));
            }
        }
        found.push(desk);
    }
    if found.is_empty() {
        return Heard::Again(
            "at least one desk is needed; any name will do, for example: cut-1".to_owned(),
        );
    }
    if found.len() > MOST_DESKS {
        return again("so many desks", "at most 64");
    }
    let known: Vec<&str> = found
        .iter()
        .filter(|d| d.disk.is_none())
        .map(|d| d.name.as_str())
        .collect();
    let desks = if found.len() == 1 {
        "1 desk".to_owned()
    } else {
        format!("{} desks", found.len())
    };
    let mut shown = match known[..] {
        [] => desks,
        _ => format!(
            "{desks}; disk not known of {}, that is fine",
            known.join(", ")
        ),
    };
    if !left.is_empty() {
        shown = format!("{shown}; left out: {}", left.join("; "));
    }
    told.desks = found;
    told.left.extend(left);
    Heard::Taken(shown)
}

fn storage(catalogue: &Catalogue, told: &mut Told, text: &str, nothing: bool) -> Heard {
    if nothing {
        return Heard::Taken("not known; I go on with what is usual".to_owned());
    }
    let spaced = text
        .replace(" in a ", ", ")
        .replace(" in an ", ", ")
        .replace(" with ", ", ");
    let (mut of_drives, mut of_cpu) = (Vec::new(), Vec::new());
    for piece in spaced
        .split([',', ';', '\n'])
        .map(str::trim)
        .filter(|p| !p.is_empty())
    {
        if is_unknown(catalogue, piece) || plain(piece).starts_with("dontknow") {
            continue;
        }
        if let Some(rate) = link_rate(piece) {
            told.rate = Some(rate);
        } else if let Some(found) = word(catalogue, "service", piece) {
            told.service = Some(found);
        } else if let Some(size) = memory(piece) {
            told.memory = Some(size);
        } else if crate::cpu(catalogue, piece).is_some() {
            of_cpu.push(piece);
        } else {
            of_drives.push(piece);
        }
    }
    if !of_cpu.is_empty() {
        told.cpu = crate::cpu(catalogue, &of_cpu.join(", "));
    }
    let heard = drives(catalogue, &of_drives.join(", "));
    if !heard.stray.is_empty() {
        return again(&heard.stray.join(" "), "how many drives of what size");
    }
    let layout = heard
        .level
        .clone()
        .unwrap_or_else(|| "layout not known yet".to_owned());
    let drives = heard
        .long()
        .unwrap_or_else(|| "drives not known".to_owned());
    let mut shown = vec![drives, layout];
    shown.extend(told.cpu.as_ref().map(|c| c.replace("unknown, ", "")));
    shown.extend(told.memory.as_ref().map(|m| format!("{m} memory")));
    shown.extend(told.rate.map(exact));
    told.drives = heard;
    Heard::Taken(shown.join(", "))
}

/// `8 GB memory`.
fn memory(piece: &str) -> Option<String> {
    let lower = piece.to_lowercase();
    let bare = ["memory", "ram"]
        .iter()
        .find_map(|w| lower.trim().strip_suffix(w))?;
    let bare = bare.trim().trim_end_matches("of").trim().to_uppercase();
    parse::<Information>(&bare).is_ok().then_some(bare)
}

fn layout(catalogue: &Catalogue, told: &mut Told, text: &str, nothing: bool) -> Heard {
    if nothing {
        return Heard::Taken("layout not known; I go on with a guess".to_owned());
    }
    let found = match level(catalogue, text) {
        Meaning::Same => Some(text.to_owned()),
        Meaning::Means(found) => Some(found),
        _ => drives(catalogue, text).level,
    };
    match found {
        Some(found) => {
            told.drives.level = Some(found.clone());
            Heard::Taken(found)
        }
        None => again(text, "raid 5, raid 6, raid 10, mirrored or raidz2"),
    }
}

fn service(catalogue: &Catalogue, told: &mut Told, text: &str, nothing: bool) -> Heard {
    if nothing {
        return Heard::Taken("not known".to_owned());
    }
    let mut shown = Vec::new();
    for piece in text
        .split([',', ';'])
        .map(str::trim)
        .filter(|p| !p.is_empty())
    {
        if is_unknown(catalogue, piece) {
            continue;
        }
        if let Some(found) = word(catalogue, "service", piece) {
            shown.push(found.clone());
            told.service = Some(found);
        } else if let Some(found) = word(catalogue, "signed", piece) {
            shown.push(if found == "plain" {
                "unsigned".to_owned()
            } else {
                found.clone()
            });
            told.signed = Some(found);
        } else {
            return again(piece, "smb or nfs, and signed or unsigned");
        }
    }
    Heard::Taken(if shown.is_empty() {
        "not known".to_owned()
    } else {
        shown.join(", ")
    })
}

fn fill(told: &mut Told, text: &str, nothing: bool) -> Heard {
    if nothing {
        return Heard::Taken("not known".to_owned());
    }
    let number = text
        .trim_end_matches(['%', ' '])
        .trim_end_matches("percent")
        .trim();
    let said = format!("{number} %");
    if Spread::<Ratio>::parse(&said, Bounds::FRACTION).is_err() {
        return again(text, "a percentage, such as 60 %");
    }
    told.fill = Some(said.clone());
    Heard::Taken(said)
}

fn switches(catalogue: &Catalogue, told: &mut Told, text: &str, nothing: bool) -> Heard {
    if nothing {
        told.switches = None;
        return Heard::Taken("not known; one switch with 1 Gb/s ports is taken".to_owned());
    }
    if matches!(
        plain(text).as_str(),
        "none" | "no" | "noswitch" | "direct" | "nothing"
    ) {
        told.switches = Some(Vec::new());
        return Heard::Taken("no switch: direct cables".to_owned());
    }
    let mut found: Vec<Switch> = Vec::new();
    for line in text.lines().map(str::trim).filter(|l| !l.is_empty()) {
        let (name, ports) = line.split_once(':').unwrap_or(("", line));
        let mut groups = Vec::new();
        for piece in ports.replace(" and ", ",").split([',', ';', '+']) {
            let piece = piece.trim();
            if piece.is_empty() || is_unknown(catalogue, piece) {
                continue;
            }
            match group(piece) {
                Some(group) => groups.push(group),
                None => return again(piece, "its ports, such as 8 x 1 Gb/s"),
            }
        }
        let name = match name_of(name) {
            name if name.is_empty() && found.is_empty() => "switch".to_owned(),
            name if name.is_empty() => format!("switch-{}", found.len() + 1),
            name => name,
        };
        if found.iter().any(|s| s.name == name) {
            return Heard::Again(format!(
                "'{name}' stands there twice; give each switch a name of its own"
            ));
        }
        groups.sort_by_key(|(_, rate)| std::cmp::Reverse(*rate));
        found.push(Switch { name, groups });
    }
    let shown: Vec<String> = found
        .iter()
        .map(|s| {
            let groups: Vec<String> = s
                .groups
                .iter()
                .map(|(n, r)| format!("{n} x {}", exact(*r)))
                .collect();
            let groups = if groups.is_empty() {
                "ports not known".to_owned()
            } else {
                groups.join(", ")
            };
            format!("{}: {groups}", s.name)
        })
        .collect();
    told.switches = Some(found);
    Heard::Taken(shown.join("; "))
}

/// `8 x 1 Gb/s`, `16 ports gigabit`, `8 port gigabit switch`.
fn group(piece: &str) -> Option<(u32, LinkRate)> {
    let lower = piece.to_lowercase().replace('×', "x");
    let lower = lower.replace("switch", " ");
    let digits = lower.bytes().take_while(u8::is_ascii_digit).count();
    let behind = lower.get(digits..)?.trim_start();
    let after = ["x ", "x", "ports of", "ports at", "ports", "-port", "port"]
        .iter()
        .find_map(|w| behind.strip_prefix(w));
    if digits > 0
        && let Some(rest) = after
    {
        let count: u32 = lower.get(..digits)?.parse().ok()?;
        let rest = rest.trim();
        let rate = if rest.is_empty() {
            LinkRate::from_megabits(1000)
        } else {
            link_rate(rest)?
        };
        return (1..=1024).contains(&count).then_some((count, rate));
    }
    if let Some((first, rest)) = lower.split_once(' ')
        && let Some(count) = crate::drives::count_word(first)
        && let Some(rate) = link_rate(rest)
    {
        return Some((u32::try_from(count).ok()?, rate));
    }
    link_rate(&lower).map(|rate| (8, rate))
}

fn on_switch(told: &mut Told, text: &str, nothing: bool) -> Heard {
    let switches: Vec<String> = told
        .switches
        .iter()
        .flatten()
        .map(|s| s.name.clone())
        .collect();
    if nothing {
        return Heard::Taken("not known; all are taken to hang on the first".to_owned());
    }
    let mut shown = Vec::new();
    for line in text.lines().map(str::trim).filter(|l| !l.is_empty()) {
        let Some((name, desks)) = line.split_once(':') else {
            return again(line, "the switch, a colon and its desks");
        };
        let Some(at) = switches.iter().position(|s| plain(s) == plain(name)) else {
            return again(name, &format!("one of {}", switches.join(", ")));
        };
        for piece in desks
            .split([',', ';'])
            .map(str::trim)
            .filter(|p| !p.is_empty())
        {
            let Some(desk) = told
                .desks
                .iter_mut()
                .find(|d| plain(&d.name) == plain(piece))
            else {
                return again(piece, "the name of a desk");
            };
            desk.switch = at;
            shown.push(format!("{} on {}", desk.name, name.trim()));
        }
    }
    Heard::Taken(shown.join(", "))
}

fn ports(told: &mut Told, text: &str, nothing: bool) -> Heard {
    if nothing {
        return Heard::Taken("not known; 1 Gb/s is taken".to_owned());
    }
    let mut shown = Vec::new();
    for line in text
        .lines()
        .flat_map(|l| l.split([',', ';']))
        .map(str::trim)
        .filter(|l| !l.is_empty())
    {
        let rest = [
            "all others",
            "the others",
            "others",
            "the rest",
            "rest",
            "all",
            "every desk",
        ]
        .iter()
        .find_map(|w| line.strip_prefix(w));
        let whole = rest.or_else(|| link_rate(line).map(|_| line));
        if let Some(rest) = whole {
            let Some(rate) = link_rate(rest.trim_start_matches([':', ' '])) else {
                return again(line, "a rate, such as all 1 Gb/s");
            };
            for desk in told.desks.iter_mut().filter(|d| d.port.is_none()) {
                desk.port = Some(rate);
            }
            shown.push(format!("the others {}", exact(rate)));
            continue;
        }
        let found = told
            .desks
            .iter()
            .enumerate()
            .filter_map(|(i, d)| {
                let rest = line.get(d.name.len()..)?;
                let same = line.get(..d.name.len())?.eq_ignore_ascii_case(&d.name);
                (same && rest.starts_with([':', ' ', '='])).then_some((d.name.len(), i, rest))
            })
            .max();
        let Some((_, at, rest)) = found else {
            return again(line, "a desk and its rate, such as cut-1: 10 Gb/s");
        };
        let Some(rate) = link_rate(rest.trim_start_matches([':', '=', ' '])) else {
            return again(rest, "a rate, such as 10 Gb/s");
        };
        if let Some(desk) = told.desks.get_mut(at) {
            desk.port = Some(rate);
            shown.push(format!("{} {}", desk.name, exact(rate)));
        }
    }
    Heard::Taken(shown.join(", "))
}
