//! The side that asks: connects, proves, plans, and gets the counts.

use super::Broken;
use super::control::{Count, Line, Plan, Way};
use super::meanwhile::{Meanwhile, before};
use super::streams::{Side, run};
use super::token::{Role, Token, nonce};
use super::waiting::connections;
use super::wire::{Control, LINE, bounded};
use crate::series::{Judged, RAMP, Trips, Window, judge, trips};
use std::net::{IpAddr, SocketAddr, TcpStream};
use std::sync::atomic::AtomicBool;
use std::time::Duration;

/// More windows than a minute has.
const MOST_WINDOWS: usize = 400;
/// How long a connection may take to open.
const OPENING: Duration = Duration::from_secs(5);

/// One way of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct OneWay {
    /// MB/s with its interval, by the clock of the side that received.
    pub judged: Option<Judged>,
    /// Windows.
    pub windows: Vec<Window>,
    /// Bytes by stream.
    pub each: Vec<u64>,
}

impl OneWay {
    fn new(windows: Vec<Window>, each: Vec<u64>) -> Self {
        Self {
            judged: judge(&windows, RAMP),
            windows,
            each,
        }
    }

    /// All bytes.
    pub fn bytes(&self) -> u64 {
        self.each.iter().sum()
    }
}

/// What one run found.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// What was granted.
    pub plan: Plan,
    /// From the waiting side to this one.
    pub read: Option<OneWay>,
    /// From this side to the waiting one.
    pub write: Option<OneWay>,
    /// Small packets there and back.
    pub trips: Option<Trips>,
    /// What this machine did meanwhile.
    pub here: Meanwhile,
    /// Segments that the other machine sent again.
    pub resent_there: Option<u64>,
    /// The busiest core there, from 0 to 1.
    pub busiest_there: Option<f64>,
}

/// A session with a waiting side.
pub struct Asking<'s> {
    control: Control<'s>,
    address: SocketAddr,
    /// The address of this machine in it.
    local: Option<IpAddr>,
    stop: &'s AtomicBool,
}

impl<'s> Asking<'s> {
    /// Connects and proves; the waiting side proves as well.
    ///
    /// # Errors
    /// Where nobody listens, the versions differ, a proof is wrong or the other side speaks no word of ours.
    pub fn connect(
        address: SocketAddr,
        token: &Token,
        stop: &'s AtomicBool,
    ) -> Result<Self, Broken> {
        let stream = TcpStream::connect_timeout(&address, OPENING)
            .map_err(|error| Broken::of("connecting", &error))?;
        let local = stream.local_addr().ok().map(|address| address.ip());
        let mut control = Control::new(stream, stop)?;
        let ours = nonce().map_err(|error| Broken::of("asking for chance", &error))?;
        control.say(&Line::Hello(ours))?;
        let theirs = control.expect(LINE, |line| match line {
            Line::Hello(nonce) => Some(nonce),
            _ => None,
        })?;
        control.say(&Line::Proof(token.proof(Role::Asker, &ours, &theirs)))?;
        let proof = match control.expect(LINE, |line| match line {
            Line::Proof(proof) => Some(proof),
            _ => None,
        }) {
            Err(Broken::Refused(_)) => return Err(Broken::WrongToken),
            other => other?,
        };
        if !token.is_proven(&proof, Role::Waiter, &ours, &theirs) {
            return Err(Broken::WrongToken);
        }
        Ok(Self {
            control,
            address,
            local,
            stop,
        })
    }

    /// The address of this machine in the session.
    pub fn local(&self) -> Option<IpAddr> {
        self.local
    }

    /// Does one plan.
    ///
    /// # Errors
    /// Where the waiting side refuses, leaves, speaks no word of ours or counts what cannot be.
    pub fn run(&mut self, plan: Plan) -> Result<Run, Broken> {
        self.control.say(&Line::Plan(plan))?;
        let (session, granted) = self.control.expect(LINE, |line| match line {
            Line::Take(session, plan) => Some((session, plan)),
            _ => None,
        })?;
        if granted.way != plan.way
            || granted.echo != plan.echo
            || granted.streams == 0
            || granted.streams > plan.streams
            || granted.seconds > plan.seconds
            || granted.bytes > plan.bytes
        {
            return Err(Broken::Lies("it takes more than was asked"));
        }
        let streams = self.streams(&granted, session)?;
        self.control
            .expect(LINE * 2, |line| (line == Line::Go).then_some(()))?;
        let looked = before();
        let moved = run(&granted, Side::Asking, streams, self.stop);
        let here = looked.after();
        let (windows, each, resent_there, busiest) = self.counts(&granted)?;
        let write =
            matches!(granted.way, Way::Send | Way::Both).then(|| OneWay::new(windows, each));
        if write
            .as_ref()
            .is_some_and(|write| write.bytes() > moved.sent)
        {
            return Err(Broken::Lies("it counts more than was sent"));
        }
        Ok(Run {
            read: matches!(granted.way, Way::Receive | Way::Both)
                .then(|| OneWay::new(moved.windows, moved.each)),
            write,
            trips: trips(&moved.trips),
            plan: granted,
            here,
            resent_there,
            busiest_there: busiest.map(|thousandths| f64::from(thousandths.min(1000)) / 1000.0),
        })
    }

    fn streams(
        &self,
        plan: &Plan,
        session: super::control::Nonce,
    ) -> Result<Vec<TcpStream>, Broken> {
        (0..connections(plan))
            .map(|number| {
                let stream = TcpStream::connect_timeout(&self.address, OPENING)
                    .map_err(|error| Broken::of("connecting", &error))?;
                bounded(&stream)?;
                let own = stream
                    .try_clone()
                    .map_err(|error| Broken::of("connecting", &error))?;
                Control::new(own, self.stop)?.say(&Line::Data(session, number as u32))?;
                Ok(stream)
            })
            .collect()
    }

    /// Counts of the other side, held against what they can be.
    #[allow(clippy::type_complexity)]
    fn counts(
        &mut self,
        plan: &Plan,
    ) -> Result<(Vec<Window>, Vec<u64>, Option<u64>, Option<u32>), Broken> {
        let mut windows: Vec<Window> = Vec::new();
        loop {
            let line = self.control.hear(LINE + LINE)?;
            match line {
                Line::Counts(counts) => {
                    windows.extend(counts.iter().map(|Count { bytes, length }| Window {
                        bytes: *bytes,
                        length: *length,
                    }));
                    let length = windows
                        .iter()
                        .try_fold(Duration::ZERO, |sum, window| sum.checked_add(window.length));
                    let most = Duration::from_secs(u64::from(plan.seconds) + 20);
                    if windows.len() > MOST_WINDOWS || length.is_none_or(|length| length > most) {
                        return Err(Broken::Lies("it counts longer than it ran"));
                    }
                }
                Line::Totals(each, resent, busiest) => {
                    let total = sum(each.iter().copied());
                    let windowed = sum(windows.iter().map(|w| w.bytes));
                    if each.len() > plan.streams as usize
                        || total.is_none_or(|total| total > plan.bytes)
                        || windowed
                            .zip(total)
                            .is_none_or(|(windowed, total)| windowed > total)
                    {
                        return Err(Broken::Lies("its counts do not add up"));
                    }
                    return Ok((windows, each, resent, busiest));
                }
                _ => return Err(Broken::Junk),
            }
        }
    }

    /// Ends the session.
    ///
    /// # Errors
    /// Where the other side is gone.
    pub fn end(mut self) -> Result<(), Broken> {
        self.control.say(&Line::Bye)
    }
}

/// A sum that is none where it runs over.
fn sum(mut values: impl Iterator<Item = u64>) -> Option<u64> {
    values.try_fold(0u64, u64::checked_add)
}
