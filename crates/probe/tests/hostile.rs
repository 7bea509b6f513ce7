//! Every parser against texts that were bent: none panics, none grows without bound, and what they say can be shown.
//!
//! A harness for the stable compiler: texts in the documented form are bent by chance that is the same on every machine.
//! 20000 executions by default; `NARROWS_EXECUTIONS=10000000 cargo test -p narrows-probe --test hostile` runs more.

use narrows_probe::network::control::{LONGEST_LINE, parse};
use narrows_probe::says::{self, DriveTexts, KindTexts};
use std::hint::black_box;

/// Texts that are bent; each is given to each parser, since texts come where they do not belong.
const SEEDS: [&str; 23] = [
    "10000\n",
    "-1\n",
    "4294967295",
    "full\n",
    "DEVTYPE=bond\nINTERFACE=bond0\nIFINDEX=7\n",
    "802.3ad 4\n",
    "VLAN Dev name\t | VLAN ID\nlan.30         | 30  | lan\n",
    "md1 : active raid5 sdg1[5] sdh1[6](S) sdd1[3] sdc1[2] sdb1[1](F) sda1[0]\n      11720779776 blocks super 1.2 level 5, 64k chunk, algorithm 2 [4/3] [U_UU]\n      [==>..................]  recovery = 12.6% (492289792/3906926592) finish=341.2min speed=166784K/sec\n",
    "88 31 0:57 / /mnt/vault rw,relatime shared:44 - cifs //store/vault rw,vers=3.1.1,sec=ntlmsspi,username=someone,seal,rsize=4194304,multichannel,max_channels=4\n",
    "91 31 0:60 / /mnt/my\\040vault rw,noatime - nfs4 store:/vault rw,vers=4.2,nconnect=4,sec=krb5p\n95 31 0:63 / /mnt/desk rw - fuse.sshfs someone@store:/vault rw,user_id=1000\n",
    "8.0 GT/s PCIe",
    "Tcp: MaxConn OutSegs RetransSegs InErrs\nTcp: -1 1000000 200 0\nTcpExt: TCPTimeouts ListenDrops\nTcpExt: 3 4\n",
    "cpu0 1000 0 500 20000 100 0 50 0 0 0\ncpu1 1000 0 500 20000 100 0 50 0 0 0\n",
    "7 (a (b) c d) S 1 7 7 0 -1 4194304 91 0 0 0 320 41 0 0 20 0 5 0 1234 9 9\n",
    "processor\t: 0\nphysical id\t: 0\ncore id\t\t: 0\nflags\t\t: fpu aes hypervisor\n",
    "MemTotal:       16319540 kB\nDirty: 812340 kB\nWriteback: 0 kB\n",
    " wlan0: 0000   58.  -52.  -256        0      0      0      3     41        0\n\tsignal: -61 dBm\n\ttx bitrate: 866.7 MBit/s\n",
    "Iface\tDestination\tGateway\tFlags\nfast\t000200C0\t00000000\t0001\t0\t0\t200\t00FFFFFF\t0\t0\t0\n",
    "20010db8000000000000000000000000 20 0 00 0 00000100 1 0 00000001 fast\n",
    "\tmedia: autoselect (10Gbase-T <full-duplex>)\nLinkSpeed  : 2.5 Gbps\nhw.memsize: 17179869184\nSIGNING_ON TRUE\n905822 packets sent\n120 data packets (8 bytes) retransmitted\n",
    "//someone@store/vault on /Volumes/vault (smbfs, nodev)\n",
    "take 00000000000000000000000000000000 both streams=4 seconds=8 bytes-at-most=12000000000 echo=yes held-to=5",
    "counts 27262976:250000 27262976:250001",
];

/// What is put in place of a number, or between two letters.
const ODD: [&str; 14] = [
    "0",
    "-1",
    "18446744073709551616",
    "4294967295",
    "1e308",
    "NaN",
    "inf",
    "",
    "\0",
    "\u{7}",
    "\u{202e}",
    "é",
    " - ",
    "=",
];

struct Luck(u64);

impl Luck {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }
}

fn bend(text: &mut Vec<u8>, luck: &mut Luck) {
    for _ in 0..=luck.below(4) {
        let at = luck.below(text.len() + 1);
        match luck.below(8) {
            0 if at < text.len() => text[at] = luck.next() as u8,
            1 if at < text.len() => text[at] ^= 1 << luck.below(8),
            2 => text.truncate(at),
            3 if at < text.len() => {
                text.remove(at);
            }
            4 => {
                let odd = ODD[luck.below(ODD.len())].bytes();
                text.splice(at..at, odd);
            }
            5 => {
                let other = SEEDS[luck.below(SEEDS.len())].as_bytes();
                let from = luck.below(other.len());
                text.splice(at..at, other[from..].iter().copied());
            }
            6 => {
                // a number becomes another
                let end = text[at..]
                    .iter()
                    .position(|b| !b.is_ascii_digit())
                    .map_or(text.len(), |n| at + n);
                let odd = ODD[luck.below(ODD.len())].bytes();
                text.splice(at..end, odd);
            }
            _ => {
                let copy = text.clone();
                text.extend(copy);
            }
        }
        text.truncate(4096);
    }
}

/// One text through the parser of that number.
#[allow(clippy::too_many_lines)] // one parser after another
fn run(parser: usize, bytes: &[u8]) {
    let lossy = String::from_utf8_lossy(bytes);
    let text = lossy.as_ref();
    match parser {
        0 => {
            if let Ok(rate) = says::rate(text) {
                assert!((1.0..=800_000.0).contains(&rate.megabits()));
            }
            let _ = black_box((
                says::duplex(text),
                says::carrier(text),
                says::largest_packet(text),
                says::state(text),
            ));
        }
        1 => {
            let kind = says::kind(KindTexts {
                uevent: Some(text),
                hardware: Some(text),
                ..KindTexts::default()
            });
            let _ = black_box((kind, says::joined(text, &[]), says::tagged(text)));
        }
        2 => {
            for array in says::arrays(text) {
                let (wanted, failed) = (array.wanted.unwrap_or(0), array.failed.unwrap_or(0));
                assert!(failed <= wanted && array.name.chars().count() <= 60);
                assert!(!array.name.chars().any(char::is_control));
                assert!(array.done.is_none_or(|done| (0.0..=1.0).contains(&done)));
            }
        }
        3 => {
            let all = says::mounts(text);
            for mount in &all {
                assert!(
                    !mount.source.contains('@') && !mount.source.chars().any(char::is_control),
                    "{mount:?}"
                );
            }
            black_box(says::holding(&all, "/mnt/vault/x"));
        }
        4 => {
            if let Ok(slot) = says::slot(text, text) {
                black_box(says::after_coding(slot));
            }
            let _ = black_box((says::slot(text, "4"), says::usb_bus(text)));
        }
        5 => {
            if let Ok(tcp) = says::tcp(text) {
                let _ = black_box(says::resent(says::Tcp::default(), tcp).map(says::Resent::share));
            }
            let _ = black_box(says::more_of_tcp(text));
        }
        6 => {
            let ticks = says::ticks(text);
            if let Ok(busy) = says::busy(&says::ticks(SEEDS[12]), &ticks) {
                assert!((0.0..=1.0).contains(&busy.busiest) && (0.0..=1.0).contains(&busy.mean));
            }
            if let Ok(own) = says::own_ticks(text)
                && let Ok(others) = says::others(&says::ticks(SEEDS[12]), &ticks, own)
            {
                assert!(others.is_finite() && others >= 0.0);
            }
            if let Ok(processor) = says::processor(text) {
                assert!(processor.threads > 0 && processor.cores > 0);
            }
        }
        7 => {
            let _ = black_box((
                says::memory(text),
                says::radios(text),
                says::radio_rate(text),
            ));
        }
        8 => {
            let _ = black_box(says::drive(DriveTexts {
                name: text,
                size: Some(text),
                rotational: Some(text),
                scheduler: Some(text),
                zoned: Some(text),
                ..DriveTexts::default()
            }));
        }
        9 => {
            let _ = black_box((
                says::way_to(text, std::net::Ipv4Addr::new(192, 0, 2, 10)),
                says::way_to_v6(text, std::net::Ipv6Addr::LOCALHOST),
            ));
        }
        10 => {
            let _ = black_box((
                says::foreign_link(text),
                says::foreign_adapter(text),
                says::foreign_memory(text),
            ));
            let _ = black_box((
                says::foreign_mounts(text),
                says::foreign_sharing(text),
                says::foreign_tcp(text),
            ));
        }
        _ => {
            if let Ok(line) = parse(bytes) {
                // what is understood is said again in the same words, or as fewer
                let again = line.to_string();
                assert!(
                    bytes.len() < LONGEST_LINE
                        && parse(again.as_bytes()).is_ok_and(|same| same == line)
                        || again.len() >= LONGEST_LINE
                        || again.starts_with("narrows-probe"),
                    "{again}"
                );
            }
        }
    }
}

const PARSERS: usize = 12;

#[test]
fn verify_no_text_breaks_a_parser() {
    let executions: u64 = std::env::var("NARROWS_EXECUTIONS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(20_000);
    let mut luck = Luck(executions ^ 0x0d);
    for number in 0..executions {
        let parser = (number % PARSERS as u64) as usize;
        // its own texts most of the time, any other now and then
        let mut text = SEEDS[luck.below(SEEDS.len())].as_bytes().to_vec();
        bend(&mut text, &mut luck);
        run(parser, &text);
    }
}

#[test]
fn verify_floods_are_bounded() {
    let long = "9".repeat(1 << 20);
    let lines = "md0 : active raid1 a[0] b[1]\n".repeat(40_000);
    let cores = "cpu0 1 2 3 4 5 6 7 8\n".repeat(40_000);
    let mounted = "1 0 0:1 / /a rw - nfs4 s:/v rw\n".repeat(40_000);
    for text in [&long, &lines, &cores, &mounted] {
        for parser in 0..PARSERS {
            run(parser, text.as_bytes());
        }
    }
    assert!(says::arrays(&lines).len() <= 256);
    assert!(says::mounts(&mounted).len() <= 4096);
    assert!(says::ticks(&cores).len() <= 4096);
}
