//! The `tapemark` program.

use std::process::ExitCode;

fn main() -> ExitCode {
    tapemark::cli::main()
}
