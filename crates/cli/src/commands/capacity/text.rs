use crate::render::lead::Lead;
use crate::render::prose::{decimal, in_tebibytes, item, paragraph, tebibytes, terabytes};
use crate::render::table::{Side, Table, tied};
use narrows_core::array::capacity::{Choices, FileSystem, Rounded, Space};
use narrows_core::array::durability::NOT_A_BACKUP;
use narrows_core::array::{Bytes, Level};
use narrows_core::quantity::{Information, exact, three_digits, units};
use narrows_core::site::Counted;
use std::fmt::Write;

/// What the columns count in: whole gigabytes.
pub(crate) const STEP: Bytes = Bytes::new(1_000_000_000);

/// Everything that is shown.
pub(crate) struct Shown<'a> {
    pub counted: &'a [Counted],
    pub choices: &'a Choices,
    pub width: usize,
}

/// A part of the space, with its head, its column and what it is.
struct Part {
    head: &'static str,
    exact: fn(&Space) -> Bytes,
    rounded: fn(&Rounded) -> Information,
    what: &'static str,
}

const PARTS: [Part; 6] = [
    Part {
        head: "redundancy",
        exact: |s| s.redundancy,
        rounded: |r| r.redundancy,
        what: "parity and further copies.",
    },
    Part {
        head: "padding",
        exact: |s| s.padding,
        rounded: |r| r.padding,
        what: "sectors that fill up the stripes of a pool's records; it depends on the record, the \
               sector and how many drives a group has.",
    },
    Part {
        head: "spares",
        exact: |s| s.spares,
        rounded: |r| r.spares,
        what: "hot spares, which hold nothing until a drive fails.",
    },
    Part {
        head: "unused",
        exact: Space::unused_bytes,
        rounded: |r| r.unused,
        what: "what the layout cannot use; the reasons follow.",
    },
    Part {
        head: "metadata",
        exact: |s| s.metadata,
        rounded: |r| r.metadata,
        what: "labels of the array, and tables and log of the file system.",
    },
    Part {
        head: "reserve",
        exact: |s| s.reserve,
        rounded: |r| r.reserve,
        what: "what the file system keeps back so that it still works when it is full.",
    },
];

impl Shown<'_> {
    /// The answer for a person.
    pub(crate) fn text(&self) -> String {
        let mut out = self.lead().text(self.width);
        out.push('\n');
        out.push_str("What is left:\n");
        out.push_str(&self.left().text(self.width));
        let parts = self.parts();
        let _ = write!(out, "\nWhere the rest of the raw space goes, in TB:\n");
        out.push_str(&self.rest(&parts).text(self.width));
        self.legend(&parts, &mut out);
        self.reasons(&mut out);
        self.remarks(&mut out);
        let mut levels = self.counted.iter().map(|one| one.layout.level());
        if levels.any(Level::has_write_hole) {
            let line = "Parity of a file system: a power cut in the middle of a write can leave a stripe that no longer \
                        fits its parity; no such layout is proposed.";
            let _ = writeln!(out, "\n{}", paragraph(line, self.width, 0).trim_end());
        }
        let _ = writeln!(out, "\n{}", paragraph(NOT_A_BACKUP, self.width, 0));
        out
    }

    fn lead(&self) -> Lead {
        let tb = |bytes: Bytes| decimal(bytes);
        let why = self
            .counted
            .first()
            .filter(|_| self.counted.len() == 1)
            .map(|c| {
                let s = &c.space;
                let mut parts: Vec<String> = Vec::new();
                for (bytes, what) in [
                    (s.redundancy, "redundancy"),
                    (s.spares, "spares"),
                    (s.unused_bytes(), "unequal drives"),
                    (s.reserve, "the reserve of the file system"),
                ] {
                    if bytes > STEP {
                        parts.push(format!("{what} {}", tb(bytes)));
                    }
                }
                if parts.is_empty() {
                    format!("of {} raw almost nothing goes elsewhere.", tb(s.raw))
                } else {
                    format!("of {} raw, {}.", tb(s.raw), parts.join(", "))
                }
            });
        let next = self.counted.iter().map(|c| c.layout.survives_any()).min();
        let next = next.map(|fails| match fails {
            0 => "one failed drive loses everything: choose a layout that survives one, or have a \
                  complete second copy."
                .to_owned(),
            _ => "plan the second copy of it too; narrows layouts compares rates and safety."
                .to_owned(),
        });
        Lead {
            what: tied(&self.headline()),
            why: why.map(|text| tied(&text)),
            next,
        }
    }

    fn headline(&self) -> String {
        let of = |c: &Counted| {
            format!(
                "{} ({}) for files, {} of it comfortable to fill",
                decimal(c.space.usable),
                in_tebibytes(c.space.usable),
                decimal(c.space.comfortable)
            )
        };
        match self.counted {
            [] => String::from("There is no array."),
            [one] => format!("{} leaves {}.", name(one), of(one)),
            several => {
                // of equals the first
                let most = several.iter().rev().max_by_key(|c| c.space.usable);
                let least = several.iter().min_by_key(|c| c.space.usable);
                let (Some(most), Some(least)) = (most, least) else {
                    return String::new();
                };
                format!(
                    "{} leaves most: {}. {} leaves least: {}.",
                    name(most),
                    of(most),
                    name(least),
                    of(least)
                )
            }
        }
    }

    /// One row a layout with all parts: for a spreadsheet or a document.
    pub(crate) fn table(&self) -> Table {
        let mut heads = vec![
            ("layout".to_owned(), Side::Left),
            ("file system".to_owned(), Side::Left),
            ("may fail".to_owned(), Side::Right),
            ("raw TB".to_owned(), Side::Right),
        ];
        heads.extend(
            PARTS
                .iter()
                .map(|p| (format!("{} TB", p.head), Side::Right)),
        );
        for head in ["usable TB", "usable TiB", "comfortable TB"] {
            heads.push((head.to_owned(), Side::Right));
        }
        let heads: Vec<(&str, Side)> = heads.iter().map(|(h, s)| (h.as_str(), *s)).collect();
        let mut table = Table::new(&heads);
        for c in self.counted {
            let rounded = c.space.rounded(STEP);
            let mut row = vec![
                name(c),
                c.terms.file_system.name().to_owned(),
                c.layout.survives_any().to_string(),
                terabytes(c.space.raw, rounded.raw),
            ];
            row.extend(
                PARTS
                    .iter()
                    .map(|p| terabytes((p.exact)(&c.space), (p.rounded)(&rounded))),
            );
            row.push(terabytes(c.space.usable, rounded.usable));
            row.push(tebibytes(c.space.usable));
            row.push(terabytes(
                c.space.comfortable,
                c.space.comfortable.information(),
            ));
            table.row(row);
        }
        table
    }

    fn left(&self) -> Table {
        let mut table = Table::new(&[
            ("layout", Side::Left),
            ("may fail", Side::Right),
            ("raw TB", Side::Right),
            ("usable TB", Side::Right),
            ("usable TiB", Side::Right),
            ("comfortable TB", Side::Right),
        ])
        .folding(0);
        for c in self.counted {
            let rounded = c.space.rounded(STEP);
            table.row(vec![
                tied(&name(c)),
                c.layout.survives_any().to_string(),
                terabytes(c.space.raw, rounded.raw),
                terabytes(c.space.usable, rounded.usable),
                tebibytes(c.space.usable),
                terabytes(c.space.comfortable, c.space.comfortable.information()),
            ]);
        }
        table
    }

    /// Parts that any of the layouts has.
    fn parts(&self) -> Vec<&'static Part> {
        PARTS
            .iter()
            .filter(|p| {
                self.counted
                    .iter()
                    .any(|c| (p.exact)(&c.space) > Bytes::default())
            })
            .collect()
    }

    fn rest(&self, parts: &[&Part]) -> Table {
        let mut heads = vec![("layout", Side::Left), ("file system", Side::Left)];
        heads.extend(parts.iter().map(|p| (p.head, Side::Right)));
        let mut table = Table::new(&heads).folding(0);
        for c in self.counted {
            let rounded = c.space.rounded(STEP);
            let mut row = vec![tied(&name(c)), c.terms.file_system.name().to_owned()];
            row.extend(
                parts
                    .iter()
                    .map(|p| terabytes((p.exact)(&c.space), (p.rounded)(&rounded))),
            );
            table.row(row);
        }
        table
    }

    fn legend(&self, parts: &[&Part], out: &mut String) {
        let mut lines = vec![
            "may fail: how many drives may fail, whichever they are, before files are lost."
                .to_owned(),
            "raw: the bytes of all drives, spares included; it is the sum of usable and the parts \
             in the second table."
                .to_owned(),
        ];
        lines.extend(parts.iter().map(|p| format!("{}: {}", p.head, p.what)));
        lines.push(
            "usable: what is left for files. 1 TB is 10^12 bytes, as drives are sold; 1 TiB is \
             2^40 bytes, which many systems also write as TB."
                .to_owned(),
        );
        lines.push(format!(
            "comfortable: {}, beyond which writing slows down and mistakes get tight.",
            self.comfort()
        ));
        lines.push(
            "TB columns count whole gigabytes: 0.000 is less than half of one, 0 nothing at all."
                .to_owned(),
        );
        out.push('\n');
        for line in lines {
            let _ = writeln!(out, "{}", paragraph(&tied(&line), self.width, 2));
        }
    }

    fn comfort(&self) -> String {
        if let Some(share) = self.choices.fill_to {
            return format!("{} of the usable space, as --fill says", exact(share));
        }
        let mut shares: Vec<(u64, Vec<&str>)> = Vec::new();
        for c in self.counted {
            let (percent, name) = (
                c.terms.file_system.comfortable_percent(),
                c.terms.file_system.name(),
            );
            match shares.iter_mut().find(|(p, _)| *p == percent) {
                Some((_, names)) if !names.contains(&name) => names.push(name),
                Some(_) => {}
                None => shares.push((percent, vec![name])),
            }
        }
        let texts: Vec<String> = shares
            .iter()
            .map(|(percent, names)| {
                format!("{percent} % of the usable space of {}", names.join(", "))
            })
            .collect();
        format!("{} (--fill changes it)", texts.join(", "))
    }

    fn reasons(&self, out: &mut String) {
        let items: Vec<String> = self
            .counted
            .iter()
            .flat_map(|c| {
                c.space.unused.iter().map(|unused| {
                    format!(
                        "{}: {}: {}.",
                        name(c),
                        decimal(unused.bytes),
                        unused.why.words()
                    )
                })
            })
            .collect();
        list("Left unused, and why:", &items, self.width, out);
    }

    fn remarks(&self, out: &mut String) {
        let mut items = Vec::new();
        for c in self.counted {
            if c.layout.level() == Level::Raid0 && c.layout.is_unequal() {
                items.push(format!(
                    "{}: level 0 of the kernel's driver uses all of unequal drives; beyond the \
                     smallest, the stripes have fewer drives and are slower.",
                    name(c)
                ));
            }
            if let FileSystem::Pool { record, sector } = c.terms.file_system {
                let listed = c.space.listed.unwrap_or_default();
                let mut text = format!(
                    "{}: counted for records of {} and sectors of {}",
                    name(c),
                    binary(record),
                    binary(sector)
                );
                if listed == c.space.usable {
                    text.push_str("; --record \"1 MiB\" counts large records.");
                } else {
                    let _ = write!(
                        text,
                        "; its own listing will show {} available, because it always counts with \
                         records of 128 KiB.",
                        in_tebibytes(listed)
                    );
                }
                items.push(text);
            }
            if !self.choices.goes_on(c.layout.level()) {
                items.push(format!(
                    "{}: the file system asked for does not go on it; counted with {}.",
                    name(c),
                    c.terms.file_system.name()
                ));
            }
        }
        let mut named: Vec<&str> = self
            .counted
            .iter()
            .filter_map(|c| c.array.as_deref())
            .collect();
        let all = named.len();
        named.dedup();
        if named.len() < all {
            items.push(
                "Where the site does not say what a drive holds, the array is shown with drives of \
                 the low, likely and high capacity."
                    .to_owned(),
            );
        }
        list("Also:", &items, self.width, out);
    }
}

fn list(head: &str, items: &[String], width: usize, out: &mut String) {
    if items.is_empty() {
        return;
    }
    let _ = writeln!(out, "\n{head}");
    for text in items {
        let _ = writeln!(out, "{}", item(&tied(text), width));
    }
}

/// A layout as it is called: with the name of the array in a site.
pub(crate) fn name(counted: &Counted) -> String {
    match &counted.array {
        Some(array) => format!("{array}: {}", counted.layout),
        None => counted.layout.to_string(),
    }
}

/// A record or sector in the binary unit it is always named in.
fn binary(size: Bytes) -> String {
    let size = size.information();
    let mebibytes = size.get::<units::information::mebibyte>();
    if mebibytes < 1.0 {
        let kibibytes = size.get::<units::information::kibibyte>();
        if kibibytes < 1.0 {
            return exact(size);
        }
        return format!("{} KiB", three_digits(kibibytes).trim_end_matches(".00"));
    }
    format!("{mebibytes} MiB")
}
