//! What measuring itself costs: the network probe over loopback beside a plain loop, the file probe beside plain calls.
#![allow(clippy::unwrap_used)] // a bench that cannot run says enough

use divan::Bencher;
use divan::counter::BytesCount;
use narrows_probe::files::{Asked, measure};
use narrows_probe::network::{Asking, BLOCK, Limits, Plan, Token, Waiting, Way};
use std::io::{Read, Seek, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::sync::atomic::AtomicBool;
use std::time::Duration;

fn main() {
    divan::main();
}

const GIGABYTE: u64 = 1_000_000_000;
const FILE: u64 = 64 << 20;

/// Bytes of one stream from a waiting side, proof and plan included.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn network_probe(bencher: Bencher<'_, '_>) {
    let stop = AtomicBool::new(false);
    bencher.counter(BytesCount::new(GIGABYTE)).bench_local(|| {
        let token = Token::new().unwrap();
        let waiting = Waiting::at(SocketAddr::from((Ipv4Addr::LOCALHOST, 0))).unwrap();
        let address = waiting.address().unwrap();
        let limits = Limits::default();
        std::thread::scope(|scope| {
            scope.spawn(|| waiting.serve(&token, &limits, &stop, &mut |_| {}));
            let mut asking = Asking::connect(address, &token, &stop).unwrap();
            let plan = Plan {
                way: Way::Receive,
                streams: 1,
                seconds: 60,
                bytes: GIGABYTE,
                echo: false,
                held_to: None,
            };
            let run = asking.run(plan).unwrap();
            asking.end().unwrap();
            run.read.unwrap().bytes()
        })
    });
}

/// The same bytes by a loop of writes and reads, and nothing else.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn plain_loop(bencher: Bencher<'_, '_>) {
    bencher.counter(BytesCount::new(GIGABYTE)).bench_local(|| {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let address = listener.local_addr().unwrap();
        std::thread::scope(|scope| {
            scope.spawn(move || {
                let (mut stream, _) = listener.accept().unwrap();
                let block = vec![7; BLOCK];
                let mut left = GIGABYTE as usize;
                while left > 0 {
                    let size = left.min(BLOCK);
                    stream.write_all(&block[..size]).unwrap();
                    left -= size;
                }
            });
            let mut stream = TcpStream::connect(address).unwrap();
            let mut buffer = vec![0; BLOCK];
            let mut all = 0;
            loop {
                let count = stream.read(&mut buffer).unwrap();
                if count == 0 {
                    break all;
                }
                all += count;
            }
        })
    });
}

/// 64 MiB written, made safe and read back.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn file_probe(bencher: Bencher<'_, '_>) {
    let stop = AtomicBool::new(false);
    let asked = Asked {
        folder: std::env::temp_dir(),
        bytes: FILE,
        time: Duration::from_secs(60),
        at_once: 0,
        small: 0,
        settle: Duration::ZERO,
    };
    bencher
        .counter(BytesCount::new(FILE))
        .bench_local(|| measure(&asked, &stop, &mut |_| {}).unwrap().read.bytes);
}

/// The same by plain calls.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn plain_file(bencher: Bencher<'_, '_>) {
    bencher.counter(BytesCount::new(FILE)).bench_local(|| {
        let path = std::env::temp_dir().join(format!("narrows-bench-{}", std::process::id()));
        let mut file = std::fs::OpenOptions::new()
            .read(true)
            .write(true)
            .create_new(true)
            .open(&path)
            .unwrap();
        let piece = vec![7; 1 << 20];
        for _ in 0..FILE >> 20 {
            file.write_all(&piece).unwrap();
        }
        file.sync_all().unwrap();
        file.rewind().unwrap();
        let mut buffer = vec![0; 1 << 20];
        let mut all = 0;
        loop {
            let count = file.read(&mut buffer).unwrap();
            if count == 0 {
                break;
            }
            all += count;
        }
        drop(file);
        std::fs::remove_file(&path).unwrap();
        all
    });
}
