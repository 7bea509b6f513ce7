//! The side that waits: one peer that knows the token, so many plans, then the end.

use super::Broken;
use super::control::{Count, Line, Nonce, Plan, VERSION, Way, counts};
use super::meanwhile::before;
use super::streams::{Side, run};
use super::token::{Role, Token, nonce};
use super::wire::{Control, FIRST_WORDS, LINE, bounded};
use std::net::{IpAddr, SocketAddr, TcpListener, TcpStream};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// What the waiting side gives at most.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Streams of a plan.
    pub streams: u32,
    /// Seconds of a plan.
    pub seconds: u32,
    /// Bytes of all plans together.
    pub bytes: u64,
    /// Plans.
    pub plans: u32,
    /// How long it waits and works in all.
    pub time: Duration,
    /// Wrong proofs that end it.
    pub wrong_proofs: u32,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            streams: 16,
            seconds: 60,
            bytes: 100_000_000_000,
            plans: 12,
            time: Duration::from_secs(600),
            wrong_proofs: 3,
        }
    }
}

/// What happens on the waiting side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// Somebody proved that he knows the token.
    Proven(SocketAddr),
    /// Somebody did not, or spoke no word of ours.
    TurnedAway(SocketAddr),
    /// A run begins.
    Begins(Plan),
    /// It ended, with so many bytes in and out.
    Ended(u64),
}

/// How the waiting side ended well.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Waited {
    /// Plans that were done.
    pub plans: u32,
    /// Bytes in and out.
    pub bytes: u64,
}

/// A port that listens, and nothing behind it yet.
#[derive(Debug)]
pub struct Waiting {
    listener: TcpListener,
}

/// Between two looks at the door.
const KNOCK: Duration = Duration::from_millis(10);
/// A wrong proof costs this.
const PENALTY: Duration = Duration::from_secs(1);
/// How long a peer may think between two plans.
const THINKING: Duration = Duration::from_secs(60);

impl Waiting {
    /// Listens at an address.
    ///
    /// # Errors
    /// Where the system refuses.
    pub fn at(address: SocketAddr) -> Result<Self, Broken> {
        let listener =
            TcpListener::bind(address).map_err(|error| Broken::of("listening", &error))?;
        listener
            .set_nonblocking(true)
            .map_err(|error| Broken::of("listening", &error))?;
        Ok(Self { listener })
    }

    /// Where it listens.
    ///
    /// # Errors
    /// Where the system does not say.
    pub fn address(&self) -> Result<SocketAddr, Broken> {
        self.listener
            .local_addr()
            .map_err(|error| Broken::of("listening", &error))
    }

    /// Serves one peer and ends.
    ///
    /// # Errors
    /// Where nobody comes in time, too many proofs are wrong, the peer breaks the rules or leaves early, or `stop` is set.
    pub fn serve(
        self,
        token: &Token,
        limits: &Limits,
        stop: &AtomicBool,
        tell: &mut dyn FnMut(Event),
    ) -> Result<Waited, Broken> {
        let until = Instant::now() + limits.time;
        let mut wrong = 0;
        loop {
            let (stream, peer) = self.knock(None, until, stop)?;
            let Ok(mut control) = Control::new(stream, stop) else {
                continue;
            };
            match greet(&mut control, token, until) {
                Ok(()) => {
                    tell(Event::Proven(peer));
                    return self.plans(&mut control, peer.ip(), limits, until, stop, tell);
                }
                Err(Broken::Stopped) => return Err(Broken::Stopped),
                Err(Broken::WrongToken) => {
                    tell(Event::TurnedAway(peer));
                    wrong += 1;
                    if wrong >= limits.wrong_proofs {
                        return Err(Broken::WrongToken);
                    }
                }
                Err(_) => tell(Event::TurnedAway(peer)),
            }
        }
    }

    /// The next connection, of one address only where one is told.
    fn knock(
        &self,
        only: Option<IpAddr>,
        until: Instant,
        stop: &AtomicBool,
    ) -> Result<(TcpStream, SocketAddr), Broken> {
        loop {
            if stop.load(Ordering::Relaxed) {
                return Err(Broken::Stopped);
            }
            if Instant::now() >= until {
                return Err(Broken::NobodyCame);
            }
            match self.listener.accept() {
                Ok((stream, peer)) if only.is_none_or(|ip| ip == peer.ip()) => {
                    return Ok((stream, peer));
                }
                // another address: closed at once
                Ok(_) => {}
                Err(_) => std::thread::sleep(KNOCK),
            }
        }
    }

    fn plans(
        &self,
        control: &mut Control<'_>,
        peer: IpAddr,
        limits: &Limits,
        until: Instant,
        stop: &AtomicBool,
        tell: &mut dyn FnMut(Event),
    ) -> Result<Waited, Broken> {
        let mut done = Waited { plans: 0, bytes: 0 };
        loop {
            let left = until.saturating_duration_since(Instant::now());
            let asked = match control.hear(THINKING.min(left))? {
                Line::Plan(plan) => plan,
                Line::Bye => return Ok(done),
                _ => return Err(Broken::Junk),
            };
            if done.plans >= limits.plans {
                control.say(&Line::No("no more plans".to_owned()))?;
                return Err(Broken::Limit("plans"));
            }
            let plan = match granted(&asked, limits, limits.bytes - done.bytes) {
                Ok(plan) => plan,
                Err(why) => {
                    control.say(&Line::No(why.to_owned()))?;
                    return Err(Broken::Limit(why));
                }
            };
            let session = nonce().map_err(|error| Broken::of("asking for chance", &error))?;
            control.say(&Line::Take(session, plan))?;
            let streams = self.streams(&plan, &session, peer, until, stop)?;
            tell(Event::Begins(plan));
            control.say(&Line::Go)?;
            let looked = before();
            let moved = run(&plan, Side::Waiting, streams, stop);
            let meanwhile = looked.after();
            let all: Vec<Count> = moved
                .windows
                .iter()
                .map(|window| Count {
                    bytes: window.bytes,
                    length: window.length,
                })
                .collect();
            for line in counts(&all) {
                control.say(&line)?;
            }
            // what other programs did there is nothing that the run tells
            let busiest = meanwhile
                .busiest_by_the_run()
                .map(|busy| (busy * 1000.0) as u32);
            let resent = meanwhile.resent.ok().map(|resent| resent.resent);
            control.say(&Line::Totals(moved.each.clone(), resent, busiest))?;
            let bytes = moved.sent + moved.each.iter().sum::<u64>();
            done.plans += 1;
            done.bytes = (done.bytes + bytes).min(limits.bytes);
            tell(Event::Ended(bytes));
        }
    }

    /// Data connections of a session, in the order of their numbers.
    fn streams(
        &self,
        plan: &Plan,
        session: &Nonce,
        peer: IpAddr,
        until: Instant,
        stop: &AtomicBool,
    ) -> Result<Vec<TcpStream>, Broken> {
        let wanted = connections(plan);
        let mut found: Vec<Option<TcpStream>> = (0..wanted).map(|_| None).collect();
        let until = until.min(Instant::now() + LINE);
        while found.iter().any(Option::is_none) {
            let (stream, _) = self.knock(Some(peer), until, stop)?;
            bounded(&stream)?;
            let Ok(own) = stream.try_clone() else {
                continue;
            };
            let first = Control::new(own, stop)?.hear(FIRST_WORDS);
            if let Ok(Line::Data(said, number)) = first
                && said == *session
                && let Some(place) = found.get_mut(number as usize)
                && place.is_none()
            {
                *place = Some(stream);
            }
        }
        Ok(found.into_iter().flatten().collect())
    }
}

/// How many data connections a plan has.
pub(super) fn connections(plan: &Plan) -> usize {
    match plan.way {
        Way::Echo => 1,
        _ => plan.streams as usize + usize::from(plan.echo),
    }
}

/// The smaller numbers of what is asked and what is allowed.
fn granted(asked: &Plan, limits: &Limits, left: u64) -> Result<Plan, &'static str> {
    if asked.streams == 0 || asked.seconds == 0 {
        return Err("a plan of nothing");
    }
    if left == 0 {
        return Err("no more bytes");
    }
    Ok(Plan {
        streams: asked.streams.min(limits.streams),
        seconds: asked.seconds.min(limits.seconds),
        bytes: asked.bytes.min(left),
        ..*asked
    })
}

/// Both prove that they know the token; until then nothing but hello is answered.
fn greet(control: &mut Control<'_>, token: &Token, until: Instant) -> Result<(), Broken> {
    let within = || LINE.min(until.saturating_duration_since(Instant::now()));
    let theirs = match control.hear(within())? {
        Line::Hello(nonce) => nonce,
        Line::Version(version) => {
            control.say(&Line::Only(VERSION))?;
            return Err(Broken::Version(version));
        }
        _ => return Err(Broken::Junk),
    };
    let ours = nonce().map_err(|error| Broken::of("asking for chance", &error))?;
    control.say(&Line::Hello(ours))?;
    let Line::Proof(proof) = control.hear(within())? else {
        return Err(Broken::Junk);
    };
    if !token.is_proven(&proof, Role::Asker, &theirs, &ours) {
        std::thread::sleep(PENALTY);
        control.say(&Line::No("wrong token".to_owned()))?;
        return Err(Broken::WrongToken);
    }
    control.say(&Line::Proof(token.proof(Role::Waiter, &theirs, &ours)))
}
