//! Memory to memory between two machines.

use super::{Told, as_somebody, interrupt, json, keep};
use crate::arguments::MeasureNetwork;
use crate::input::{self, Stop};
use crate::render::document::printed;
use crate::render::prose::{counted, paragraph};
use crate::{Outcome, Screen};
use narrows_core::quantity::{DataRate, LinkRate, in_megabytes_per_second, parse, three_digits};
use narrows_probe::machine::{Link, Root, links, way_to};
use narrows_probe::network::{
    Asking, Broken, Event, Limits, OneWay, PORT, Plan, Run, Token, Waiting, Way, own_limit,
};
use narrows_probe::readings::{Row, fits, of_link, of_meanwhile, of_run};
use std::fmt::Write as _;
use std::io::{IsTerminal, Write as _};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::time::Duration;

/// What was measured between two machines.
pub(super) struct Measured {
    pub runs: Vec<Run>,
    /// MB/s of this program over loopback.
    pub own: Option<f64>,
    /// The link through which it went, where the system says so.
    pub link: Option<Link>,
    /// Bad frames of it meanwhile.
    pub bad_frames: u64,
    pub rows: Vec<Row>,
}

/// How to measure.
pub(super) struct How {
    pub address: SocketAddr,
    pub token: Token,
    pub seconds: u32,
    pub streams: Vec<u32>,
    pub held_to: Option<DataRate>,
}

pub(super) fn run(asked: &MeasureNetwork, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    as_somebody(asked.safety.as_administrator, screen)?;
    let stop = interrupt();
    if asked.wait {
        return wait(asked, &stop, screen);
    }
    let Some(address) = &asked.ask else {
        return Err(input::refuse(
            screen,
            "neither --wait nor --ask ADDRESS",
            "start narrows measure network --wait on the other machine first",
        ));
    };
    let how = how(
        address,
        asked.token_file.as_deref(),
        asked.seconds,
        asked.held_to.as_deref(),
        screen,
    )?;
    let measured = measure(&how, &stop, screen)?;
    if let Some(path) = &asked.readings {
        keep(path, &measured.rows, asked.desk.as_deref(), screen)?;
    }
    let text = printed(
        asked.format,
        || json::network(&measured),
        || [measured.table()],
        || measured.text(screen.width, asked.readings.as_deref()),
    )?;
    write!(screen.out, "{text}")?;
    Ok(Outcome::Fine)
}

/// An address in digits, with or without a port: names are not looked up.
fn address_of(text: &str, screen: &mut Screen<'_>) -> Result<SocketAddr, Stop> {
    let plain = text.trim_start_matches('[').trim_end_matches(']');
    text.parse::<SocketAddr>()
        .ok()
        .or_else(|| plain.parse::<IpAddr>().ok().map(|ip| SocketAddr::from((ip, PORT))))
        .ok_or_else(|| {
            input::refuse(
                screen,
                &format!("'{text}' is no address in digits"),
                "write for example 192.0.2.10, 192.0.2.10:47113 or [2001:db8::10]:47113; names are not looked up",
            )
        })
}

const TOKEN: (&str, &str) = (
    "a file with a token",
    "give the path of a file with the token that the other machine shows",
);

/// The token: of a file, of the environment, or typed in. Never of an argument, which others can list.
fn token_of(file: Option<&Path>, screen: &mut Screen<'_>) -> Result<Token, Stop> {
    let text = match file {
        Some(path) => {
            String::from_utf8_lossy(&input::list(path, TOKEN, screen)?.bytes).into_owned()
        }
        None => match std::env::var("NARROWS_TOKEN") {
            Ok(text) => text,
            Err(_) if std::io::stdin().is_terminal() => {
                write!(screen.err, "Token that the other machine shows: ")?;
                screen.err.flush()?;
                let mut text = String::new();
                std::io::stdin().read_line(&mut text)?;
                text
            }
            Err(_) => {
                return Err(input::refuse(
                    screen,
                    "no token",
                    "put what the other machine shows into a file and say --token-file FILE, or into NARROWS_TOKEN",
                ));
            }
        },
    };
    Token::read(&text).ok_or_else(|| {
        input::refuse(
            screen,
            "that is no token",
            "it has eight groups of four digits and letters from a to f",
        )
    })
}

pub(super) fn how(
    address: &str,
    token_file: Option<&Path>,
    seconds: u32,
    held_to: Option<&str>,
    screen: &mut Screen<'_>,
) -> Result<How, Stop> {
    let address = address_of(address, screen)?;
    let held_to = match held_to {
        None => None,
        Some(text) => Some(parse::<DataRate>(text).map_err(|fault| {
            input::refuse(
                screen,
                &format!("--held-to: {fault}"),
                "write for example --held-to \"20 MB/s\"",
            )
        })?),
    };
    Ok(How {
        address,
        token: token_of(token_file, screen)?,
        seconds,
        streams: if held_to.is_some() {
            vec![1]
        } else {
            vec![1, 4, 8]
        },
        held_to,
    })
}

fn wait(
    asked: &MeasureNetwork,
    stop: &AtomicBool,
    screen: &mut Screen<'_>,
) -> Result<Outcome, Stop> {
    let address = match &asked.at {
        Some(text) => address_of(text, screen)?,
        None => SocketAddr::from((Ipv4Addr::LOCALHOST, PORT)),
    };
    let broken = |fault: &Broken, screen: &mut Screen<'_>| {
        input::refuse(
            screen,
            &fault.to_string(),
            "start both sides anew; the waiting one first",
        )
    };
    let waiting = Waiting::at(address).map_err(|fault| broken(&fault, screen))?;
    let address = waiting.address().map_err(|fault| broken(&fault, screen))?;
    let token = Token::new()?;
    if let Some(path) = &asked.token_file {
        keep_token(path, &token, screen)?;
    }
    let limits = Limits {
        seconds: asked.seconds.max(1),
        time: Duration::from_secs(60 * u64::from(asked.minutes)),
        ..Limits::default()
    };
    let mut text = String::new();
    let _ = writeln!(
        text,
        "Waiting at {address} for one other machine, at most {} min.",
        asked.minutes
    );
    if address.ip().is_unspecified() {
        let _ = writeln!(
            text,
            "Warning: this listens on every network of this machine. Name one address to listen there only."
        );
    }
    if address.ip().is_loopback() && asked.at.is_none() {
        let _ = writeln!(
            text,
            "Only this machine itself can reach it: name the address of this machine with --at for another one."
        );
    }
    let _ = writeln!(text, "Token: {}", token.shown());
    let _ = writeln!(
        text,
        "On the other machine: narrows measure network --ask {address}"
    );
    let _ = writeln!(
        text,
        "It will load the network for up to {} s a run, {} GB in all at most.",
        limits.seconds,
        limits.bytes / 1_000_000_000
    );
    write!(screen.out, "{text}")?;
    screen.out.flush()?;
    let mut lines = Vec::new();
    let ended = waiting.serve(&token, &limits, stop, &mut |event| {
        let text = match event {
            Event::Proven(peer) => format!("{peer} knows the token.\n"),
            Event::TurnedAway(peer) => format!("{peer} was turned away.\n"),
            Event::Begins(plan) => format!(
                "{}, {}, {} s\n",
                plan.way.word(),
                counted(plan.streams as usize, "stream", "streams"),
                plan.seconds
            ),
            Event::Ended(bytes) => format!("  {} GB\n", three_digits(bytes as f64 / 1e9)),
        };
        // a flood of visitors fills no memory and no screen
        if lines.len() < 200 {
            let _ = write!(screen.out, "{text}");
            let _ = screen.out.flush();
            lines.push(());
        }
    });
    match ended {
        Ok(waited) => {
            writeln!(
                screen.out,
                "Done: {} runs, {} GB.",
                waited.plans,
                three_digits(waited.bytes as f64 / 1e9)
            )?;
            Ok(Outcome::Fine)
        }
        Err(fault) => Err(broken(&fault, screen)),
    }
}

/// A new file that only its owner can read.
fn keep_token(path: &Path, token: &Token, screen: &mut Screen<'_>) -> Result<(), Stop> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
        .open(path)
        .and_then(|mut file| writeln!(file, "{}", token.shown()))
        .map_err(|error| {
            input::refuse(
                screen,
                &format!("{} cannot be written: {error}", path.display()),
                "name a file that is not there yet",
            )
        })
}

/// Says what this program reaches by itself, before anything else is measured.
fn say_own(own: Option<f64>, screen: &mut Screen<'_>) -> Result<(), Stop> {
    let Some(own) = own else { return Ok(()) };
    let text = format!(
        "This program alone reaches {} MB/s on this machine; links faster than about half of that are not fully seen.",
        three_digits(own)
    );
    writeln!(screen.err, "{}", paragraph(&text, screen.width, 0))?;
    Ok(())
}

/// Measures: the own limit, round trips, each number of streams each way, both ways, and round trips under load.
pub(super) fn measure(
    how: &How,
    stop: &AtomicBool,
    screen: &mut Screen<'_>,
) -> Result<Measured, Stop> {
    let plan = |way: Way, streams: u32| Plan {
        way,
        streams,
        seconds: how.seconds,
        bytes: 100_000_000_000,
        echo: false,
        held_to: how
            .held_to
            .map(|rate| (in_megabytes_per_second(rate) * 1e6) as u64),
    };
    let mut plans = vec![plan(Way::Echo, 1)];
    for streams in &how.streams {
        plans.push(plan(Way::Receive, *streams));
        plans.push(plan(Way::Send, *streams));
    }
    plans.push(Plan {
        echo: true,
        ..plan(
            Way::Both,
            how.streams.iter().copied().max().unwrap_or(1).min(4),
        )
    });
    writeln!(
        screen.err,
        "{}",
        paragraph(
            &format!(
                "Measuring to {}: {} runs of {} s, at most 100 GB. Others on this network will notice; --held-to RATE spares them.",
                how.address,
                plans.len() - 1,
                how.seconds
            ),
            screen.width,
            0
        )
    )?;
    let told = Told::new();
    told.say("this program alone, over loopback");
    let broken = |fault: &Broken, screen: &mut Screen<'_>| {
        input::refuse(
            screen,
            &fault.to_string(),
            "start narrows measure network --wait on the other machine, and give its token",
        )
    };
    let mut asking = Asking::connect(how.address, &how.token, stop).map_err(|fault| {
        told.clear();
        broken(&fault, screen)
    })?;
    let own = if how.held_to.is_some() {
        None
    } else {
        own_limit(how.seconds.min(3), stop)
            .ok()
            .and_then(|run| Some(run.read?.judged?.rate.mean))
    };
    told.clear();
    say_own(own, screen)?;
    let root = Root::own();
    let name = way_to(&root, how.address.ip()).ok();
    let looked = || {
        links(&root)
            .into_iter()
            .find(|link| Some(&link.name) == name.as_ref())
    };
    let before = looked();
    let mut runs = Vec::new();
    for plan in plans {
        told.say(&format!(
            "{} with {}, {} s",
            plan.way.word(),
            counted(plan.streams as usize, "stream", "streams"),
            plan.seconds
        ));
        let run = asking.run(plan);
        told.clear();
        runs.push(run.map_err(|fault| broken(&fault, screen))?);
    }
    let _ = asking.end();
    let after = looked();
    let spoilt = |link: &Option<Link>| link.as_ref().map_or(0, |link| link.errors.spoilt());
    let bad_frames = spoilt(&after).saturating_sub(spoilt(&before));
    let mut rows: Vec<Row> = Vec::new();
    rows.extend(
        after
            .as_ref()
            .filter(|link| link.is_port())
            .and_then(of_link),
    );
    rows.extend(runs.iter().flat_map(of_run));
    if how.held_to.is_none() {
        rows.extend(of_meanwhile(&runs));
    }
    Ok(Measured {
        runs,
        own,
        link: after,
        bad_frames,
        rows,
    })
}

impl Measured {
    /// The run of one stream in a direction.
    pub(super) fn single(&self, way: impl Fn(&Run) -> Option<&OneWay>) -> Option<f64> {
        self.runs
            .iter()
            .filter(|run| run.plan.streams == 1 && run.read.is_some() != run.write.is_some())
            .find_map(|run| Some(way(run)?.judged.as_ref()?.rate.mean))
    }

    pub(super) fn mtu(&self) -> u32 {
        self.link
            .as_ref()
            .and_then(|link| link.largest_packet.as_ref().ok().copied())
            .unwrap_or(1500)
    }

    /// The link whose payload it is.
    pub(super) fn fits(&self) -> Option<LinkRate> {
        fits(self.most(), self.mtu())
    }
}
