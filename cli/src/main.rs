//! `benchhand`, the only executable: commands become requests, answers become tables or JSON.
//!
//! This room knows how requests are made and how answers are shown. It does not know serial ports,
//! the index or the files of the store. Only [`foreground`] (the daemon in this process) and
//! [`local`] (requests answered in this process) name the daemon's package.

mod arenas;
mod args;
mod client;
mod commands;
mod context;
mod data;
mod errors;
mod files;
mod foreground;
mod interrupt;
mod local;
mod out;
mod show;
mod written;

use std::process::ExitCode;

use clap::Parser as _;
use tracing_subscriber::EnvFilter;

fn main() -> ExitCode {
    let cli = args::Cli::parse();
    trace(cli.global.verbose);
    let code = match commands::run(cli) {
        Ok(exit) => exit.code(),
        Err(failure) => errors::tell(&failure),
    };
    ExitCode::from(code)
}

/// The environment variable that sets what is traced.
const LOG: &str = "BENCHHAND_LOG";

/// Sends traces to standard error: warnings always, more with `-v` and `-vv`. `BENCHHAND_LOG` sets
/// it in the syntax of tracing's `EnvFilter`.
fn trace(verbose: u8) {
    let level = match verbose {
        0 => "warn",
        1 => "info",
        _ => "debug",
    };
    // A prefix stands for all targets that begin with it: every room of this program.
    let usual = format!("warn,benchhand={level}");
    let filter = match std::env::var(LOG) {
        Ok(wanted) => EnvFilter::try_new(&wanted).unwrap_or_else(|error| {
            out::warn(&format!(
                "note: {LOG} is not understood and passed over: {error}"
            ));
            EnvFilter::new(usual)
        }),
        Err(_) => EnvFilter::new(usual),
    };
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .with_ansi(false) // Traces are read in files as often as in terminals.
        .init();
}
