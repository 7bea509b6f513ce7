//! The written form of a layout.
//!
//! ```text
//! layout  = group { "+" group } { "+" spares }
//! group   = [ count "x" ] level members            several equal groups: striped over, or of a pool
//! level   = single | raid0 | raid1 | raid5 | raid6 | raid10 [ near | far | offset ]
//!         | raid50 | raid60 | two-copy | three-copy | mirror | raidz1 | raidz2 | raidz3
//! members = part { "," part }
//! part    = [ count "x" ] size                     drives of one group
//!         | count "x" count "x" size               raid50, raid60: groups, drives in each, size
//!         | count "x" "(" part { "," part } ")"    raid50, raid60: groups of unequal drives
//! spares  = count ( "spare" | "spares" ) [ size ]  without a size: as the largest drive
//! ```
//!
//! `raid6 6 x 10 TB`, `2 x raidz1 4 x 8 TB`, `4 x raid1 3 x 8 TB` (stripes over mirrors), `raid50 2 x 4 x 10 TB`, `raid10 far 4 x 4 TB`,
//! `raid5 2 x 4 TB, 1 x 8 TB`, `raid6 8 x 10 TB + 1 spare`.

use super::level::Family;
use super::{DriveSize, Layout, LayoutFault, Level, Placement};
use narrows_units::nearest::nearest;
use narrows_units::piece::Piece;
use narrows_units::quantity::{Information, UnitFault};

/// A leading `count x`, and what follows it.
fn times(piece: Piece<'_>) -> Result<Option<(usize, Piece<'_>)>, UnitFault> {
    let digits = piece.text.bytes().take_while(u8::is_ascii_digit).count();
    let rest = piece.after(digits);
    let cross = rest.text.chars().next();
    let (true, Some(cross @ ('x' | 'X' | '×' | '*'))) = (digits > 0, cross) else {
        return Ok(None);
    };
    let counted = count(piece.head(digits))?;
    Ok(Some((counted, rest.after(cross.len_utf8()))))
}

fn count(piece: Piece<'_>) -> Result<usize, UnitFault> {
    match piece.text.parse::<usize>() {
        Ok(0) => Err(piece.fault("'0' drives are none", "write a count from 1")),
        Ok(count) if count <= Layout::MOST_DRIVES => Ok(count),
        _ => Err(piece.fault(
            format!("'{}' is too many", piece.text),
            format!("write a count up to {}", Layout::MOST_DRIVES),
        )),
    }
}

fn size(piece: Piece<'_>) -> Result<DriveSize, UnitFault> {
    if piece.text.is_empty() {
        return Err(piece.fault("a size is missing", "write for example '6 x 10 TB'"));
    }
    DriveSize::new(piece.read::<Information>()?).map_err(|fault| UnitFault {
        span: piece.span(),
        ..fault
    })
}

impl Layout {
    /// Reads a layout such as `raid6 6 x 10 TB + 1 spare`. Counts stand before sizes, parts of
    /// unequal size are joined by commas, groups of a pool and spares by `+`.
    ///
    /// # Errors
    /// With the part of the text that is wrong, what is allowed, and how to write it.
    pub fn parse(text: &str) -> Result<Self, UnitFault> {
        let whole = Piece::of(text).trimmed();
        if whole.text.is_empty() {
            return Err(whole.fault("nothing is written here", EXAMPLE));
        }
        let mut groups: Vec<(Level, Vec<DriveSize>)> = Vec::new();
        let mut spares: Vec<(usize, Option<DriveSize>)> = Vec::new();
        let mut first = None;
        for piece in whole.split('+') {
            if let Some(spare) = spare(piece)? {
                spares.push(spare);
                continue;
            }
            if !spares.is_empty() {
                return Err(piece.fault(
                    format!("'{}' stands behind the spares", piece.text),
                    "write all groups first, then the spares",
                ));
            }
            let read = group(piece)?;
            let level = read.first().map_or(Level::Single, |(level, _)| *level);
            let before = *first.get_or_insert(level);
            // checked with the groups so far, so that the fault points at this piece
            let mut so_far = groups.clone();
            so_far.extend(read.iter().cloned());
            match Layout::new(so_far, Vec::new()) {
                Ok(_) => groups.extend(read),
                Err(fault) => return Err(located(piece, before, &fault)),
            }
        }
        let Some(largest) = groups.iter().flat_map(|(_, drives)| drives).max().copied() else {
            return Err(whole.fault("there are only spares", EXAMPLE));
        };
        let spares = spares
            .into_iter()
            .flat_map(|(count, size)| vec![size.unwrap_or(largest); count])
            .collect();
        Layout::new(groups, spares).map_err(|fault| whole.fault(fault.to_string(), EXAMPLE))
    }
}

impl std::str::FromStr for Layout {
    type Err = UnitFault;

    fn from_str(text: &str) -> Result<Self, UnitFault> {
        Self::parse(text)
    }
}

const EXAMPLE: &str = "write a layout, for example 'raid6 6 x 10 TB' or '2 x raidz1 4 x 8 TB'";

fn located(piece: Piece<'_>, first: Level, fault: &LayoutFault) -> UnitFault {
    let help = match fault {
        LayoutFault::Drives {
            level: Level::Single,
            ..
        } => "write for example 'single 8 TB', or 'raid0' to stripe over several".to_owned(),
        LayoutFault::Drives { level, least, .. } => {
            format!("write for example '{level} {least} x 8 TB'")
        }
        LayoutFault::Groups { level, least, .. } => format!(
            "write groups, drives in each, and size: '{level} {least} x {} x 8 TB'",
            level.least_drives()
        ),
        LayoutFault::Mixed { other, .. } => {
            if first.is_pooled() {
                "only mirror, raidz1, raidz2 and raidz3 go together in a pool".to_owned()
            } else if first == *other {
                match first {
                    Level::Single => "write 'raid0 2 x 8 TB' to stripe over several".to_owned(),
                    _ => format!("write one group with all drives: '{first} 6 x 8 TB'"),
                }
            } else {
                "stripes are made over groups of one level: '4 x raid1 3 x 8 TB'; only groups of a \
                 pool (mirror, raidz1, raidz2, raidz3) may differ"
                    .to_owned()
            }
        }
        LayoutFault::TooMany { .. } => "write two arrays".to_owned(),
    };
    piece.fault(fault.to_string(), help)
}

fn spare(piece: Piece<'_>) -> Result<Option<(usize, Option<DriveSize>)>, UnitFault> {
    let digits = piece.text.bytes().take_while(u8::is_ascii_digit).count();
    let rest = piece.after(digits);
    let letters = rest
        .text
        .bytes()
        .take_while(u8::is_ascii_alphabetic)
        .count();
    let word = &rest.text[..letters];
    if !word.eq_ignore_ascii_case("spare") && !word.eq_ignore_ascii_case("spares") {
        return Ok(None);
    }
    if digits == 0 {
        return Err(rest
            .fault("spares without a number", "write '1 spare'")
            .instead("1 spare"));
    }
    let behind = rest.after(letters);
    let each = if behind.text.is_empty() {
        None
    } else {
        Some(size(behind)?)
    };
    Ok(Some((count(piece.head(digits))?, each)))
}

/// The groups that one piece between plus signs describes.
fn group(piece: Piece<'_>) -> Result<Vec<(Level, Vec<DriveSize>)>, UnitFault> {
    let (repeats, rest) = match times(piece)? {
        Some((count, rest)) => (count, rest),
        None => (1, piece),
    };
    let letters = rest
        .text
        .find(|c: char| c.is_whitespace())
        .unwrap_or(rest.text.len());
    let word = rest.head(letters);
    let Some(mut level) = Level::from_word(word.text) else {
        return Err(no_level(word));
    };
    let mut members = rest.after(letters);
    if let Level::Raid10(_) = level {
        let letters = members
            .text
            .bytes()
            .take_while(u8::is_ascii_alphabetic)
            .count();
        let word = members.head(letters);
        if letters > 0 {
            let known = Placement::ALL
                .into_iter()
                .find(|p| p.word().eq_ignore_ascii_case(word.text));
            let Some(placement) = known else {
                return Err(word.fault(
                    format!("'{}' is no placement of copies", word.text),
                    "write near, far or offset",
                ));
            };
            level = Level::Raid10(placement);
            members = members.after(letters);
        }
    }
    if members.text.is_empty() {
        return Err(piece.fault(
            format!("'{}' has no drives", piece.text),
            format!(
                "write for example '{level} {} x 8 TB'",
                level.least_drives()
            ),
        ));
    }
    let one = if level.family() == Family::Striped {
        nested(level, members)?
    } else {
        vec![(level, drives(members)?)]
    };
    let total = one.iter().map(|(_, d)| d.len()).sum::<usize>() * repeats;
    if total > Layout::MOST_DRIVES {
        return Err(located(
            piece,
            level,
            &LayoutFault::TooMany { found: total },
        ));
    }
    Ok((0..repeats).flat_map(|_| one.clone()).collect())
}

fn nested(level: Level, members: Piece<'_>) -> Result<Vec<(Level, Vec<DriveSize>)>, UnitFault> {
    let mut groups = Vec::new();
    for part in members.split(',') {
        let help = format!(
            "write groups, drives in each, and size: '{level} 2 x {} x 8 TB'",
            level.least_drives()
        );
        let Some((count, rest)) = times(part)? else {
            return Err(part.fault(format!("'{}' says no groups", part.text), help));
        };
        let bracketed =
            rest.text.starts_with('(') && rest.text.len() > 1 && rest.text.ends_with(')');
        let width = match bracketed.then(|| rest.part(1..rest.text.len() - 1)) {
            Some(inside) => drives(inside.trimmed())?,
            None => match times(rest)? {
                Some((width, each)) => vec![size(each)?; width],
                None => {
                    return Err(part.fault(
                        format!("'{}' says either groups or drives, not both", part.text),
                        help,
                    ));
                }
            },
        };
        let total = width.len().saturating_mul(count);
        if total > Layout::MOST_DRIVES {
            return Err(located(part, level, &LayoutFault::TooMany { found: total }));
        }
        groups.extend((0..count).map(|_| (level, width.clone())));
    }
    Ok(groups)
}

fn drives(members: Piece<'_>) -> Result<Vec<DriveSize>, UnitFault> {
    let mut found = Vec::new();
    for part in members.split(',') {
        let (count, each) = match times(part)? {
            Some((count, rest)) => (count, rest),
            None => (1, part),
        };
        let drive = if times(each)?.is_some() {
            return Err(part.fault(
                format!("'{}' has two counts", part.text),
                "write '4 x 8 TB'; groups of a pool stand before the level: '2 x raidz1 4 x 8 TB'",
            ));
        } else {
            size(each)?
        };
        found.extend(vec![drive; count]);
    }
    Ok(found)
}

fn no_level(word: Piece<'_>) -> UnitFault {
    let words: Vec<&str> = Level::ALL.iter().map(|l| l.word()).collect();
    let found = if word.text.is_empty() {
        "no level is written here".to_owned()
    } else {
        format!("'{}' is no level", word.text)
    };
    let bare: String = word
        .text
        .chars()
        .filter(char::is_ascii_alphanumeric)
        .collect();
    let digits = |text: &str| -> String { text.chars().filter(char::is_ascii_digit).collect() };
    // another digit is another level: no slip of the pen that could be put right
    let near = nearest(&bare, words.iter().copied()).filter(|near| digits(near) == digits(&bare));
    let help = match near {
        Some(near) => format!("write '{near}'"),
        None => "write one of single, raid0, raid1, raid5, raid6, raid10, raid50, raid60, \
                 two-copy, three-copy, mirror, raidz1, raidz2, raidz3"
            .to_owned(),
    };
    word.fault(found, help)
}

#[cfg(test)]
mod tests;
