//! The `narrows` program.

use std::io::{IsTerminal, Write};
use std::process::ExitCode;

fn main() -> ExitCode {
    std::panic::set_hook(Box::new(broken));
    let terminal = std::io::stdout().is_terminal();
    let mut out = std::io::BufWriter::new(anstream::stdout());
    let mut err = anstream::stderr();
    narrows::run(std::env::args_os(), &mut out, &mut err, terminal)
}

/// What is said where the program cannot go on: a mistake of ours, or a machine with nothing left to give.
fn broken(about: &std::panic::PanicHookInfo<'_>) {
    let _ = writeln!(
        std::io::stderr(),
        "error: narrows had to stop: {about}\n\
         help: files are written whole or not at all, so nothing is lost; where the machine has memory left, this is a \
         mistake in the program: please report it with the command"
    );
}
