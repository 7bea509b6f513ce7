//! From text to a checked site: parse, edit, read every part, then check how the parts join.

use super::edits;
use super::fault::{Fault, FaultSource, Faults, Place};
use super::joints::{self, Names};
use super::model::Site;
use super::reader::{Part, Read, Reader, Reported};
use super::schema::Section;
use super::syntax;
use super::tree::{Table, Value};
use crate::catalogue::Catalogue;
use crate::change::Edit;

/// No description of a small studio is larger; a film that was taken for one is.
const LARGEST: usize = 1 << 20;

/// Reads a site from the bytes of its file.
///
/// A byte-order mark and line ends of either kind are accepted; spans count the bytes as given.
///
/// # Errors
/// As [`read`], and where the bytes are no text at all.
pub fn read_bytes(bytes: &[u8], edits: &[Edit], catalogue: &Catalogue) -> Result<Site, Faults> {
    if bytes.len() > LARGEST {
        return Err(too_large(bytes.len()).into());
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => read(text, edits, catalogue),
        Err(error) => {
            let at = error.valid_up_to();
            Err(Fault::new(
                Place::file(at..at),
                "this is not a text file",
                format!("byte {at} is not part of any letter (UTF-8)"),
                "save the file as UTF-8 text, or check that this is a site file",
            )
            .into())
        }
    }
}

/// Reads a site from its text, with edits made to it first.
///
/// # Errors
/// With everything that is wrong, by position: syntax, unknown keys, wrong types and units,
/// names that lead nowhere, and parts that do not fit each other.
pub fn read(text: &str, edits: &[Edit], catalogue: &Catalogue) -> Result<Site, Faults> {
    if text.len() > LARGEST {
        return Err(too_large(text.len()).into());
    }
    if let Some(at) = text.find('\0') {
        return Err(Fault::new(
            Place::file(at..at + 1),
            "this is not a text file",
            format!("byte {at} is zero, which no text has"),
            "remove it, or check that this is a site file",
        )
        .into());
    }
    let (mut root, mut faults) = syntax::parse(text);
    let whole = faults.is_empty();
    for (index, edit) in edits.iter().enumerate() {
        if let Err(fault) = edits::apply(&mut root, edit, index) {
            faults.push(*fault);
        }
    }
    if root.entries.is_empty() && faults.is_empty() {
        return Err(Fault::new(
            Place::top(),
            "the file describes nothing",
            "no part stands here",
            "begin with [array.NAME], [nas.NAME], [desk.NAME] and [[run]]",
        )
        .into());
    }
    let mut reader = Reader::new(catalogue, whole);
    let site = site(&mut reader, &root);
    let clean = reader.is_clean() && faults.is_empty();
    let (more, assumptions) = reader.finish();
    // a line that TOML refuses has one fault, whatever else its remains look like
    let refused: Vec<_> = faults
        .iter()
        .filter(|f| f.source == FaultSource::File)
        .map(|f| syntax::line(text, f.span.start))
        .collect();
    faults.extend(more.into_iter().filter(|f| {
        f.source != FaultSource::File || !refused.contains(&syntax::line(text, f.span.start))
    }));
    match site {
        Ok(site) if clean => Ok(Site {
            assumptions,
            ..site
        }),
        _ if faults.is_empty() => Err(Fault::new(
            Place::top(),
            "the file cannot be read",
            "a part of it is lost",
            "write it again from an example",
        )
        .into()),
        _ => Err(Faults::ordered(faults)),
    }
}

fn too_large(bytes: usize) -> Fault {
    Fault::new(
        Place::top(),
        "this is not a site file",
        format!("it is {bytes} bytes long"),
        format!("a site file has at most {LARGEST} bytes"),
    )
}

fn site(reader: &mut Reader<'_>, root: &Table) -> Read<Site> {
    let top = Part {
        section: Section::Site,
        path: String::new(),
        name: String::new(),
        place: Place::top(),
        table: root,
    };
    reader.known_keys(&top);
    let names = Names::of(root);
    let name = site_name(reader, &top);
    let network = network(reader, &top);
    let mtu = network.as_ref().map_or(0, |(_, mtu)| *mtu);

    let array_parts = reader.named(&top, Section::Array, "array");
    let nas_parts = reader.named(&top, Section::Nas, "nas");
    let switch_parts = reader.named(&top, Section::Switch, "switch");
    let desk_parts = reader.named(&top, Section::Desk, "desk");
    let run_parts = reader.run_parts(&top);

    let nas_names = names.nas();
    let mut fitted = Vec::new();
    let arrays: Vec<_> = array_parts
        .iter()
        .map(|part| reader.array(part, &nas_names))
        .collect();
    let nas: Vec<_> = nas_parts
        .iter()
        .map(|part| reader.nas(part, mtu, &mut fitted))
        .collect();
    let switches: Vec<_> = switch_parts
        .iter()
        .map(|part| reader.switch(part, mtu, &mut fitted))
        .collect();
    let desks: Vec<_> = desk_parts
        .iter()
        .map(|part| reader.desk(part, mtu, &mut fitted))
        .collect();
    let laid: Vec<_> = run_parts
        .iter()
        .map(|part| reader.run(part, &names.machines))
        .collect();

    joints::presence(reader, &names);
    joints::holders(reader, &array_parts, &nas_parts);
    joints::routes(reader, &names, &laid, &array_parts, &desk_parts);
    let runs = joints::join(reader, &run_parts, laid, &fitted);
    let (network, _) = network?;
    Ok(Site {
        name: name?,
        network,
        arrays: arrays.into_iter().collect::<Read<_>>()?,
        nas: nas.into_iter().collect::<Read<_>>()?,
        switches: switches.into_iter().collect::<Read<_>>()?,
        desks: desks.into_iter().collect::<Read<_>>()?,
        runs: runs?,
        assumptions: Vec::new(),
    })
}

fn site_name(reader: &mut Reader<'_>, top: &Part<'_>) -> Read<String> {
    let Some((text, node)) = reader.text(top, "name")? else {
        return Ok("this site".to_owned());
    };
    if text.chars().any(char::is_control) {
        return Err(reader.report(Fault::new(
            node.place.clone(),
            "the name of the site cannot be shown",
            "it has an invisible letter in it",
            "write letters, digits and spaces",
        )));
    }
    Ok(text.trim().to_owned())
}

fn network(reader: &mut Reader<'_>, top: &Part<'_>) -> Read<(super::model::Network, u32)> {
    let empty = Table::default();
    let (place, table) = match top.table.get("network") {
        None => (Place::top(), &empty),
        Some(entry) => match &entry.node.value {
            Value::Table(table) => (entry.place.clone(), table),
            Value::Lost => return Err(Reported),
            other => {
                return Err(reader.report(Fault::new(
                    entry.node.place.clone(),
                    "the network has no fields",
                    format!("this is {}", other.noun()),
                    "write [network]",
                )));
            }
        },
    };
    let part = Part {
        section: Section::Network,
        path: "network".to_owned(),
        name: String::new(),
        place,
        table,
    };
    reader.known_keys(&part);
    reader.network(&part)
}
