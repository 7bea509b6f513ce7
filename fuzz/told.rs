//! Readers of what people and machines say: readings and remarks, rows of the catalogue, texts of the system
//! and of the other side of a measurement.

use crate::{Known, Target, all, seeds, text};
use narrows_core::catalogue::each_row;
use narrows_probe::network::control::{LONGEST_LINE, parse};
use narrows_probe::says::{self, DriveTexts, KindTexts};
use std::hint::black_box;

/// The readers.
pub(crate) fn targets() -> Vec<Target> {
    vec![
        Target {
            name: "reading",
            seeds: examples("readings"),
            run: |known, bytes| {
                let _ = black_box(known.listener.list(bytes));
                Ok(())
            },
        },
        Target {
            name: "remark",
            seeds: seeds(&[
                "100 GB to the NAS took 23 minutes",
                "another computer is just as slow",
                "cut-1 copy read 42 MB/s",
                "we only get 35mb/s writing to the nas on the second floor",
                "it is fast for a minute and then drops to 60 MB/s",
                "playback of two layers stutters",
            ]),
            run: |known, bytes| {
                let said = text(bytes);
                let _ = black_box(known.listener.understand(&said));
                let _ = black_box(known.listener.hear(&said));
                Ok(())
            },
        },
        Target {
            name: "catalogue",
            seeds: all(narrows_data::NUMBERS),
            run: catalogue,
        },
        Target {
            name: "probe",
            seeds: seeds(&[
                "802.3ad 4\n",
                "md1 : active raid5 sdg1[5] sdd1[3](F)\n  11720779776 blocks level 5 [4/3] [U_UU]\n",
                "88 31 0:57 / /mnt/vault rw - cifs //store/vault rw,vers=3.1.1,seal\n",
                "Tcp: MaxConn OutSegs RetransSegs\nTcp: -1 1000000 200\n",
                "cpu0 1000 0 500 20000 100 0 50 0 0 0\n",
                "MemTotal: 16319540 kB\n",
                " wlan0: 0000 58. -52. -256 0 0 0 3 41 0\n",
                "Iface\tDestination\tGateway\tFlags\nfast\t000200C0\t00000000\t0001\n",
                "8.0 GT/s PCIe",
                "take 00000000000000000000000000000000 both streams=4 seconds=8 bytes-at-most=12000000000 echo=yes held-to=5",
                "counts 27262976:250000 27262976:250001",
            ]),
            run: probe,
        },
    ]
}

/// Example files of one kind.
fn examples(kind: &str) -> Vec<Vec<u8>> {
    let of_kind = narrows_data::EXAMPLES
        .iter()
        .filter(|example| example.0 == kind);
    of_kind
        .map(|example| example.3.as_bytes().to_vec())
        .collect()
}

/// A row may be refused; every cell of one that is not can be asked for.
fn catalogue(_: &Known, bytes: &[u8]) -> Result<(), String> {
    let read = each_row("a file", &text(bytes), |row| {
        let _ = black_box((row.text(0)?, row.optional(4)));
        let number = row.number(1)?;
        let _ = black_box(row.link(2));
        if number.is_finite() {
            Ok(())
        } else {
            Err(row.fault("no number".to_owned()))
        }
    });
    // what is refused says where
    match read {
        Err(fault) if fault.to_string().is_empty() => Err("a fault says nothing".to_owned()),
        _ => Ok(()),
    }
}

/// Texts go to every parser, since they come where they do not belong.
fn probe(_: &Known, bytes: &[u8]) -> Result<(), String> {
    let lossy = text(bytes);
    let text = lossy.as_str();
    let _ = black_box((says::rate(text), says::duplex(text), says::carrier(text)));
    let _ = black_box((
        says::state(text),
        says::joined(text, &[]),
        says::tagged(text),
    ));
    let _ = black_box(says::kind(KindTexts {
        uevent: Some(text),
        ..KindTexts::default()
    }));
    let _ = black_box(says::drive(DriveTexts {
        name: text,
        size: Some(text),
        ..DriveTexts::default()
    }));
    let _ = black_box((says::slot(text, text), says::usb_bus(text)));
    let _ = black_box((says::tcp(text), says::ticks(text), says::processor(text)));
    let _ = black_box((
        says::memory(text),
        says::radios(text),
        says::radio_rate(text),
    ));
    let _ = black_box(says::own_ticks(text));
    let _ = black_box((says::foreign_link(text), says::foreign_mounts(text)));
    let address = std::net::Ipv4Addr::new(192, 0, 2, 10);
    let _ = black_box(says::way_to(text, address));
    for array in says::arrays(text) {
        if array.name.chars().any(char::is_control) {
            return Err(format!("an array is called {:?}", array.name));
        }
    }
    for mount in says::mounts(text) {
        if mount.source.contains('@') || mount.source.chars().any(char::is_control) {
            return Err(format!("a share comes from {:?}", mount.source));
        }
    }
    if let Ok(line) = parse(bytes) {
        // a greeting is said in our own version
        let again = line.to_string();
        let same = parse(again.as_bytes()).is_ok_and(|same| same == line);
        if !same && again.len() < LONGEST_LINE && !again.starts_with("narrows-probe") {
            return Err(format!("a line does not read back from '{again}'"));
        }
    }
    Ok(())
}
