//! Keys in another spelling, or as the trade says them.

use super::Pass;
use crate::said::plain;
use crate::site::schema::Section;
use crate::site::tree::{Entry, Table, Value};

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
                self.join(table, at, key);
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
        // sections whose parts went to another
        if section == Section::Site {
            table.entries.retain(|e| {
                section.field(&e.key).is_some() || !matches!(e.node.value, Value::Lost)
            });
        }
    }

    /// Puts the parts of a section under the name that it has beside: `[computer.a]` and `[desk.b]`.
    fn join(&mut self, table: &mut Table, at: usize, key: &str) {
        let is_table =
            |e: Option<&Entry>| e.is_some_and(|e| matches!(e.node.value, Value::Table(_)));
        if !is_table(table.get(key)) || !is_table(table.entries.get(at)) {
            return;
        }
        let Some(entry) = table.entries.get_mut(at) else {
            return;
        };
        let said = entry.key.clone();
        let Value::Table(parts) = &mut entry.node.value else {
            return;
        };
        let parts = std::mem::take(&mut parts.entries);
        // what is left of it has nothing to say
        entry.node.value = Value::Lost;
        if let Some(Entry { node, .. }) = table.entries.iter_mut().find(|e| e.key == key)
            && let Value::Table(kept) = &mut node.value
        {
            kept.entries.extend(parts);
            kept.entries.sort_by_key(|e| e.place.span.start);
        }
        self.understood(key, &said, key);
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
