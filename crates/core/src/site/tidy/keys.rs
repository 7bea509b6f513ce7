//! Keys in another spelling, or as the trade says them.

use super::Pass;
use crate::said::plain;
use crate::site::schema::Section;
use crate::site::tree::Table;

impl Pass<'_> {
    /// Gives the keys of a part their names, where each has one that is not taken.
    pub(super) fn keys(&mut self, table: &mut Table, section: Section, path: &str) {
        for at in 0..table.entries.len() {
            let Some(entry) = table.entries.get(at) else {
                continue;
            };
            let said = entry.key.clone();
            if section.field(&said).is_some() {
                continue;
            }
            let Some(key) = self.key(section, &said) else {
                continue;
            };
            if table.get(key).is_some() {
                continue;
            }
            let id = if path.is_empty() {
                key.to_owned()
            } else {
                format!("{path}.{key}")
            };
            self.understood(&id, &said, key);
            if let Some(entry) = table.entries.get_mut(at) {
                key.clone_into(&mut entry.key);
            }
        }
    }

    fn key(&self, section: Section, said: &str) -> Option<&'static str> {
        let (bare, of) = (plain(said), |key: &str| {
            section.fields().map(|f| f.key).find(|k| *k == key)
        });
        let alike = section
            .fields()
            .map(|f| f.key)
            .find(|key| plain(key) == bare || format!("{}s", plain(key)) == bare)
            // "switches"
            .or_else(|| {
                section
                    .fields()
                    .map(|f| f.key)
                    .find(|key| format!("{}es", plain(key)) == bare)
            });
        alike.or_else(|| {
            self.catalogue
                .synonyms("key")
                .filter(|s| {
                    let said = plain(&s.said);
                    said == bare || format!("{said}s") == bare
                })
                .find_map(|s| of(&s.means))
        })
    }
}
