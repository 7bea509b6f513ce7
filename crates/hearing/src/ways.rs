//! Which way something went, and what it was of, where words say so outright.

use crate::amounts::amounts;
use crate::units::Unit;
use crate::words::{Word, words};

/// Words for the end where the array is.
const STORAGE: &[&str] = &[
    "nas", "server", "servers", "box", "storage", "share", "array", "raid", "host", "store",
    "pool", "volume", "filer", "backup", "archive", "it",
];

/// Words for the end where somebody sits.
const DESK: &[&str] = &[
    "desk",
    "desktop",
    "laptop",
    "pc",
    "computer",
    "workstation",
    "me",
    "us",
    "client",
    "machine",
    "mac",
    "notebook",
    "tower",
    "here",
    "home",
];

/// Words that may stand between a preposition and its end.
const BETWEEN: &[&str] = &[
    "the", "a", "my", "our", "that", "this", "its", "network", "file", "big", "old", "edit",
    "editing", "edit", "remote", "same", "main", "new", "disk", "of", "storage", "server",
    "little", "teh", "hte",
];

fn text(all: &[Word], at: usize) -> &str {
    all.get(at).map_or("", |w| w.text.as_str())
}

/// Whether an end follows, with the words between.
fn end_at(all: &[Word], at: usize, ends: &[&str]) -> bool {
    (at..at + 4)
        .find(|i| !BETWEEN.contains(&text(all, *i)) || ends.contains(&text(all, *i)))
        .is_some_and(|i| {
            ends.contains(&text(all, i))
                || text(all, i.wrapping_sub(1)) == "network" && text(all, i) == "disk"
        })
        || (text(all, at) == "the"
            && text(all, at + 1) == "network"
            && ["disk", "drive", "folder"].contains(&text(all, at + 2))
            && ends.contains(&"nas"))
}

/// `read` or `write`, where the words leave no doubt.
pub fn way(said: &str) -> Option<&'static str> {
    let all = words(said);
    let (mut reads, mut writes) = (0, 0);
    for at in 0..all.len() {
        let word = text(&all, at);
        let next = text(&all, at + 1);
        let source = ["from", "off", "out"].contains(&word);
        let target = ["to", "onto", "into", "towards", "toward", "on", "over"].contains(&word);
        let begin = at
            + 1
            + usize::from(word == "out" && next == "of")
            + usize::from(word == "off" && next == "of");
        if source && end_at(&all, begin, STORAGE) {
            reads += 2;
        }
        if source && word != "off" && end_at(&all, begin, DESK) {
            writes += 1;
        }
        // who logs in moves nothing
        let enters = ["logged", "log", "logging", "plugged", "looked", "went"]
            .contains(&text(&all, at.wrapping_sub(1)));
        if ["reach", "reached", "reaching"].contains(&word) && end_at(&all, at + 1, STORAGE) {
            writes += 2;
        }
        if target
            && !enters
            && word != "on"
            && word != "over"
            && end_at(&all, begin, STORAGE)
            && text(&all, at.wrapping_sub(1)) != "ping"
        {
            writes += 2;
        }
        if target && word != "over" && word != "on" && end_at(&all, begin, DESK) {
            reads += 1;
        }
        // "nas to laptop", "desk to nas"
        let pair = word == "to" || word == ">";
        let before = text(&all, at.wrapping_sub(1));
        if pair && STORAGE.contains(&before) && before != "it" && end_at(&all, at + 1, DESK) {
            reads += 2;
        }
        if pair && DESK.contains(&before) && end_at(&all, at + 1, STORAGE) {
            writes += 2;
        }
        let lands = ["lands", "landed", "arrives", "arrived", "stored"]
            .contains(&text(&all, at.wrapping_sub(1)));
        if lands && ["on", "at"].contains(&word) && end_at(&all, begin, STORAGE) {
            writes += 2;
        }
        let sends = ["sending", "sends"].contains(&word) && STORAGE.contains(&before);
        reads += 3 * i32::from(sends);
        match word {
            "read" | "reads" | "reading" | "download" | "downloads" | "downloading"
            | "downloaded" | "fetch" | "fetching" | "fetched" | "pull" | "pulls" | "pulled"
            | "pulling" | "receive" | "receiving" | "received" | "recieve" | "retrieving"
            | "down" => reads += 1,
            "write" | "writes" | "writing" | "wrote" | "written" | "upload" | "uploads"
            | "uploading" | "uploaded" | "save" | "saving" | "saves" | "push" | "pushing"
            | "dumping" | "archiving" | "up" | "send" => writes += 1,
            _ => {}
        }
    }
    match reads - writes {
        1.. => Some("read"),
        0 => None,
        _ => Some("write"),
    }
}

/// Phrases that say outright what was measured.
const KINDS: &[(&str, &[&str])] = &[
    (
        "errors",
        &[
            "segments were resent",
            "packets go missing",
            "crc errors",
            "input errors",
            "bad frames",
            "checksum errors",
            "segments resent",
        ],
    ),
    (
        "core-busy",
        &[
            "busiest core",
            "cpu core",
            "per core",
            "one core",
            "hottest core",
            "cpu thread",
            "most loaded core",
        ],
    ),
    (
        "raw-tcp",
        &[
            "tcp test",
            "raw tcp",
            "pure tcp",
            "tcp from",
            "tcp thruput",
            "tcp throughput",
            "tcp tester",
            "socket test",
            "network test",
            "line test",
            "wire test",
            "memory to memory",
            "bandwidth test",
            "no disks",
            "without disks",
            "without any disk",
            "no files",
            "without files",
            "network benchmark",
            "socket test",
            "speed test between",
            "speed test against",
            "speed test sending",
            "network only",
            "bandwidth tester",
            "between the two boxes",
            "between the two machines",
            "raw network",
        ],
    ),
    (
        "local-array",
        &[
            "on the nas itself",
            "on the server itself",
            "logged in",
            "logged into",
            "own console",
            "server console",
            "inside the nas",
            "right on the server",
            "tested directly in",
            "built in test",
            "built in benchmark",
            "from its own drives",
            "on the storage machine itself",
            "not over the network",
            "on the storage host",
            "s own console",
        ],
    ),
    (
        "local-disk",
        &[
            "own drive",
            "own ssd",
            "own disk",
            "own hard disk",
            "scratch disk",
            "scratch drive",
            "internal disk",
            "internal ssd",
            "internal drive",
            "local drive",
            "local ssd",
            "local disk",
            "card reader",
            "usb disk on my",
            "usb drive",
            "usb stick",
            "memory stick",
            "stick in my",
            "disk in my",
            "drive on my",
            "hard disk alone",
            "ssd in my",
        ],
    ),
    (
        "playback",
        &[
            "playback",
            "timeline",
            "multicam",
            "stutter",
            "stutters",
            "judders",
            "plays",
            "angles",
            "layers",
            "play in real time",
            "not play",
        ],
    ),
    (
        "link-rate",
        &[
            "link speed",
            "negotiated",
            "linked at",
            "links at",
            "port shows",
            "came up at",
            "came up with",
            "comes up at",
            "comes up with",
            "syncs at",
            "trained at",
            "connected at",
            "full duplex",
            "connection speed",
            "speed of the connection",
        ],
    ),
    (
        "ping",
        &[
            "ping",
            "pings",
            "pinging",
            "round trip",
            "latency",
            "answers a ping",
        ],
    ),
    (
        "many-files",
        &[
            "small files",
            "thumbnails",
            "image sequence",
            "image sequences",
            "stills",
            "textures",
            "jpegs",
            "jpgs",
            "previews",
            "tiny files",
        ],
    ),
];

/// What was measured, where the words say so outright.
pub(crate) fn kind(said: &str) -> Option<&'static str> {
    let all: Vec<String> = words(said).into_iter().map(|w| w.text).collect();
    let joined = format!(" {} ", all.join(" "));
    KINDS
        .iter()
        .find(|(_, phrases)| phrases.iter().any(|p| joined.contains(&format!(" {p} "))))
        .map(|(kind, _)| *kind)
}

/// Words that only stand where many files are meant.
const MANY: &[&str] = &[
    "files",
    "photos",
    "photo",
    "images",
    "image",
    "pictures",
    "stills",
    "raws",
    "jpegs",
    "jpgs",
    "frames",
    "sequence",
    "clips",
    "hundreds",
    "thousands",
    "loads",
    "lots",
    "documents",
    "library",
    "folder",
    "folders",
    "assets",
    "icons",
    "fonts",
];

/// From so many files on a copy is one of many files, if they are small.
const FILES: f64 = 200.0;

/// Bytes of a small file, at most.
const SMALL: f64 = 2e7;

/// What was measured, where weights were not sure and the amounts say more: many small files with their size are many files, and
/// without a word of files they are none; what moves files is no test of the wire.
pub(crate) fn by_amounts(kind: &str, said: &str) -> &'static str {
    let all = amounts(said);
    let files = all.iter().find(|a| matches!(a.unit, Unit::Files(_)));
    let size = all.iter().filter(|a| !a.each).find_map(|a| match a.unit {
        Unit::Data {
            bytes, over: None, ..
        } => Some(a.middle() * bytes),
        _ => None,
    });
    let words = words(said);
    let names = |known: &[&str]| words.iter().any(|w| known.contains(&w.text.as_str()));
    match (kind, files, size) {
        ("copy", Some(files), Some(size)) if files.low >= FILES && size / files.low < SMALL => {
            "many-files"
        }
        ("many-files", None, _) if !names(MANY) => "copy",
        ("raw-tcp", None, _) if names(&["files", "file", "clips", "clip"]) => "copy",
        _ => "",
    }
}
