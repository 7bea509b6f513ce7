pub(crate) mod json;
pub(crate) mod need;
pub(crate) mod text;

use crate::arguments::{Capacity, FileSystemWord};
use crate::input::{self, Description, Stop};
use crate::render::document::printed;
use crate::{Outcome, Screen};
use narrows_core::array::DriveSize;
use narrows_core::array::capacity::{
    Choices, FileSystemKind, LayoutSearch, Need, Wanted, smallest_of_each,
};
use narrows_core::catalogue::Catalogue;
use narrows_core::quantity::UnitFault;
use narrows_core::site::parts::in_argument;
use narrows_core::site::{Counted, Faults, counted_argument, counted_array};
use narrows_core::work::{Footage, footage};
use std::path::Path;

/// Counts the space of layouts, or the drives that a need takes.
pub(crate) fn run(arguments: &Capacity, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    let done = match &arguments.need {
        Some(need) => search(arguments, need, screen),
        None => count(arguments, screen),
    };
    done.or_else(Stop::outcome)
}

/// The text that faults of the command line are counted under.
fn command_line() -> Description {
    Description {
        path: "the command line".to_owned(),
        bytes: Vec::new(),
    }
}

/// Reads a text of the command line, or keeps its fault.
fn read<T>(
    text: &str,
    title: &str,
    made: Result<T, UnitFault>,
    faults: &mut Vec<Faults>,
) -> Option<T> {
    made.map_err(|fault| faults.push(in_argument(text, title, &fault)))
        .ok()
}

fn choices(arguments: &Capacity, faults: &mut Vec<Faults>) -> Choices {
    let sector = arguments.sector.as_deref().and_then(|text| {
        let made = Choices::parse_sector(text);
        read(text, "--sector cannot be read", made, faults)
    });
    let record = arguments.record.as_deref().and_then(|text| {
        let made = Choices::parse_record(text, sector);
        read(text, "--record cannot be read", made, faults)
    });
    let fill_to = arguments.fill.as_deref().and_then(|text| {
        let made = Choices::parse_fill(text);
        read(text, "--fill cannot be read", made, faults)
    });
    Choices {
        file_system: arguments.file_system.map(|word| match word {
            FileSystemWord::Ext4 => FileSystemKind::Ext4,
            FileSystemWord::Xfs => FileSystemKind::Xfs,
            FileSystemWord::Btrfs => FileSystemKind::Btrfs,
            FileSystemWord::Zfs => FileSystemKind::Zfs,
            FileSystemWord::None => FileSystemKind::Bare,
        }),
        record,
        sector,
        chunk: None,
        fill_to,
    }
}

/// Whether a text of the command line names a site file.
fn is_site(text: &str) -> bool {
    let path = Path::new(text);
    path.extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("toml"))
        || path.exists()
}

fn count(arguments: &Capacity, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let mut faults = Vec::new();
    let choices = choices(arguments, &mut faults);
    let mut counted = Vec::new();
    let mut broken = None;
    for text in &arguments.of {
        if is_site(text) {
            match of_site(text, &choices, &catalogue, screen) {
                Ok(arrays) => counted.extend(arrays),
                // its faults are on the screen; those of the others belong there too
                Err(Stop::Written(outcome)) => broken = Some(outcome),
                Err(stop) => return Err(stop),
            }
        } else {
            match counted_argument(text, &choices) {
                Ok(one) => counted.push(one),
                Err(fault) => faults.push(fault),
            }
        }
    }
    if let Some(faults) = Faults::together(faults) {
        return Err(input::show(&faults, &command_line(), &[], screen));
    }
    if let Some(outcome) = broken {
        return Ok(outcome);
    }
    fits(arguments, &choices, &counted, screen)?;
    let shown = text::Shown {
        counted: &counted,
        choices: &choices,
        width: screen.width,
    };
    let text = printed(
        arguments.format,
        || json::layouts(&counted),
        || [shown.table()],
        || shown.text(),
    )?;
    write!(screen.out, "{text}")?;
    Ok(Outcome::Fine)
}

fn of_site(
    path: &str,
    choices: &Choices,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Vec<Counted>, Stop> {
    let description = input::file(Path::new(path), screen)?;
    let site = input::site(&description, &[], catalogue, screen)?;
    let mut counted = Vec::new();
    let mut faults = Vec::new();
    for array in &site.arrays {
        match counted_array(array, choices) {
            Ok(some) => counted.extend(some),
            Err(fault) => faults.push(fault),
        }
    }
    match Faults::together(faults) {
        Some(faults) => Err(input::show(&faults, &description, &[], screen)),
        None => Ok(counted),
    }
}

/// Refuses what would change nothing.
fn fits(
    arguments: &Capacity,
    choices: &Choices,
    counted: &[Counted],
    screen: &mut Screen<'_>,
) -> Result<(), Stop> {
    if !counted.iter().any(|c| choices.goes_on(c.layout.level())) {
        return Err(input::refuse(
            screen,
            "that file system goes on none of these layouts",
            "ext4, xfs, btrfs and none go on single and raid levels, btrfs also on two-copy, \
             three-copy, one-parity and two-parity, zfs on mirror and raidz",
        ));
    }
    let asked = arguments.record.is_some() || arguments.sector.is_some();
    if asked && !counted.iter().any(|c| c.layout.is_pooled()) {
        return Err(input::refuse(
            screen,
            "--record and --sector are for pools, and there is none",
            "leave them out, or write a pool, for example \"raidz2 6 x 10 TB\"",
        ));
    }
    Ok(())
}

/// Hours of footage, and whether they have to be comfortable to hold.
fn footage_of(text: &str, catalogue: &Catalogue) -> Result<Option<(Footage, bool)>, UnitFault> {
    let bare = text.trim_end();
    let comfortable = bare.strip_suffix("comfortable");
    let found = footage(comfortable.unwrap_or(bare).trim_end(), catalogue)?;
    Ok(found.map(|footage| (footage, comfortable.is_some())))
}

fn search(arguments: &Capacity, need: &str, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let mut faults = Vec::new();
    let choices = choices(arguments, &mut faults);
    let catalogue = input::catalogue(screen)?;
    let hours = read(
        need,
        "the need cannot be read",
        footage_of(need, &catalogue),
        &mut faults,
    );
    let hours = hours.flatten();
    let need = match &hours {
        Some((footage, comfortable)) => {
            let bytes = footage.bytes();
            Some(if *comfortable {
                Need::Comfortable(bytes)
            } else {
                Need::Usable(bytes)
            })
        }
        None if faults.is_empty() => read(
            need,
            "the need cannot be read",
            Need::parse(need),
            &mut faults,
        ),
        None => None,
    };
    let size = arguments.drives.as_deref().and_then(|text| {
        let made = DriveSize::parse(text);
        read(text, "the drives cannot be read", made, &mut faults)
    });
    if let Some(faults) = Faults::together(faults) {
        return Err(input::show(&faults, &command_line(), &[], screen));
    }
    // both are there unless a fault was: the arguments require each other
    let (Some(need), Some(size)) = (need, size) else {
        return Ok(Outcome::BadInput);
    };
    let wanted = Wanted {
        need,
        size,
        spares: usize::from(arguments.spares),
        most_drives: usize::from(arguments.most),
        choices,
    };
    let search: LayoutSearch = match smallest_of_each(&wanted) {
        Ok(search) => search,
        Err(fault) => {
            let help = "write larger drives, or another file system";
            return Err(input::refuse(screen, &fault.to_string(), help));
        }
    };
    if search.found.is_empty() {
        return Err(input::refuse(
            screen,
            "there is room for no layout",
            "write a larger number with --most, or fewer spares",
        ));
    }
    let shown = need::Shown {
        footage: hours.as_ref().map(|(footage, _)| footage),
        wanted: &wanted,
        search: &search,
        width: screen.width,
    };
    let text = printed(
        arguments.format,
        || json::search(&wanted, &search),
        || [shown.table()],
        || shown.text(),
    )?;
    write!(screen.out, "{text}")?;
    Ok(if search.is_met() {
        Outcome::Fine
    } else {
        Outcome::NotMet
    })
}
