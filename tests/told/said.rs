//! What people noticed, by words in what they wrote.

use super::{hops, number, text, texts};
use narrows_core::explain::Remark;
use serde_json::Value;

/// Words in what people wrote, and the remark they make; all words of a row have to be there.
const SAID: &[(&[&str], &str)] = &[
    (&["no retransmi"], "no-retransmissions"),
    (&["stalls"], "stalls"),
    (&["stall", "zero"], "stalls"),
    (&["burst", "wait"], "bursts"),
    (&["drops to 0"], "bursts"),
    (&["pulses"], "bursts"),
    (&["sawtooth"], "bursts"),
    (&["retransmi"], "retransmissions"),
    (&["packet loss"], "retransmissions"),
    (&["varies"], "varies"),
    (&["unstable"], "varies"),
    (&["fluctuat"], "varies"),
    (&["starts", "falls"], "drops-after"),
    (&["starts", "tails"], "drops-after"),
    (&["starts", "drops"], "drops-after"),
    (&["starts", "then"], "drops-after"),
    (&["falls from"], "drops-after"),
    (&["collapses"], "drops-after"),
    (&["at first", "after"], "drops-after"),
    (&["buffer fills"], "buffer-filled"),
    (&["buffer zone"], "drops-after"),
    (&["reboot"], "fine-after-restart"),
    (&["restart"], "fine-after-restart"),
    (&["upgrade"], "after-update"),
    (&["update"], "after-update"),
    (&["faster before"], "better-before"),
    (&["was fine before"], "better-before"),
    (&["another not"], "other-computer-better"),
    (&["another system"], "other-computer-better"),
    (&["another client", "fine"], "other-computer-better"),
    (&["another computer", "fine"], "other-computer-better"),
    (&["sibling", "fine"], "other-service-better"),
    (&["sftp reach"], "other-service-better"),
    (&["other protocol", "fine"], "other-service-better"),
    (
        &["single-threaded", "as many streams"],
        "one-thread-tool-many-streams",
    ),
    (&["single-threaded"], "one-thread-tool"),
    (&["weaker cipher"], "without-encryption-better"),
    (&["without encryption"], "without-encryption-better"),
    (&["offloads", "off"], "offloads-off"),
    (&["third", "machine"], "third-machine"),
    (&["link errors"], "slot-errors"),
    (&["fragment"], "fragmented"),
    (&["counters split"], "uneven-links"),
    (&["counters", "other port"], "traffic-elsewhere"),
    (&["wired", "fine"], "wired-better"),
    (&["several connections"], "parallel-adds"),
    (&["connections", "add up"], "parallel-adds"),
    (&["frames", "halve"], "smaller-frames-worse"),
    (&["encrypted files directly"], "overlay"),
    (&["overlay"], "overlay"),
    (&["one core", "100"], "core-busy-high"),
    (&["core", "busy"], "core-busy-high"),
    (&["cpu", "low"], "core-busy-low"),
    (&["after idle"], "fine-after-idle"),
    (&["single link gets the same"], "other-computer-same"),
    (&["write cache", "off"], "write-cache-off"),
    (&["dialect 1,"], "old-client"),
    (&["dialect 1 "], "old-client"),
    (&["dialect 2.0"], "old-client"),
    (&["file-manager mount"], "user-space-client"),
    (&["user-space"], "user-space-client"),
    (&["64 kib requests"], "small-requests"),
    (&["32 kib packets"], "small-requests"),
    (&["one outstanding"], "one-request"),
    (&["direct, no switch"], "direct-cable"),
    (&["no difference"], "other-cable-same"),
    (&["no change"], "other-cable-same"),
    (&["vm on"], "virtual-machine"),
    (&["virtual machine"], "virtual-machine"),
    (&["same file"], "memory-warm"),
    (&["buffer warm"], "memory-warm"),
    (&["array-to-array"], "same-drives"),
    (&["inside the array"], "same-drives"),
    (&["same spindles"], "same-drives"),
    (&["distance"], "long-distance"),
    (&["structure between"], "varies"),
    (&["late collision"], "retransmissions"),
    (&["crc"], "retransmissions"),
    (&["checksum error"], "retransmissions"),
    (&["hangs"], "stalls"),
    (&["times out"], "stalls"),
    (&["pauses"], "bursts"),
    (&["slows", "after"], "drops-after"),
    (&["drops", "after"], "drops-after"),
    (&["drifts"], "drops-after"),
    (&["fast at first"], "drops-after"),
    (&["gets slower"], "drops-after"),
    (&["cpu", "100"], "core-busy-high"),
    (&["cpu", "saturated"], "core-busy-high"),
    (&["cpu", "full"], "core-busy-high"),
    (&["cpu", "idle"], "core-busy-low"),
    (&["cpu", "not busy"], "core-busy-low"),
    (&["signing", "faster"], "without-encryption-better"),
    (&["signing off"], "without-encryption-better"),
    (&["one direction"], "one-way-slow"),
    (&["rebuild"], "rebuild-running"),
    (&["scrub"], "rebuild-running"),
    (&["rewrit", "fast"], "fragmented"),
    (&["several", "streams", "add"], "parallel-adds"),
    (&["more streams"], "parallel-adds"),
    (&["wire", "full speed"], "wired-better"),
    (&["last month"], "better-before"),
    (&["was fast"], "better-before"),
];

pub(super) fn remarks(case: &Value) -> Vec<Remark> {
    let mut ids: Vec<(String, String)> = Vec::new();
    let mut notes: Vec<String> = texts(case, "symptoms").map(str::to_owned).collect();
    for part in ["service", "array", "desk", "workload", "host"] {
        notes.push(text(case, &[part, "note"]).to_owned());
        notes.push(text(case, &[part, "drive_note"]).to_owned());
    }
    notes.extend(hops(case).map(|h| text(h, &["note"]).to_owned()));
    let measured = case.get("measured").and_then(Value::as_array);
    notes.extend(
        measured
            .into_iter()
            .flatten()
            .map(|m| text(m, &["note"]).to_owned()),
    );
    for note in notes.iter().filter(|n| !n.is_empty()) {
        let lower = note.to_lowercase();
        for (words, id) in SAID {
            if words.iter().all(|w| lower.contains(w)) {
                ids.push(((*id).to_owned(), note.clone()));
                break;
            }
        }
    }
    let block = number(case, &["workload", "block_kib"]);
    if block.is_some_and(|b| b < 4.0) {
        ids.push(("small-blocks".to_owned(), "small blocks".to_owned()));
    }
    if number(case, &["workload", "queue_depth"]) == Some(1.0) && block.is_some_and(|b| b <= 128.0)
    {
        ids.push(("one-request".to_owned(), "one request at a time".to_owned()));
    }
    if matches!(text(case, &["desk", "disk_class"]), "sd-card" | "hdd-usb") {
        ids.push((
            "slow-desk-disk".to_owned(),
            "slow disk at the desk".to_owned(),
        ));
    }
    let comparisons = case.get("comparisons").and_then(Value::as_array);
    for other in comparisons.into_iter().flatten() {
        if let Some(id) = compared(case, other) {
            ids.push((id.to_owned(), text(other, &["context"]).to_owned()));
        }
    }
    ids.sort();
    ids.dedup_by(|a, b| a.0 == b.0);
    ids.into_iter()
        .map(|(id, text)| Remark {
            text,
            id,
            desk: None,
            rate: None,
            size: None,
            time: None,
        })
        .collect()
}

/// Words of a figure for comparison, and the remark where it is better, the same, or worse; the
/// first row of which a word is there counts, unless one of the second list is there as well.
type Compared = (
    &'static [&'static str],
    &'static [&'static str],
    [Option<&'static str>; 3],
);

const COMPARED: &[Compared] = &[
    (
        &["asynchronous", "async", "without sync"],
        &[],
        [Some("without-sync-better"), None, None],
    ),
    (
        &[
            "cipher",
            "without encryption",
            "unsigned",
            "no signing",
            "signing off",
            "encryption off",
        ],
        &[],
        [Some("without-encryption-better"), None, None],
    ),
    (
        &["streams", "sessions", "in parallel", "connections"],
        &[],
        [
            Some("parallel-adds"),
            Some("parallel-flat"),
            Some("parallel-flat"),
        ],
    ),
    (&["added latency"], &[], [Some("long-distance"), None, None]),
    (
        &["tool", "multi-threaded"],
        &[],
        [Some("other-tool-better"), None, None],
    ),
    (
        &["other cable", "another cable", "new cable"],
        &[],
        [Some("other-cable-better"), Some("other-cable-same"), None],
    ),
    (
        &["frames", "jumbo"],
        &["earlier", "before"],
        [Some("larger-frames-better"), None, None],
    ),
    (
        &[
            "earlier",
            "before",
            "previous",
            "last month",
            "ago",
            "used to",
        ],
        &[],
        [Some("better-before"), None, None],
    ),
    (
        &["adapter", "built-in", "port", "switch"],
        &["same adapter"],
        [Some("other-adapter-better"), None, None],
    ),
    (
        &[
            "another client",
            "another computer",
            "another laptop",
            "on a pc",
            "another system",
            "other client",
        ],
        &[],
        [
            Some("other-computer-better"),
            Some("other-computer-same"),
            None,
        ],
    ),
    (
        &[
            "ssh",
            "sftp",
            "over smb",
            "over nfs",
            "protocol",
            "file system",
            "raid",
        ],
        &[],
        [
            Some("other-service-better"),
            None,
            Some("other-service-worse"),
        ],
    ),
    (&["wired"], &[], [Some("wired-better"), None, None]),
    (
        &["path", "over a"],
        &["same path"],
        [None, Some("slower-path-same"), None],
    ),
];

/// What a figure for comparison says, by its words and by whether it is better.
fn compared(case: &Value, other: &Value) -> Option<&'static str> {
    let context = text(other, &["context"]).to_lowercase();
    let has = |words: &[&str]| words.iter().any(|w| context.contains(w));
    let measured = case.get("measured").and_then(Value::as_array)?;
    let rate = number(other, &["mb_s"])?;
    let own = number(beside(measured, other)?, &["mb_s"])?;
    let which = if rate >= own * 1.2 {
        0
    } else if rate < own * 0.8 {
        2
    } else {
        1
    };
    if text(other, &["what"]) == "local-disk" || has(&["single drive", "each disk", "disk alone"]) {
        let local = measured.iter().any(|m| text(m, &["what"]) == "local-array");
        let said = if local && !has(&["source"]) {
            [Some("one-drive-better"), Some("one-drive-same"), None]
        } else {
            [Some("one-drive-fast-enough"), None, None]
        };
        return said[which];
    }
    let row = COMPARED
        .iter()
        .find(|(words, but, _)| has(words) && !has(but))?;
    row.2[which]
}

/// The figure that another one is to be held against: of the same kind and direction, if there is one.
fn beside<'a>(measured: &'a [Value], other: &Value) -> Option<&'a Value> {
    let way = text(other, &["direction"]);
    let same_way = |m: &&Value| {
        let own = text(m, &["direction"]);
        own == way || own == "unknown" || way == "unknown"
    };
    measured
        .iter()
        .filter(same_way)
        .find(|m| text(m, &["what"]) == text(other, &["what"]))
        .or_else(|| measured.iter().find(same_way))
        .or_else(|| measured.first())
}
