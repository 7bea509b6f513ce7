//! Somebody who presses the keys that stop a program.

use std::io::{IsTerminal, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

static STOP: OnceLock<Arc<AtomicBool>> = OnceLock::new();

/// Set when somebody asks the program to stop; a second time ends it at once. Until this is called the first time ends it.
pub(crate) fn asked() -> Arc<AtomicBool> {
    use signal_hook::consts::{SIGINT, SIGTERM};
    let flag = || {
        let stop = Arc::new(AtomicBool::new(false));
        for signal in [SIGINT, SIGTERM] {
            // in this order the first time only sets the flag; where the system refuses, nothing is lost but the guard
            let _ = signal_hook::flag::register_conditional_shutdown(signal, 2, Arc::clone(&stop));
            let _ = signal_hook::flag::register(signal, Arc::clone(&stop));
        }
        stop
    };
    Arc::clone(STOP.get_or_init(flag))
}

/// Somebody who presses keys waits no longer than this for a word.
const LOOK: Duration = Duration::from_millis(20);

/// For an answer that comes out of all cases at once: whoever stops it at a terminal is told that there is no part of it.
pub(crate) fn has_nothing_to_tell() {
    static WATCHING: OnceLock<()> = OnceLock::new();
    if !std::io::stderr().is_terminal() || WATCHING.set(()).is_err() {
        return;
    }
    let watch = || {
        let stop = asked();
        while !stop.load(Ordering::Relaxed) {
            std::thread::sleep(LOOK);
        }
        let _ = writeln!(
            std::io::stderr(),
            "\nYou stopped this before anything was known.\nIts answer comes out of all cases at once, so no part of it can be \
             told.\nNo file was written or changed."
        );
        #[allow(clippy::exit)] // whoever works on the answer cannot be asked to stop
        std::process::exit(2);
    };
    // where no thread is to be had, the keys end the program all the same
    let _ = std::thread::Builder::new().spawn(watch);
}
