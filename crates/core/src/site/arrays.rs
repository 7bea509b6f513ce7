//! Arrays: layouts and what they are made of.

use super::fault::Fault;
use super::model::{Array, Layout};
use super::reader::{Part, Read, Reader};
use super::tree::Node;
use super::values::no_such_word;

/// Layouts that exist, that a person may well have, and that no model covers.
const NOT_MODELLED: [&str; 12] = [
    "raidz1", "raidz2", "raidz3", "raidz", "raid01", "raid50", "raid60", "raid3", "raid4", "jbod",
    "hybrid", "draid",
];

/// All layouts, for messages.
pub(super) fn layout_words() -> String {
    Layout::ALL.map(Layout::word).join(", ")
}

impl Reader<'_> {
    /// An array.
    pub(super) fn array(&mut self, part: &Part<'_>, nas_names: &[&str]) -> Read<Array> {
        let nas = self.nas_name(part, nas_names);
        let layout = self.layout(part);
        let drives = self.drives(part);
        let fill = self.quantity(part, "fill", "array.fill");
        let attached = self.adapter_rate(part, "attached");
        let local_read = self.stated(part, "local-read");
        let local_write = self.stated(part, "local-write");
        let drives = drives?;
        let layout = match layout? {
            Some((layout, node)) => {
                self.fits(part, layout, drives.count, node)?;
                layout
            }
            None if drives.count == 1 => Layout::Single,
            None => return Err(self.missing(part, "layout")),
        };
        Ok(Array {
            name: part.name.clone(),
            nas: nas?,
            layout,
            drives,
            fill: fill?,
            attached: attached?,
            local_read: local_read?,
            local_write: local_write?,
        })
    }

    fn layout<'t>(&mut self, part: &Part<'t>) -> Read<Option<(Layout, &'t Node)>> {
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
        if let Some(layout) = Layout::ALL.into_iter().find(|l| l.word() == plain) {
            return Ok(Some((layout, node)));
        }
        let mut fault = no_such_word(text, word, &Layout::ALL.map(Layout::word));
        let mut title = format!("{} is not a layout", part.id("layout"));
        if NOT_MODELLED.contains(&plain.as_str()) {
            title = format!("{} is not modelled yet", part.id("layout"));
            fault.found = format!("'{word}' is a layout that no model covers");
            fault.help = format!(
                "write the nearest of {}: raidz1 is close to raid5, raidz2 to raid6",
                layout_words()
            );
            fault.instead = None;
        }
        Err(self.unit(node, title, fault))
    }

    /// Whether a layout can be made of so many drives.
    fn fits(&mut self, part: &Part<'_>, layout: Layout, count: usize, node: &Node) -> Read<()> {
        let word = layout.word();
        let drives = if count == 1 {
            "1 drive".to_owned()
        } else {
            format!("{count} drives")
        };
        let problem = match layout {
            Layout::Single if count > 1 => Some((
                format!("'single' is one drive, and there are {count}"),
                "write 1 drive, or another layout, for example raid0".to_owned(),
            )),
            Layout::Raid10 if count >= layout.least_drives() && count % 2 == 1 => Some((
                format!("{word} pairs its drives, and {count} is odd"),
                format!("write {} or {} drives", count - 1, count + 1),
            )),
            _ if count < layout.least_drives() => Some((
                format!("{word} needs at least {} drives", layout.least_drives()),
                format!(
                    "write at least {} drives, or a layout for {drives}: {}",
                    layout.least_drives(),
                    layouts_for(count)
                ),
            )),
            _ => None,
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

/// The layouts that can be made of so many drives.
fn layouts_for(count: usize) -> String {
    Layout::ALL
        .into_iter()
        .filter(|l| count >= l.least_drives())
        .filter(|l| *l != Layout::Single || count == 1)
        .filter(|l| *l != Layout::Raid10 || count.is_multiple_of(2))
        .map(Layout::word)
        .collect::<Vec<_>>()
        .join(", ")
}
