//! Both sides over loopback, and peers that mean harm.

use super::control::{Count, LONGEST_LINE, Line, parse};
use super::*;
use proptest::prelude::*;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

static OPEN: AtomicBool = AtomicBool::new(false);

fn here() -> SocketAddr {
    SocketAddr::from((Ipv4Addr::LOCALHOST, 0))
}

/// A short waiting side, and what it ends with.
fn waiting(
    seconds: u64,
    bytes: u64,
) -> (
    SocketAddr,
    Token,
    std::thread::JoinHandle<Result<Waited, Broken>>,
) {
    let token = Token::new().unwrap();
    let waiting = Waiting::at(here()).unwrap();
    let address = waiting.address().unwrap();
    let own = token.clone();
    let limits = Limits {
        time: Duration::from_secs(seconds),
        bytes,
        streams: 4,
        seconds: 2,
        plans: 4,
        ..Limits::default()
    };
    let thread = std::thread::spawn(move || waiting.serve(&own, &limits, &OPEN, &mut |_| {}));
    (address, token, thread)
}

fn plan(way: Way) -> Plan {
    Plan {
        way,
        streams: 2,
        seconds: 1,
        bytes: 2_000_000_000,
        echo: false,
        held_to: None,
    }
}

#[test]
fn verify_every_way_over_loopback() {
    let (address, token, thread) = waiting(60, 100_000_000_000);
    let mut asking = Asking::connect(address, &token, &OPEN).unwrap();
    assert_eq!(asking.local(), Some(Ipv4Addr::LOCALHOST.into()));
    let read = asking.run(plan(Way::Receive)).unwrap();
    let one = read.read.as_ref().unwrap();
    assert!(read.write.is_none() && one.bytes() > 0 && one.each.len() == 2);
    let counted: u64 = one.windows.iter().map(|w| w.bytes).sum();
    assert!(counted <= one.bytes());
    assert!(one.judged.as_ref().unwrap().rate.mean > 1.0);
    let both = asking
        .run(Plan {
            echo: true,
            ..plan(Way::Both)
        })
        .unwrap();
    assert!(both.read.unwrap().bytes() > 0 && both.write.unwrap().bytes() > 0);
    assert!(both.trips.is_some());
    let write = asking
        .run(Plan {
            streams: 40,
            ..plan(Way::Send)
        })
        .unwrap();
    // the waiting side gives four
    assert_eq!(write.plan.streams, 4);
    assert!(write.write.as_ref().unwrap().bytes() <= 2_000_000_000);
    let echo = asking.run(plan(Way::Echo)).unwrap();
    let trips = echo.trips.unwrap();
    assert!(trips.count >= 100 && trips.least > 0.0 && trips.least <= trips.median);
    if cfg!(target_os = "linux") {
        assert!(write.resent_there.is_some() && write.here.others.is_ok());
        // told only where nothing else kept that machine busy
        assert!(
            write
                .busiest_there
                .is_none_or(|busy| (0.0..=1.0).contains(&busy))
        );
    }
    // a fifth plan is over the limit
    assert!(matches!(
        asking.run(plan(Way::Echo)),
        Err(Broken::Refused(_))
    ));
    assert_eq!(thread.join().unwrap(), Err(Broken::Limit("plans")));
}

#[test]
fn verify_a_rate_that_is_held() {
    let (address, token, thread) = waiting(60, 100_000_000_000);
    let mut asking = Asking::connect(address, &token, &OPEN).unwrap();
    for way in [Way::Receive, Way::Send] {
        let run = asking
            .run(Plan {
                held_to: Some(40_000_000),
                seconds: 2,
                ..plan(way)
            })
            .unwrap();
        let bytes = run.read.or(run.write).unwrap().bytes() as f64;
        // 80 MB, and a block a stream too early
        assert!((60e6..82e6).contains(&bytes), "{way:?}: {bytes}");
    }
    asking.end().unwrap();
    assert_eq!(thread.join().unwrap().unwrap().plans, 2);
}

#[test]
fn verify_bytes_are_a_limit() {
    let (address, token, thread) = waiting(60, 3_000_000);
    let mut asking = Asking::connect(address, &token, &OPEN).unwrap();
    let run = asking.run(plan(Way::Both)).unwrap();
    assert_eq!(run.plan.bytes, 3_000_000);
    assert!(run.read.unwrap().bytes() + run.write.unwrap().bytes() <= 3_000_000);
    assert!(matches!(
        asking.run(plan(Way::Both)),
        Err(Broken::Refused(_))
    ));
    assert!(thread.join().unwrap().is_err());
}

#[test]
fn verify_three_wrong_tokens_end_it() {
    let (address, _, thread) = waiting(60, 1);
    let start = Instant::now();
    for _ in 0..3 {
        let wrong = Token::new().unwrap();
        assert_eq!(
            Asking::connect(address, &wrong, &OPEN).err(),
            Some(Broken::WrongToken)
        );
    }
    assert_eq!(thread.join().unwrap(), Err(Broken::WrongToken));
    assert!(start.elapsed() >= Duration::from_secs(3));
}

/// Says something to a waiting side and tells all that came back.
fn said(address: SocketAddr, bytes: &[u8]) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    stream
        .set_read_timeout(Some(Duration::from_secs(5)))
        .unwrap();
    let _ = stream.write_all(bytes);
    let mut back = Vec::new();
    let _ = stream.take(10_000).read_to_end(&mut back);
    String::from_utf8_lossy(&back).into_owned()
}

#[test]
fn verify_hostile_peers_get_nothing_and_the_right_one_still_does() {
    let (address, token, thread) = waiting(60, 10_000_000);
    assert_eq!(
        said(address, b"narrows-probe 2 hello 00\n"),
        "narrows-probe 1 only\n"
    );
    assert_eq!(said(address, b"GET / HTTP/1.1\r\n\r\n"), "");
    assert_eq!(said(address, &vec![0xff; 100_000]), "");
    assert_eq!(
        said(
            address,
            b"plan receive streams=1 seconds=1 bytes-at-most=1\n"
        ),
        ""
    );
    // a million lines: the first is one too many
    let flood = "counts 1:1\n".repeat(1_000_000);
    assert_eq!(said(address, flood.as_bytes()), "");
    // a hello, and then another word than proof
    let hello = format!("narrows-probe 1 hello {}\nbye\n", "0".repeat(32));
    let back = said(address, hello.as_bytes());
    assert!(
        back.starts_with("narrows-probe 1 hello ") && back.lines().count() == 1,
        "{back}"
    );
    // one that leaves at once
    drop(TcpStream::connect(address).unwrap());
    let mut asking = Asking::connect(address, &token, &OPEN).unwrap();
    asking.run(plan(Way::Receive)).unwrap();
    asking.end().unwrap();
    assert_eq!(thread.join().unwrap().map(|waited| waited.plans), Ok(1));
}

#[test]
fn verify_slow_bytes_run_out_of_time() {
    let (address, _, thread) = waiting(1, 1);
    let mut stream = TcpStream::connect(address).unwrap();
    let start = Instant::now();
    for byte in b"narrows-probe 1 hello 0000000000000000000000" {
        if stream.write_all(&[*byte]).is_err() {
            break;
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    assert_eq!(thread.join().unwrap(), Err(Broken::NobodyCame));
    assert!(start.elapsed() < Duration::from_secs(8));
}

#[test]
fn verify_nobody_is_waited_for_without_end() {
    let (_, _, thread) = waiting(0, 1);
    assert_eq!(thread.join().unwrap(), Err(Broken::NobodyCame));
    let stop = AtomicBool::new(false);
    let waiting = Waiting::at(here()).unwrap();
    stop.store(true, Ordering::Relaxed);
    let ended = waiting.serve(
        &Token::new().unwrap(),
        &Limits::default(),
        &stop,
        &mut |_| {},
    );
    assert_eq!(ended, Err(Broken::Stopped));
}

/// A peer that knows the token, and leaves after its plan.
#[test]
fn verify_a_peer_that_leaves_early() {
    let (address, token, thread) = waiting(2, 1_000_000);
    let asking = Asking::connect(address, &token, &OPEN).unwrap();
    drop(asking);
    assert_eq!(thread.join().unwrap(), Err(Broken::Closed));
}

/// A waiting side that does everything right but one line.
fn liar(token: &Token, lines: &[&str]) -> SocketAddr {
    use std::io::BufRead;
    let listener = std::net::TcpListener::bind(here()).unwrap();
    let address = listener.local_addr().unwrap();
    let token = token.clone();
    let lines: Vec<String> = lines.iter().map(|line| (*line).to_owned()).collect();
    std::thread::spawn(move || {
        let (control, _) = listener.accept().unwrap();
        let mut lines_in = std::io::BufReader::new(control.try_clone().unwrap()).lines();
        let mut out = control;
        let Ok(Line::Hello(theirs)) = parse(lines_in.next().unwrap().unwrap().as_bytes()) else {
            return;
        };
        let ours = [9; 16];
        writeln!(out, "{}", Line::Hello(ours)).unwrap();
        lines_in.next();
        writeln!(
            out,
            "{}",
            Line::Proof(token.proof(token::Role::Waiter, &theirs, &ours))
        )
        .unwrap();
        lines_in.next();
        let mut rest = lines.iter();
        writeln!(out, "{}", rest.next().unwrap()).unwrap();
        let data = listener.accept().unwrap();
        writeln!(out, "go").unwrap();
        let mut sink = Vec::new();
        let _ = data.0.take(100_000_000).read_to_end(&mut sink);
        for line in rest {
            if writeln!(out, "{line}").is_err() {
                return;
            }
        }
        std::thread::sleep(Duration::from_millis(500));
    });
    address
}

#[test]
fn verify_counts_that_lie_are_no_reading() {
    const TAKE: &str =
        "take 00000000000000000000000000000000 send streams=1 seconds=1 bytes-at-most=1000000";
    let cases: [(&[&str], Broken); 7] = [
        (
            &[TAKE, "totals - - 999999999"],
            Broken::Lies("its counts do not add up"),
        ),
        (
            &[TAKE, "counts 1:99000000000", "totals - - 1"],
            Broken::Lies("it counts longer than it ran"),
        ),
        (
            &[TAKE, "counts 5:1", "totals - - 1"],
            Broken::Lies("its counts do not add up"),
        ),
        (
            &[
                TAKE,
                "counts 18446744073709551615:1 18446744073709551615:1",
                "totals - - 18446744073709551615 2",
            ],
            Broken::Lies("its counts do not add up"),
        ),
        (&[TAKE, "totals x y z"], Broken::Junk),
        (&[TAKE, "go"], Broken::Junk),
        (
            &[
                "take 00000000000000000000000000000000 send streams=900 seconds=1 bytes-at-most=1",
                "go",
            ],
            Broken::Lies("it takes more than was asked"),
        ),
    ];
    for (lines, expected) in cases {
        let token = Token::new().unwrap();
        let mut asking = Asking::connect(liar(&token, lines), &token, &OPEN).unwrap();
        let asked = Plan {
            streams: 1,
            bytes: 1_000_000,
            ..plan(Way::Send)
        };
        assert_eq!(asking.run(asked).err(), Some(expected), "{lines:?}");
    }
    // a million lines of counts: the four hundred and first window is one too many
    let token = Token::new().unwrap();
    let mut many = vec![TAKE];
    many.resize(2000, "counts 1:1");
    let mut asking = Asking::connect(liar(&token, &many), &token, &OPEN).unwrap();
    let asked = Plan {
        streams: 1,
        bytes: 1_000_000,
        ..plan(Way::Send)
    };
    assert_eq!(
        asking.run(asked).err(),
        Some(Broken::Lies("it counts longer than it ran"))
    );
}

#[test]
fn verify_a_waiting_side_without_the_token_is_found_out() {
    let token = Token::new().unwrap();
    let other = liar(&Token::new().unwrap(), &["go"]);
    assert_eq!(
        Asking::connect(other, &token, &OPEN).err(),
        Some(Broken::WrongToken)
    );
    // one that speaks another version, and one that says nothing of ours
    for (says, expected) in [
        ("narrows-probe 7 only\n", Broken::Version(7)),
        ("220 hello\n", Broken::Junk),
    ] {
        let listener = std::net::TcpListener::bind(here()).unwrap();
        let address = listener.local_addr().unwrap();
        let thread = std::thread::spawn(move || {
            let (mut stream, _) = listener.accept().unwrap();
            let _ = stream.write_all(says.as_bytes());
            std::thread::sleep(Duration::from_millis(300));
        });
        assert_eq!(
            Asking::connect(address, &token, &OPEN).err(),
            Some(expected)
        );
        thread.join().unwrap();
    }
}

#[test]
fn verify_the_own_limit_is_measured() {
    let run = own_limit(1, &OPEN).unwrap();
    assert!(run.read.unwrap().bytes() > 0);
}

fn any_plan() -> impl Strategy<Value = Plan> {
    (
        0..4usize,
        any::<u32>(),
        any::<u32>(),
        any::<u64>(),
        any::<bool>(),
        any::<Option<u64>>(),
    )
        .prop_map(|(way, streams, seconds, bytes, echo, held_to)| Plan {
            way: [Way::Receive, Way::Send, Way::Both, Way::Echo][way],
            streams,
            seconds,
            bytes,
            echo,
            held_to,
        })
}

fn any_line() -> impl Strategy<Value = Line> {
    prop_oneof![
        any::<[u8; 16]>().prop_map(Line::Hello),
        any::<[u8; 32]>().prop_map(Line::Proof),
        any_plan().prop_map(Line::Plan),
        (any::<[u8; 16]>(), any_plan()).prop_map(|(session, plan)| Line::Take(session, plan)),
        (any::<[u8; 16]>(), any::<u32>()).prop_map(|(session, number)| Line::Data(session, number)),
        proptest::collection::vec((0..1u64 << 40, 0..100_000_000u64), 1..12).prop_map(|all| {
            Line::Counts(
                all.into_iter()
                    .map(|(bytes, us)| Count {
                        bytes,
                        length: Duration::from_micros(us),
                    })
                    .collect(),
            )
        }),
        (
            proptest::collection::vec(0..1u64 << 40, 0..16),
            any::<Option<u64>>(),
            0..1000u32
        )
            .prop_map(|(each, resent, busiest)| Line::Totals(each, resent, Some(busiest))),
        Just(Line::Go),
        Just(Line::Bye),
        Just(Line::No("wrong token".to_owned())),
        Just(Line::Only(1)),
    ]
}

proptest! {
    #[test]
    fn verify_lines_come_back(line in any_line()) {
        let text = line.to_string();
        prop_assert!(text.len() < LONGEST_LINE, "{}", text.len());
        prop_assert_eq!(parse(text.as_bytes()), Ok(line));
    }

    #[test]
    fn verify_junk_is_junk(bytes in proptest::collection::vec(any::<u8>(), 0..600)) {
        // whatever comes in, it is read as it was written or not at all
        if let Ok(line) = parse(&bytes) {
            prop_assert!(bytes.is_ascii() && bytes.len() < LONGEST_LINE, "{line:?}");
        }
    }
}

#[test]
fn verify_lines_that_are_nearly_ours() {
    for text in [
        "",
        " ",
        "go ",
        "go now",
        "bye\r",
        "plan",
        "plan send",
        "plan send streams=1 seconds=1",
        "plan send streams=1 streams=2 seconds=1 bytes-at-most=1",
        "plan send streams=-1 seconds=1 bytes-at-most=1",
        "plan send streams=1 seconds=1 bytes-at-most=99999999999999999999",
        "plan send streams=1 seconds=1 bytes-at-most=1 x=1",
        "plan steal streams=1 seconds=1 bytes-at-most=1",
        "narrows-probe",
        "narrows-probe 1",
        "narrows-probe 1 hello 00",
        "narrows-probe 1 hello ZZ000000000000000000000000000000",
        "counts 1",
        "counts 1:2:3",
        "counts :",
        "totals",
        "totals -",
        "data 00 1",
        "proof 00",
        "no",
        "héllo",
    ] {
        assert!(parse(text.as_bytes()).is_err(), "{text:?}");
    }
    assert_eq!(parse(b"narrows-probe 9 hello"), Ok(Line::Version(9)));
    assert!(parse(&[b'a'; 512]).is_err());
}
