//! Space as a program reads it. Keys are a contract: see docs/json.md.

use crate::render::document::Document;
use narrows_core::array::capacity::{
    FileSystem, LayoutSearch, Miss, Need, Space, Terms, Unused, Wanted, Why,
};
use narrows_core::array::durability::NOT_A_BACKUP;
use narrows_core::array::{Bytes, Layout};
use narrows_core::site::Counted;
use serde::Serialize;

#[derive(Serialize)]
struct Layouts<'a> {
    layouts: Vec<Row<'a>>,
}

#[derive(Serialize)]
struct Row<'a> {
    layout: String,
    array: Option<&'a str>,
    drives: usize,
    survives_any: usize,
    file_system: &'static str,
    record_bytes: Option<u64>,
    sector_bytes: Option<u64>,
    raw_bytes: u64,
    redundancy_bytes: u64,
    padding_bytes: u64,
    spares_bytes: u64,
    unused_bytes: u64,
    unused: Vec<Reason>,
    metadata_bytes: u64,
    reserve_bytes: u64,
    usable_bytes: u64,
    comfortable_bytes: u64,
    listed_bytes: Option<u64>,
}

#[derive(Serialize)]
struct Reason {
    why: Why,
    bytes: u64,
}

#[derive(Serialize)]
struct Search<'a> {
    need_bytes: u64,
    need_is: &'static str,
    drive_bytes: u64,
    most_drives: usize,
    met: bool,
    kinds: Vec<Found<'a>>,
}

#[derive(Serialize)]
struct Found<'a> {
    kind: String,
    smallest: Option<Smallest<'a>>,
    near_miss: Option<Missed<'a>>,
    nearest: Option<Missed<'a>>,
}

#[derive(Serialize)]
struct Smallest<'a> {
    #[serde(flatten)]
    row: Row<'a>,
    over_bytes: u64,
}

#[derive(Serialize)]
struct Missed<'a> {
    #[serde(flatten)]
    row: Row<'a>,
    short_bytes: u64,
}

fn row<'a>(
    array: Option<&'a str>,
    layout: &Layout,
    file_system: FileSystem,
    space: &Space,
) -> Row<'a> {
    let (name, record, sector) = match file_system {
        FileSystem::Pool { record, sector } => ("zfs", Some(record), Some(sector)),
        FileSystem::Bare => ("none", None, None),
        FileSystem::Ext4 { .. } => ("ext4", None, None),
        FileSystem::Xfs { .. } => ("xfs", None, None),
        FileSystem::Btrfs { .. } => ("btrfs", None, None),
    };
    Row {
        layout: layout.to_string(),
        array,
        drives: layout.all_drives(),
        survives_any: layout.survives_any(),
        file_system: name,
        record_bytes: record.map(Bytes::get),
        sector_bytes: sector.map(Bytes::get),
        raw_bytes: space.raw.get(),
        redundancy_bytes: space.redundancy.get(),
        padding_bytes: space.padding.get(),
        spares_bytes: space.spares.get(),
        unused_bytes: space.unused_bytes().get(),
        unused: space
            .unused
            .iter()
            .map(|Unused { bytes, why }| Reason {
                why: *why,
                bytes: bytes.get(),
            })
            .collect(),
        metadata_bytes: space.metadata.get(),
        reserve_bytes: space.reserve.get(),
        usable_bytes: space.usable.get(),
        comfortable_bytes: space.comfortable.get(),
        listed_bytes: space.listed.map(Bytes::get),
    }
}

pub(crate) fn layouts(counted: &[Counted]) -> std::io::Result<String> {
    let row = |c| {
        let Counted {
            array,
            layout,
            terms: Terms { file_system, .. },
            space,
        }: &Counted = c;
        row(array.as_deref(), layout, *file_system, space)
    };
    document(Layouts {
        layouts: counted.iter().map(row).collect(),
    })
}

pub(crate) fn search(wanted: &Wanted, search: &LayoutSearch) -> std::io::Result<String> {
    let row = |layout: &Layout, space: &Space| {
        let file_system = wanted.choices.file_system_on(layout.level());
        row(None, layout, file_system, space)
    };
    let missed = |miss: &Miss| Missed {
        row: row(&miss.layout, &miss.space),
        short_bytes: miss.short_by.get(),
    };
    document(Search {
        need_bytes: wanted.need.asked().get(),
        need_is: match wanted.need {
            Need::Usable(_) => "usable",
            Need::Comfortable(_) => "comfortable",
        },
        drive_bytes: wanted.size.bytes().get(),
        most_drives: wanted.most_drives,
        met: search.is_met(),
        kinds: search
            .found
            .iter()
            .map(|(kind, found)| Found {
                kind: kind.to_string(),
                smallest: found.meets.as_ref().map(|met| Smallest {
                    row: row(&met.layout, &met.space),
                    over_bytes: met.over_by.get(),
                }),
                near_miss: found.near_miss.as_ref().map(missed),
                nearest: found.nearest.as_ref().map(missed),
            })
            .collect(),
    })
}

fn document<T: Serialize>(answer: T) -> std::io::Result<String> {
    Document::of("capacity")
        .cautions([NOT_A_BACKUP])
        .answer(answer)
        .text()
}
