//! The data connections of one run: raw bytes out of the ring, counted where they arrive.

use super::control::{Plan, Way};
use super::wire::again;
use crate::clocked::WINDOW;
use crate::ring::{Ring, seed};
use crate::series::Window;
use std::io::{Read, Write};
use std::net::{Shutdown, TcpStream};
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// Bytes of one read, and of one write that keeps to a rate.
pub const BLOCK: usize = 256 * 1024;
/// Bytes of one write: over loopback a quarter more goes through than with 256 KiB.
const WRITE: usize = 1024 * 1024;
/// Ring of one stream; several share the memory of one.
const RING: usize = 16 << 20;
/// How long bytes under way may take when the time is over.
const GRACE: Duration = Duration::from_secs(3);
/// Bytes of a small packet there and back.
const PING: usize = 64;
/// Small packets of a run that does nothing else.
const PINGS: usize = 200;
/// Left out in front.
const FIRST_PINGS: usize = 10;

/// Which end of a run this is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    Waiting,
    Asking,
}

/// What came in at this end.
#[derive(Clone, Debug, Default)]
pub(super) struct Moved {
    pub(super) windows: Vec<Window>,
    pub(super) each: Vec<u64>,
    pub(super) sent: u64,
    /// ms of small packets there and back, in order.
    pub(super) trips: Vec<f64>,
}

/// Moves the bytes of a plan over its streams; the last one is for small packets where the plan has them.
pub(super) fn run(plan: &Plan, side: Side, streams: Vec<TcpStream>, stop: &AtomicBool) -> Moved {
    let (sends, receives) = match (plan.way, side) {
        (Way::Receive, Side::Waiting) | (Way::Send, Side::Asking) => (true, false),
        (Way::Receive, Side::Asking) | (Way::Send, Side::Waiting) => (false, true),
        (Way::Both, _) => (true, true),
        (Way::Echo, _) => (false, false),
    };
    let mut streams = streams;
    let small = (plan.echo || plan.way == Way::Echo)
        .then(|| streams.pop())
        .flatten();
    let count = streams.len().max(1);
    let ways = if plan.way == Way::Both { 2 } else { 1 };
    let share = plan.bytes / (count as u64 * ways);
    let time = Duration::from_secs(u64::from(plan.seconds));
    let came: Vec<AtomicU64> = streams.iter().map(|_| AtomicU64::new(0)).collect();
    let sent = AtomicU64::new(0);
    let open = AtomicUsize::new(if receives { streams.len() } else { 0 });
    let over = AtomicBool::new(false);
    let pace = plan.held_to.map(|rate| rate as f64 / count as f64);
    let mut moved = Moved::default();
    let stops = Stops { stop, over: &over };
    std::thread::scope(|scope| {
        let mut senders = Vec::new();
        for (stream, came) in streams.iter().zip(&came) {
            if sends && let Ok(own) = stream.try_clone() {
                let (sent, stops) = (&sent, &stops);
                senders.push(scope.spawn(move || {
                    let bytes = send(own, share, time, pace, RING / count, stops);
                    sent.fetch_add(bytes, Ordering::Relaxed);
                }));
            }
            if receives && let Ok(own) = stream.try_clone() {
                let (open, stops) = (&open, &stops);
                scope.spawn(move || {
                    receive(own, share, time, came, stops);
                    open.fetch_sub(1, Ordering::Release);
                });
            } else if receives {
                open.fetch_sub(1, Ordering::Release);
            }
        }
        let pings = small.map(|stream| {
            let stops = &stops;
            let most = if plan.echo { usize::MAX } else { PINGS };
            scope.spawn(move || match side {
                Side::Asking => ping(stream, most, time, stops),
                Side::Waiting => {
                    echo(stream, time, stops);
                    Vec::new()
                }
            })
        });
        moved.windows = count_windows(&came, &open);
        for sender in senders {
            let _ = sender.join();
        }
        if plan.way != Way::Echo {
            over.store(true, Ordering::Relaxed);
        }
        if let Some(pings) = pings {
            moved.trips = pings.join().unwrap_or_default();
        }
    });
    moved.each = came.iter().map(|n| n.load(Ordering::Relaxed)).collect();
    moved.sent = sent.load(Ordering::Relaxed);
    moved
}

struct Stops<'s> {
    /// Somebody stopped it.
    stop: &'s AtomicBool,
    /// The bytes are through.
    over: &'s AtomicBool,
}

impl Stops<'_> {
    fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// Closes windows on one clock over the sum of all streams, until all have ended.
fn count_windows(came: &[AtomicU64], open: &AtomicUsize) -> Vec<Window> {
    let sum = || came.iter().map(|n| n.load(Ordering::Relaxed)).sum::<u64>();
    let mut windows = Vec::new();
    let (mut last, mut opened) = (0, None);
    while open.load(Ordering::Acquire) > 0 {
        let now = Instant::now();
        let all = sum();
        match opened {
            // the clock starts when the first byte is there
            None if all > 0 => opened = Some(now),
            Some(since) if now - since >= WINDOW => {
                windows.push(Window {
                    bytes: all - last,
                    length: now - since,
                });
                last = all;
                opened = Some(now);
            }
            _ => {}
        }
        let wait = opened.map_or(Duration::from_millis(1), |since| {
            WINDOW
                .saturating_sub(since.elapsed())
                .clamp(Duration::from_micros(200), Duration::from_millis(5))
        });
        std::thread::sleep(wait);
    }
    // what is left of a window is kept if it is long enough to mean anything
    if let Some(since) = opened
        && (windows.is_empty() || since.elapsed() * 2 >= WINDOW)
    {
        windows.push(Window {
            bytes: sum() - last,
            length: since.elapsed(),
        });
    }
    windows
}

fn send(
    mut stream: TcpStream,
    most: u64,
    time: Duration,
    pace: Option<f64>,
    ring: usize,
    stops: &Stops<'_>,
) -> u64 {
    let block = pace.map_or(WRITE, |_| BLOCK);
    let mut ring = Ring::of_size(seed(), ring.max(block));
    let start = Instant::now();
    let mut sent = 0;
    'blocks: while sent < most && start.elapsed() < time && !stops.stopped() {
        if let Some(pace) = pace {
            let due = Duration::from_secs_f64((sent as f64 / pace.max(1.0)).min(3600.0));
            let early = due.saturating_sub(start.elapsed());
            if !early.is_zero() {
                std::thread::sleep(early.min(Duration::from_millis(20)));
                continue;
            }
        }
        let left = usize::try_from(most - sent).unwrap_or(block);
        let mut piece = ring.piece(block.min(left));
        while !piece.is_empty() {
            match stream.write(piece) {
                Ok(0) => break 'blocks,
                Ok(count) => {
                    sent += count as u64;
                    piece = piece.get(count..).unwrap_or_default();
                }
                Err(error) if again(&error) => {
                    if start.elapsed() > time || stops.stopped() {
                        break 'blocks;
                    }
                }
                Err(_) => break 'blocks,
            }
        }
    }
    let _ = stream.shutdown(Shutdown::Write);
    sent
}

fn receive(mut stream: TcpStream, most: u64, time: Duration, came: &AtomicU64, stops: &Stops<'_>) {
    let mut buffer = vec![0; BLOCK];
    let start = Instant::now();
    let mut all = 0;
    while all < most && start.elapsed() < time + GRACE && !stops.stopped() {
        // nothing of it is looked at
        match stream.read(&mut buffer) {
            Ok(0) => break,
            Ok(count) => {
                all += count as u64;
                came.fetch_add(count as u64, Ordering::Relaxed);
            }
            Err(error) if again(&error) => {}
            Err(_) => break,
        }
    }
}

fn ping(mut stream: TcpStream, most: usize, time: Duration, stops: &Stops<'_>) -> Vec<f64> {
    let mut packet = [0x5a; PING];
    let mut found = Vec::new();
    let start = Instant::now();
    let mut rounds = 0;
    'rounds: while rounds < most.saturating_add(FIRST_PINGS)
        && start.elapsed() < time
        && !stops.stopped()
        && !stops.over.load(Ordering::Relaxed)
    {
        let sent = Instant::now();
        if stream.write_all(&packet).is_err() {
            break;
        }
        let mut filled = 0;
        while filled < PING {
            match stream.read(packet.get_mut(filled..).unwrap_or_default()) {
                Ok(0) => break 'rounds,
                Ok(count) => filled += count,
                Err(error) if again(&error) => {
                    if start.elapsed() > time + GRACE || stops.stopped() {
                        break 'rounds;
                    }
                }
                Err(_) => break 'rounds,
            }
        }
        rounds += 1;
        if rounds > FIRST_PINGS && found.len() < 100_000 {
            found.push(sent.elapsed().as_secs_f64() * 1e3);
        }
        if most == usize::MAX {
            // beside a load: it is the load that is looked at
            std::thread::sleep(Duration::from_millis(5));
        }
    }
    let _ = stream.shutdown(Shutdown::Both);
    found
}

fn echo(mut stream: TcpStream, time: Duration, stops: &Stops<'_>) {
    let mut packet = [0; PING];
    let start = Instant::now();
    while start.elapsed() < time + GRACE && !stops.stopped() {
        match stream.read(&mut packet) {
            Ok(0) => break,
            Ok(count) => {
                let back = packet.get(..count).unwrap_or_default();
                if stream.write_all(back).is_err() {
                    break;
                }
            }
            Err(error) if again(&error) => {}
            Err(_) => break,
        }
    }
}
