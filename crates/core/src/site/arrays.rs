//! Arrays: layouts and what they are made of.

use super::fault::Fault;
use super::model::{Array, Chosen, Known};
use super::reader::{Part, Read, Reader};
use super::tree::Node;
use super::values::no_such_word;
use crate::array::capacity::Choices;
use crate::array::{Level, Placement};
use crate::spread::Choice;

/// Layouts that exist, that a person may well have, and that no model covers.
const NOT_MODELLED: [&str; 7] = [
    "raid01", "raid3", "raid4", "jbod", "hybrid", "draid", "raidz",
];

/// All levels, for messages.
pub(super) fn layout_words() -> String {
    level_words().join(", ")
}

fn level_words() -> Vec<&'static str> {
    let mut words: Vec<&str> = Level::ALL.iter().map(|l| l.word()).collect();
    words.dedup();
    words
}

impl Reader<'_> {
    /// An array.
    pub(super) fn array(&mut self, part: &Part<'_>, nas_names: &[&str]) -> Read<Array> {
        let nas = self.nas_name(part, nas_names);
        let layout = self.layout(part);
        let drives = self.drives(part);
        let fill = self.quantity(part, "fill", "array.fill");
        let others = self.stated(part, "others");
        let slowest = self.stated(part, "slowest");
        let attached = self.adapter_rate(part, "attached");
        let hits = self.stated(part, "hits");
        let working_set = self.stated(part, "working-set");
        let local_read = self.stated(part, "local-read");
        let local_write = self.stated(part, "local-write");
        let groups = self.whole(part, "groups");
        let spares = self.whole(part, "spares");
        let failed = self.whole(part, "failed");
        let rebuilding = self.yes_no(part, "rebuilding", "yes-no");
        let scrubbing = self.yes_no(part, "scrubbing", "yes-no");
        let full_stripes = self.yes_no(part, "full-stripes", "yes-no");
        let record = self.parsed(part, "record", "a record", |text| {
            Choices::parse_record(text, None)
        });
        let chunk = self.parsed(part, "chunk", "a chunk", Choices::parse_chunk);
        let drives = drives?;
        let (level, node) = match layout? {
            Some((level, node)) => (level, Some(node)),
            None if drives.count == 1 => (Level::Single, None),
            None => return Err(self.missing(part, "layout")),
        };
        let (record, chunk) = (record?, chunk?);
        self.grain_of(part, level)?;
        let least = level.least_groups();
        let groups = groups?.map_or(least, |g| g as usize);
        if let Some(node) = node {
            self.fits(part, level, groups, drives.count, node)?;
        }
        let level = if groups > 1 { level.striped() } else { level };
        let failed = failed?.unwrap_or(0) as usize;
        let survives = level.survives_any(drives.count / groups.max(1));
        if failed > survives {
            return Err(self.report(Fault::new(
                part.place_of("failed"),
                format!("{} is lost", part.path),
                format!("{level} survives {survives} failed drives of a group, whichever they are"),
                "restore from a second copy; write failed = 0 for an array that works",
            )));
        }
        Ok(Array {
            name: part.name.clone(),
            nas: nas?,
            level,
            groups,
            drives,
            spares: spares?.unwrap_or(0) as usize,
            failed,
            // unless somebody says so, every drive is well and has nothing else to do
            rebuilding: rebuilding?.unwrap_or_else(|| idle(part.id("rebuilding"))),
            record,
            chunk,
            full_stripes: full_stripes?,
            scrubbing: scrubbing?.unwrap_or_else(|| idle(part.id("scrubbing"))),
            fill: fill?,
            others: others?,
            slowest: slowest?,
            attached: attached?,
            hits: hits?,
            working_set: working_set?,
            local_read: local_read?,
            local_write: local_write?,
        })
    }

    /// Records are of pools, and chunks of what is striped otherwise.
    fn grain_of(&mut self, part: &Part<'_>, level: Level) -> Read<()> {
        let (key, of) = if level.is_pooled() {
            (
                "chunk",
                "the kernel's driver, and this is a pool: write 'record'",
            )
        } else {
            ("record", "a pool, and this is none: write 'chunk'")
        };
        if part.table.get(key).is_none() {
            return Ok(());
        }
        Err(self.report(Fault::new(
            part.place_of(key),
            format!("{} says nothing of {level}", part.id(key)),
            format!("a {key} is a word of {of}"),
            format!("remove '{key}'"),
        )))
    }

    fn layout<'t>(&mut self, part: &Part<'t>) -> Read<Option<(Level, &'t Node)>> {
        let Some((text, node)) = self.text(part, "layout")? else {
            return Ok(None);
        };
        let word = text.trim();
        // "RAID 6" and "raid-6" are as clear as "raid6"
        let plain: String = word
            .to_lowercase()
            .chars()
            .filter(|c| c.is_alphanumeric())
            .collect();
        let known = |plain: &str| {
            Level::ALL.into_iter().find(|level| {
                let own: String = level
                    .to_string()
                    .chars()
                    .filter(|c| c.is_alphanumeric())
                    .collect();
                own == plain || (*level == Level::Raid10(Placement::Near) && plain == "raid10near")
            })
        };
        if let Some(level) = known(&plain) {
            return Ok(Some((level, node)));
        }
        let mut fault = no_such_word(text, word, &level_words());
        let mut title = format!("{} is not a layout", part.id("layout"));
        if NOT_MODELLED.contains(&plain.as_str()) {
            title = format!("{} is not modelled yet", part.id("layout"));
            fault.found = format!("'{word}' is a layout that no model covers");
            fault.help = format!("write the nearest of {}", layout_words());
            fault.instead = None;
        }
        Err(self.unit(node, title, fault))
    }

    /// Whether a level can be made of so many drives in so many groups.
    fn fits(
        &mut self,
        part: &Part<'_>,
        level: Level,
        groups: usize,
        count: usize,
        node: &Node,
    ) -> Read<()> {
        let drives = if count == 1 {
            "1 drive".to_owned()
        } else {
            format!("{count} drives")
        };
        let width = count / groups.max(1);
        let least = level.least_drives();
        let in_groups = if groups > 1 {
            format!(" in each of {groups} groups")
        } else {
            String::new()
        };
        let problem = if groups > 1 && !level.comes_in_groups() {
            Some((
                format!("{level} has one group, and there are {groups}"),
                "leave out groups; the RAID levels and those of a pool may have several".to_owned(),
            ))
        } else if groups < level.least_groups() {
            Some((
                format!(
                    "{level} is made of at least {} groups",
                    level.least_groups()
                ),
                format!("write groups = {}", level.least_groups()),
            ))
        } else if !count.is_multiple_of(groups.max(1)) {
            Some((
                format!("{count} drives do not divide into {groups} groups"),
                format!("write {} drives", width * groups + groups),
            ))
        } else if level == Level::Single && count > 1 {
            Some((
                format!("'single' is one drive, and there are {count}"),
                "write 1 drive, or another layout, for example raid0".to_owned(),
            ))
        } else if width < least {
            Some((
                format!("{level} needs at least {least} drives{in_groups}"),
                format!(
                    "write at least {} drives, or a layout for {drives}: {}",
                    least * groups,
                    layouts_for(count)
                ),
            ))
        } else {
            None
        };
        let Some((found, help)) = problem else {
            return Ok(());
        };
        Err(self.report(
            Fault::new(
                node.place.clone(),
                format!("{} cannot be made of {drives}", part.path),
                found,
                help,
            )
            .also(part.place_of("drives"), "the drives"),
        ))
    }
}

fn idle(id: String) -> Chosen<bool> {
    Known::stated(id, Choice::certain(false))
}

/// The plain levels that can be made of so many drives.
fn layouts_for(count: usize) -> String {
    let words: Vec<String> = Level::ALL
        .into_iter()
        .filter(|l| l.least_groups() == 1 && !l.is_pooled() && count >= l.least_drives())
        .filter(|l| *l != Level::Single || count == 1)
        .filter(|l| !l.has_write_hole())
        .map(|level| level.to_string())
        .collect();
    words.join(", ")
}
