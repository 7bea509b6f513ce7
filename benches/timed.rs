//! The `narrows` program, built beside the benches.

use std::io::IsTerminal;
use std::process::ExitCode;

fn main() -> ExitCode {
    let terminal = std::io::stdout().is_terminal();
    let mut out = std::io::BufWriter::new(anstream::stdout());
    let mut err = anstream::stderr();
    narrows::run(std::env::args_os(), &mut out, &mut err, terminal)
}
