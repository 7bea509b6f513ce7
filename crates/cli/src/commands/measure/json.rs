//! What was found as a program reads it. Keys are a contract: see docs/json.md.

use super::files::Measured as Files;
use super::machine::{Shown, duplex, kind, not_there};
use super::network::Measured as Network;
use crate::render::document::Document;
use narrows_core::quantity::{six_digits, three_digits};
use narrows_probe::files::{ReadBack, Written};
use narrows_probe::says::{Activity, Running, Turning};
use narrows_probe::series::{Judged, Remarked, Trips};
use serde::Serialize;
use serde_json::{Value, json};

fn document(site: Option<&str>, answer: &impl Serialize) -> std::io::Result<String> {
    Document::of("measure")
        .site(site)
        .cautions(["An array is not a backup."])
        .answer(answer)
        .text()
}

fn judged(judged: Option<&Judged>) -> Value {
    let Some(judged) = judged else {
        return Value::Null;
    };
    let remark = |remark: &Remarked| match remark {
        Remarked::DropsAfter(_) => "drops-after",
        Remarked::RoseAfter(_) => "rose-after",
        Remarked::WentAway => "went-away",
        Remarked::Varies => "varies",
        Remarked::Short => "short",
    };
    json!({
        "mean": six_digits(judged.rate.mean),
        "from": six_digits((judged.rate.mean - judged.rate.half_width).max(0.0)),
        "to": six_digits(judged.rate.mean + judged.rate.half_width),
        "windows": judged.rate.count,
        "slow_windows": six_digits(judged.slow_windows),
        "fast_windows": six_digits(judged.fast_windows),
        "dropped_s": six_digits(judged.dropped.as_secs_f64()),
        "judged_s": six_digits(judged.judged.as_secs_f64()),
        "levels": judged.levels.means.iter().map(|level| six_digits(*level)).collect::<Vec<_>>(),
        "noticed": judged.remarks.iter().map(remark).collect::<Vec<_>>(),
    })
}

fn trips(trips: Option<Trips>) -> Value {
    trips.map_or(Value::Null, |trips| {
        json!({
            "least": six_digits(trips.least),
            "median": six_digits(trips.median),
            "in_19_of_20": six_digits(trips.nearly_all),
            "count": trips.count,
        })
    })
}

#[allow(clippy::too_many_lines)] // one key after another
pub(super) fn machine(shown: &Shown<'_>) -> std::io::Result<String> {
    let machine = shown.machine;
    let guest = machine.processor.as_ref().is_ok_and(|p| p.guest);
    let links: Vec<Value> = machine
        .links
        .iter()
        .map(|link| {
            json!({
                "name": link.name,
                "kind": kind(link.kind),
                "up": link.is_up(),
                "link_megabits_per_s": link.rate.as_ref().ok().map(|rate| rate.megabits()),
                "duplex": link.duplex.as_ref().ok().map(|_| duplex(link)),
                "mtu": link.largest_packet.as_ref().ok(),
                "members": link.members(),
                "tag": link.tag.as_ref().map(|tag| tag.number),
                "slot": link.slot.as_ref().ok().filter(|_| !guest).map(ToString::to_string),
                "usb_megabits_per_s": link.usb.as_ref().and_then(|bus| bus.as_ref().ok()),
                "bad_frames": link.errors.spoilt(),
                "came_and_went": link.changes.as_ref().ok(),
                "signal_dbm": link.radio.as_ref().and_then(|radio| radio.signal.as_ref().ok()),
            })
        })
        .collect();
    let shares: Vec<Value> = machine
        .shares()
        .map(|mount| {
            json!({
                "folder": mount.point,
                "service": mount.service.word(),
                "file_system": mount.file_system,
                "protocol_version": mount.version.as_ref().ok(),
                "signed": mount.signed.as_ref().ok(),
                "encrypted": mount.encrypted.as_ref().ok(),
                "connections": mount.connections.as_ref().ok(),
                "user_space": mount.user_space,
                "fill": shown.fills.iter().find(|(point, _)| *point == mount.point).map(|(_, fill)| six_digits(*fill)),
            })
        })
        .collect();
    let drives: Vec<Value> = machine
        .drives
        .iter()
        .map(|drive| {
            json!({
                "name": drive.name,
                "bytes": drive.bytes,
                "spinning": drive.turning.as_ref().ok().map(|turning| *turning == Turning::Likely),
                "shingled": drive.shingled,
            })
        })
        .collect();
    let arrays: Vec<Value> = machine
        .arrays
        .iter()
        .map(|array| {
            json!({
                "name": array.name,
                "layout": array.layout,
                "running": array.running != Running::No,
                "drives": array.wanted,
                "failed": array.failed,
                "spares": array.spares,
                "rebuilding": matches!(array.activity, Some(Activity::Rebuilding | Activity::Waiting)),
                "scrubbing": array.activity == Some(Activity::Scrubbing),
                "done": array.done.map(six_digits),
            })
        })
        .collect();
    let differences: Vec<Value> = shown
        .differences
        .iter()
        .map(|difference| {
            json!({
                "path": difference.path,
                "line": difference.line.map(|line| line.number),
                "in_file": difference.line.is_some_and(|line| line.whole),
                "this_machine": difference.machine,
                "in_site": difference.site,
                "set": difference.set,
            })
        })
        .collect();
    let missing: Vec<Value> = not_there(machine)
        .into_iter()
        .map(|(fact, because)| json!({ "fact": fact, "because": because }))
        .collect();
    document(
        shown.site,
        &json!({
            "links": links,
            "shares": shares,
            "local_drives": drives,
            "raid": arrays,
            "cores": machine.processor.as_ref().ok().map(|p| p.cores),
            "helps_encryption": machine.processor.as_ref().ok().map(|p| p.aes),
            "guest": guest,
            "memory_bytes": machine.memory.as_ref().ok().map(|m| m.total),
            "not_there": missing,
            "site_piece": shown.piece,
            "differences": differences,
            "untried": machine.untried,
        }),
    )
}

pub(super) fn files(measured: &Files) -> std::io::Result<String> {
    let found = &measured.found;
    let write = |written: &Written| {
        json!({
            "megabytes_per_s": judged(written.judged.as_ref()),
            "bytes": written.bytes,
            "until_last_write_s": six_digits(written.until_last_write.as_secs_f64()),
            "until_safe_s": six_digits(written.until_safe.as_secs_f64()),
        })
    };
    let read = |read: &ReadBack| {
        json!({
            "megabytes_per_s": judged(read.judged.as_ref()),
            "bytes": read.bytes,
            "took_s": six_digits(read.took.as_secs_f64()),
            "memory_forgotten": read.forgotten,
            "past_memory": read.direct,
        })
    };
    document(
        None,
        &json!({
            "folder": measured.folder,
            "woken_after_s": found.woken.map(|woken| six_digits(woken.as_secs_f64())),
            "write": write(&found.written),
            "read": read(&found.read),
            "at_once": found.several.as_ref().map(|several| json!({
                "files": several.files,
                "write": write(&several.written),
                "read": read(&several.read),
            })),
            "small_files": found.small.as_ref().map(|small| json!({
                "count": small.count,
                "written_a_second": six_digits(small.write.a_second),
                "write_cost_ms": six_digits(small.write.cost_ms),
                "read_a_second": six_digits(small.read.a_second),
                "read_cost_ms": six_digits(small.read.cost_ms),
                "removed_a_second": six_digits(small.removed_a_second),
            })),
            "create_ms": trips(found.opening.map(|opening| opening.create)),
            "open_ms": trips(found.opening.map(|opening| opening.open)),
            "smaller_than_memory": measured.short_of_memory,
        }),
    )
}

pub(super) fn network(measured: &Network) -> std::io::Result<String> {
    let mut runs = Vec::new();
    for run in &measured.runs {
        let way = |way: &Option<narrows_probe::network::OneWay>| {
            way.as_ref().map(|way| {
                json!({
                    "megabytes_per_s": judged(way.judged.as_ref()),
                    "bytes": way.bytes(),
                    "evenness": six_digits(narrows_probe::series::evenness(
                        &way.each.iter().map(|bytes| *bytes as f64).collect::<Vec<_>>(),
                    )),
                })
            })
        };
        runs.push(json!({
            "way": run.plan.way.word(),
            "streams": run.plan.streams,
            "seconds": run.plan.seconds,
            "held_to_megabytes_per_s": run.plan.held_to.map(|rate| six_digits(rate as f64 / 1e6)),
            "read": way(&run.read),
            "write": way(&run.write),
            "round_trip_ms": trips(run.trips),
            "sent_again_here": run.here.resent.as_ref().ok().map(|resent| resent.resent),
            "sent_again_there": run.resent_there,
            "busiest_core_here": run.here.busy.as_ref().ok().map(|busy| six_digits(busy.busiest)),
            "busiest_core_there": run.busiest_there.map(six_digits),
            "other_programs_here": run.here.others.as_ref().ok().map(|others| six_digits(*others)),
        }));
    }
    document(
        None,
        &json!({
            "runs": runs,
            "own_limit_megabytes_per_s": measured.own.map(six_digits),
            "through": measured.link.as_ref().map(|link| &link.name),
            "bad_frames": measured.bad_frames,
            "fits_link_megabits_per_s": measured.fits().map(|rate| three_digits(rate.megabits()).parse::<f64>().ok()),
        }),
    )
}
