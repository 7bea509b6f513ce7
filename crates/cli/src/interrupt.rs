//! Somebody who presses the keys that stop a program.

use std::sync::atomic::AtomicBool;
use std::sync::{Arc, OnceLock};

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
