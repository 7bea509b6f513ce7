use crate::commands::capacity::text::STEP;
use crate::render::lead::Lead;
use crate::render::prose::{
    counted, decimal, fine_share, item, paragraph, signed_terabytes, terabytes,
};
use crate::render::table::{Side, Table, tied};
use narrows_core::array::capacity::{LayoutSearch, Miss, Need, Space, Wanted};
use narrows_core::array::durability::NOT_A_BACKUP;
use narrows_core::array::{Bytes, Layout};
use narrows_core::quantity::{exact, show, three_digits, units};
use narrows_core::work::Footage;
use std::fmt::Write;

/// Everything that is shown.
pub(crate) struct Shown<'a> {
    /// The need in hours of footage, where it was told so.
    pub footage: Option<&'a Footage>,
    pub wanted: &'a Wanted,
    pub search: &'a LayoutSearch,
    pub width: usize,
}

/// One layout beside the need: over it, or short of it.
struct Row<'a> {
    layout: &'a Layout,
    space: &'a Space,
    over: Bytes,
    met: bool,
}

impl Shown<'_> {
    /// The answer for a person.
    pub(crate) fn text(&self) -> String {
        let mut out = self.lead().text(self.width);
        out.push('\n');
        out.push_str(
            &self
                .rows(|layout| tied(&layout.to_string()))
                .text(self.width),
        );
        self.legend(&mut out);
        self.misses(&mut out);
        let _ = writeln!(out, "\n{}", paragraph(NOT_A_BACKUP, self.width, 0));
        out
    }

    fn asked(&self) -> String {
        let asked = match self.footage {
            // bytes to the last are for no one's eyes
            Some(footage) => {
                let hours = three_digits(footage.time.get::<units::time::hour>());
                let size = decimal(self.wanted.need.asked());
                format!("{hours} h of {} ({size})", footage.what)
            }
            None => exact(self.wanted.need.asked().information()),
        };
        match self.wanted.need {
            Need::Usable(_) => format!("{asked} for files"),
            Need::Comfortable(_) => format!("{asked} comfortable to fill"),
        }
    }

    fn lead(&self) -> Lead {
        let (why, next) = if self.search.is_met() {
            (
                "each drive that may fail costs the space of one, and the file system keeps some back.",
                "compare rates, safety and price: narrows layouts --bays COUNT --need, with these \
                 drives; and plan the second copy.",
            )
        } else {
            (
                "every layout is counted with what its file system keeps back.",
                "take larger drives, more of them (--most), or ask for less.",
            )
        };
        Lead {
            what: tied(&self.headline()),
            why: Some(why.to_owned()),
            next: Some(next.to_owned()),
        }
    }

    fn headline(&self) -> String {
        if !self.search.is_met() {
            let nearest = self.search.nearest().map_or_else(String::new, |miss| {
                format!(" The nearest is {}", short(miss))
            });
            return format!(
                "No layout of up to {} of {} has {}.{nearest}",
                counted(self.wanted.most_drives, "drive", "drives"),
                self.wanted.size,
                self.asked()
            );
        }
        let mut texts: Vec<String> = Vec::new();
        let mut before = None;
        for survives in (0..=3).rev() {
            let Some(met) = self.search.fewest(survives) else {
                continue;
            };
            if before == Some(&met.layout) {
                continue;
            }
            before = Some(&met.layout);
            let fail = match met.layout.survives_any() {
                0 => "if none may fail".to_owned(),
                1 => "if any one may fail".to_owned(),
                several => format!("if any {several} may fail"),
            };
            texts.push(format!(
                "{} {fail} ({})",
                met.layout.all_drives(),
                met.layout
            ));
        }
        texts.reverse();
        format!(
            "{} takes at least this many drives of {}: {}.",
            self.asked(),
            self.wanted.size,
            texts.join("; ")
        )
    }

    /// One row a layout: the smallest of each kind, and those that narrowly miss.
    pub(crate) fn table(&self) -> Table {
        self.rows(Layout::to_string)
    }

    fn rows(&self, name: impl Fn(&Layout) -> String) -> Table {
        let mut rows: Vec<Row<'_>> = Vec::new();
        let any = self.search.is_met();
        for (_, found) in &self.search.found {
            if let Some(met) = &found.meets {
                rows.push(Row {
                    layout: &met.layout,
                    space: &met.space,
                    over: met.over_by,
                    met: true,
                });
            }
            let missed = found.near_miss.iter();
            // with nothing that meets the need, the nearest of each kind is the answer
            let nearest = found
                .nearest
                .iter()
                .filter(|miss| !any && Some(*miss) != found.near_miss.as_ref());
            rows.extend(missed.chain(nearest).map(|miss| Row {
                layout: &miss.layout,
                space: &miss.space,
                over: miss.short_by,
                met: false,
            }));
        }
        rows.sort_by_key(|row| {
            (
                row.layout.all_drives(),
                std::cmp::Reverse(row.layout.survives_any()),
                std::cmp::Reverse(row.space.usable),
            )
        });
        let mut table = Table::new(&[
            ("layout", Side::Left),
            ("drives", Side::Right),
            ("may fail", Side::Right),
            ("usable TB", Side::Right),
            ("comfortable TB", Side::Right),
            ("over TB", Side::Right),
        ])
        .folding(0);
        for row in rows {
            table.row(vec![
                name(row.layout),
                row.layout.all_drives().to_string(),
                row.layout.survives_any().to_string(),
                terabytes(row.space.usable, row.space.rounded(STEP).usable),
                terabytes(row.space.comfortable, row.space.comfortable.information()),
                signed_terabytes(row.over, row.met),
            ]);
        }
        table
    }

    fn legend(&self, out: &mut String) {
        let over = if self.search.is_met() {
            "over: what is left over beyond the need; behind a minus, what is missing. Layouts \
             that miss by 2 % or less are shown, because filling a little further may be cheaper \
             than a drive."
        } else {
            "over: behind a minus, what is missing. The nearest of each kind is shown."
        };
        let mut lines = vec![
            "drives: all of them, spares included.".to_owned(),
            "may fail: how many drives may fail, whichever they are, before files are lost."
                .to_owned(),
            "usable: what is left for files with the usual file system of the layout: ext4, Btrfs \
             on copies, ZFS in pools."
                .to_owned(),
        ];
        if self.wanted.choices.file_system.is_some() {
            lines.pop();
            lines.push(
                "usable: what is left for files with the file system asked for; layouts that it \
                 does not go on are left out."
                    .to_owned(),
            );
        }
        lines.push(match self.wanted.choices.fill_to {
            Some(share) => format!("comfortable: {} of it, as --fill says.", exact(share)),
            None => {
                "comfortable: 90 % of it, 80 % of Btrfs and ZFS (--fill changes it).".to_owned()
            }
        });
        lines.push(over.to_owned());
        if let Some(footage) = self.footage {
            lines.push(format!(
                "hours: at {} a stream, pictures only; sound and container add 0.2 to 2 %.",
                show(footage.rate)
            ));
        }
        lines.push(
            "1 TB is 10^12 bytes. raid10 holds as much in its far and offset forms; several groups \
             of raid1 are striped over; mirror and raidz are groups of a pool."
                .to_owned(),
        );
        out.push('\n');
        for line in lines {
            let _ = writeln!(out, "{}", paragraph(&tied(&line), self.width, 2));
        }
    }

    fn misses(&self, out: &mut String) {
        let near: Vec<&Miss> = self
            .search
            .found
            .iter()
            .filter_map(|(_, found)| found.near_miss.as_ref())
            .collect();
        if self.search.is_met() && !near.is_empty() {
            let _ = writeln!(out, "\nNarrow misses:");
            for miss in &near {
                let _ = writeln!(out, "{}", item(&tied(&short(miss)), self.width));
            }
        }
        let never: Vec<&Miss> = self
            .search
            .found
            .iter()
            .filter_map(|(_, found)| found.nearest.as_ref())
            .filter(|miss| !near.contains(miss))
            .collect();
        // where nothing meets the need, the table shows them
        if self.search.is_met() && !never.is_empty() {
            let _ = writeln!(
                out,
                "\nNot met with up to {}:",
                counted(self.wanted.most_drives, "drive", "drives")
            );
            for miss in never {
                let _ = writeln!(out, "{}", item(&tied(&short(miss)), self.width));
            }
        }
    }
}

/// By how much a layout misses.
fn short(miss: &Miss) -> String {
    format!(
        "{}, {} ({}) short.",
        miss.layout,
        decimal(miss.short_by),
        fine_share(miss.short_share)
    )
}
