//! From text to a checked site: parse, edit, read every part, then check how the parts join.

use super::edits;
use super::fault::{Fault, FaultSource, Faults, Place};
use super::joints;
use super::model::Site;
use super::names::{self, Names};
use super::reader::{Part, Read, Reader, Reported, short};
use super::schema::Section;
use super::syntax;
use super::tasks;
use super::tidy::{self, Understood};
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
    read_bytes_with_tasks(bytes, None, edits, catalogue)
}

/// As [`read_bytes`], with the tasks of a file of their own in place of those of the site.
///
/// # Errors
/// As [`read`], and where the file of tasks holds anything else.
pub fn read_bytes_with_tasks(
    bytes: &[u8],
    tasks: Option<&[u8]>,
    edits: &[Edit],
    catalogue: &Catalogue,
) -> Result<Site, Faults> {
    let text = as_text(bytes, &FaultSource::File)?;
    let tasks = tasks
        .map(|tasks| as_text(tasks, &FaultSource::Tasks))
        .transpose()?;
    read_texts(text, tasks, edits, catalogue)
}

/// Bytes that may be a description.
fn as_text<'b>(bytes: &'b [u8], source: &FaultSource) -> Result<&'b str, Faults> {
    let at = |at: usize| Place {
        source: source.clone(),
        span: at..at,
    };
    if bytes.len() > LARGEST {
        let fault = Fault::new(
            at(0),
            "this is not a site file",
            format!("it is {} bytes long", bytes.len()),
            format!("a site file has at most {LARGEST} bytes"),
        );
        return Err(fault.into());
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let byte = error.valid_up_to();
        Fault::new(
            at(byte),
            "this is not a text file",
            format!("byte {byte} is not part of any letter (UTF-8)"),
            "save the file as UTF-8 text, or check that this is a site file",
        )
    })?;
    if let Some(zero) = text.find('\0') {
        let place = Place {
            source: source.clone(),
            span: zero..zero + 1,
        };
        return Err(Fault::new(
            place,
            "this is not a text file",
            format!("byte {zero} is zero, which no text has"),
            "remove it, or check that this is a site file",
        )
        .into());
    }
    Ok(text)
}

/// Reads a site from its text, with edits made to it first.
///
/// # Errors
/// With everything that is wrong, by position: syntax, unknown keys, wrong types and units,
/// names that lead nowhere, and parts that do not fit each other.
pub fn read(text: &str, edits: &[Edit], catalogue: &Catalogue) -> Result<Site, Faults> {
    read_bytes(text.as_bytes(), edits, catalogue)
}

fn read_texts(
    text: &str,
    tasks: Option<&str>,
    edits: &[Edit],
    catalogue: &Catalogue,
) -> Result<Site, Faults> {
    let (mut root, mut faults) = syntax::parse(text, &FaultSource::File);
    let mut whole = faults.is_empty();
    if let Some(tasks) = tasks {
        let (table, more) = syntax::parse(tasks, &FaultSource::Tasks);
        whole &= more.is_empty();
        faults.extend(more);
        faults.extend(replace_tasks(&mut root, table));
    }
    let stood_in = prepared(&mut root, edits, catalogue, &mut faults).assumptions;
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
    for (place, assumption) in stood_in {
        reader.assume_at(&place, assumption);
    }
    let site = site(&mut reader, &root);
    let clean = reader.is_clean() && faults.is_empty();
    let (more, assumptions) = reader.finish();
    // a line that TOML refuses has one fault, whatever else its remains look like
    let line = |fault: &Fault| {
        let text = match fault.source {
            FaultSource::File => text,
            FaultSource::Tasks => tasks.unwrap_or_default(),
            _ => return None,
        };
        let line = syntax::line(text, fault.span.start);
        Some((fault.source.clone(), line))
    };
    let refused: Vec<_> = faults.iter().filter_map(line).collect();
    faults.extend(
        more.into_iter()
            .filter(|f| line(f).is_none_or(|l| !refused.contains(&l))),
    );
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

/// Brings a tree to its long form, makes the edits and brings those to theirs.
fn prepared(
    root: &mut Table,
    edits: &[Edit],
    catalogue: &Catalogue,
    faults: &mut Vec<Fault>,
) -> tidy::Tidied {
    let mut tidied = tidy::tidy(root, catalogue);
    for (index, edit) in edits.iter().enumerate() {
        if let Err(fault) = edits::apply(root, edit, index) {
            faults.push(*fault);
        }
    }
    if !edits.is_empty() {
        let more = tidy::tidy(root, catalogue);
        tidied.understood.extend(more.understood);
        tidied.assumptions.extend(more.assumptions);
    }
    tidied
}

/// A site file in its long form, and what was understood of what stood in another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tidy {
    /// The long form, with the comments of the file.
    pub text: String,
    /// What was written in a form of its own.
    pub understood: Vec<Understood>,
}

/// The long form of a site that can be read, with edits made to it first.
///
/// # Errors
/// As [`read`].
pub fn tidied(bytes: &[u8], edits: &[Edit], catalogue: &Catalogue) -> Result<Tidy, Faults> {
    read_bytes(bytes, edits, catalogue)?;
    let text = as_text(bytes, &FaultSource::File)?;
    let (mut root, mut faults) = syntax::parse(text, &FaultSource::File);
    let done = prepared(&mut root, edits, catalogue, &mut faults);
    Ok(Tidy {
        text: tidy::long_form(&root, text),
        understood: done.understood,
    })
}

/// What of a site file was written in a form of its own, and what it was taken for; nothing where it is no site file.
pub fn understood(bytes: &[u8], catalogue: &Catalogue) -> Vec<Understood> {
    let Ok(text) = as_text(bytes, &FaultSource::File) else {
        return Vec::new();
    };
    let (mut root, mut faults) = syntax::parse(text, &FaultSource::File);
    prepared(&mut root, &[], catalogue, &mut faults).understood
}

/// Puts the tasks of a file of their own where those of the site stood.
fn replace_tasks(root: &mut Table, tasks: Table) -> Vec<Fault> {
    let mut faults = Vec::new();
    root.entries.retain(|e| e.key != "task");
    let mut any = false;
    for entry in tasks.entries {
        if entry.key == "task" {
            any = true;
            root.entries.push(entry);
        } else {
            faults.push(Fault::new(
                entry.place,
                "a file of tasks holds tasks only",
                format!("'{}' stands here", short(&entry.key)),
                "write it into the site file, or write [[task]]",
            ));
        }
    }
    if !any && faults.is_empty() {
        let place = Place {
            source: FaultSource::Tasks,
            span: 0..0,
        };
        faults.push(Fault::new(
            place,
            "the file of tasks holds none",
            "no [[task]] stands here",
            "begin with [[task]], desk = \"cut-1\", does = \"play\", demand = \"880 Mb/s\"",
        ));
    }
    faults
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
    let point_parts = reader.named(&top, Section::AccessPoint, "access-point");
    let run_parts = reader.numbered(&top, Section::Run, "run");
    let task_parts = reader.numbered(&top, Section::Task, "task");

    super::air::same_names(reader, &switch_parts, &point_parts);
    let supply_parts = reader.named(&top, Section::Supply, "supply");
    let copy_parts = reader.named(&top, Section::Copy, "copy");

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
    let points: Vec<_> = point_parts
        .iter()
        .map(|part| reader.access_point(part, mtu, &mut fitted))
        .collect();
    let house = reader.house(&top);
    let laid: Vec<_> = run_parts
        .iter()
        .map(|part| reader.run(part, &names.machines))
        .collect();

    let tasks: Vec<_> = task_parts
        .iter()
        .map(|part| reader.task(part, &names))
        .collect();

    let supplies: Vec<_> = supply_parts
        .iter()
        .map(|part| reader.supply(part, &names.machines))
        .collect();
    let copies: Vec<_> = copy_parts
        .iter()
        .map(|part| reader.copy(part, &names))
        .collect();
    let project = reader.project(&top);

    names::presence(reader, &names);
    names::holders(reader, &array_parts, &nas_parts);
    joints::routes(reader, &names, &laid, &array_parts, &desk_parts);
    let runs = joints::join(reader, &run_parts, laid, &fitted);
    let (network, _) = network?;
    let mut site = Site {
        name: name?,
        network,
        arrays: arrays.into_iter().collect::<Read<_>>()?,
        nas: nas.into_iter().collect::<Read<_>>()?,
        switches: switches.into_iter().chain(points).collect::<Read<_>>()?,
        desks: desks.into_iter().collect::<Read<_>>()?,
        runs: runs?,
        tasks: tasks.into_iter().collect::<Read<_>>()?,
        house: house?,
        supplies: supplies.into_iter().collect::<Read<_>>()?,
        copies: copies.into_iter().collect::<Read<_>>()?,
        project: project?,
        assumptions: Vec::new(),
    };
    tasks::reach(reader, &task_parts, &site);
    super::air::rooms_named(reader, &site, &desk_parts, &point_parts);
    super::air::tie(&mut site);
    Ok(site)
}

fn site_name(reader: &mut Reader<'_>, top: &Part<'_>) -> Read<String> {
    let Some((text, node)) = reader.text(top, "name")? else {
        return Ok("this site".to_owned());
    };
    if text.chars().any(crate::letters::is_hidden) {
        return Err(reader.report(Fault::new(
            node.place.clone(),
            "the name of the site cannot be shown",
            "it has an invisible letter in it",
            "write letters, digits and spaces",
        )));
    }
    if text.trim().is_empty() {
        return Err(reader.report(Fault::new(
            node.place.clone(),
            "the site has an empty name",
            "there is nothing to show",
            "write what the place is called, or leave the line out",
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
