//! The system's own tools, asked with fixed arguments, without a shell.

use crate::says::{NotThere, Said};
use std::io::Read;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// How long a tool may take.
const LONGEST: Duration = Duration::from_secs(5);
/// How much it may say.
const MOST_BYTES: u64 = 256 * 1024;

/// What a tool says. Not there where it is missing, takes more than 5 s or fails.
pub fn asked(program: &str, arguments: &[&str]) -> Said<String> {
    asked_for(program, arguments, LONGEST)
}

fn asked_for(program: &str, arguments: &[&str], longest: Duration) -> Said<String> {
    let name = || format!("{program} {}", arguments.join(" "));
    let mut child = Command::new(program)
        .args(arguments)
        .env("LC_ALL", "C")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|error| NotThere(format!("{}: {}", name(), super::root::reason(&error))))?;
    let Some(pipe) = child.stdout.take() else {
        return Err(NotThere(format!("{}: nothing to read", name())));
    };
    let reader = std::thread::spawn(move || {
        let mut bytes = Vec::new();
        let read = pipe.take(MOST_BYTES).read_to_end(&mut bytes);
        read.map(|_| bytes)
    });
    let until = Instant::now() + longest;
    let ended = loop {
        match child.try_wait() {
            Ok(Some(status)) => break Some(status.success()),
            Ok(None) if Instant::now() < until && !reader.is_finished() => {
                std::thread::sleep(Duration::from_millis(5));
            }
            Ok(None) if Instant::now() < until => {
                // all was said, or more than is read: it is given the rest of the time to end
                std::thread::sleep(Duration::from_millis(5));
            }
            _ => {
                let _ = child.kill();
                let _ = child.wait();
                break None;
            }
        }
    };
    match (ended, reader.join()) {
        (Some(true), Ok(Ok(bytes))) => Ok(String::from_utf8_lossy(&bytes).into_owned()),
        (None, _) => Err(NotThere(format!("{}: no answer in time", name()))),
        _ => Err(NotThere(format!("{}: it failed", name()))),
    }
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn verify_tools_are_bounded() {
        assert_eq!(asked("/bin/echo", &["a b"]).as_deref(), Ok("a b\n"));
        assert!(asked("/no/such/tool", &[]).is_err());
        assert!(asked("/bin/false", &[]).is_err());
        let start = Instant::now();
        let slow = asked_for("/bin/sleep", &["20"], Duration::from_millis(50));
        assert!(slow.is_err_and(|why| why.0.contains("no answer in time")));
        assert!(start.elapsed() < Duration::from_secs(10));
        // a flood: what is read is bounded, and the tool is ended
        let flood = asked_for("/usr/bin/yes", &[], Duration::from_millis(200));
        assert!(flood.is_err());
    }
}
