//! The `leadsman` program.

use std::process::ExitCode;

fn main() -> ExitCode {
    leadsman_query::cli::run(std::env::args_os())
}
