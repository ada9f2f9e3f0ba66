//! Commands on recorded streams, and the demo that plays some.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

/// Options of `play`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    benchhand play evening.ndjson\n\n\
    With --json, one sample a line.")]
pub(crate) struct PlayArgs {
    /// The recorded stream.
    pub(crate) file: PathBuf,
    /// The gauge's own profile, if it is not built in.
    #[arg(long, value_name = "FILE")]
    pub(crate) profile_file: Option<PathBuf>,
}

/// Options of `replay`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    benchhand replay evening.ndjson --mode pour\n\n\
    With --json, one capture event a line: state, value, unit, n, sd, at_us.")]
pub(crate) struct ReplayArgs {
    /// The recorded stream.
    pub(crate) file: PathBuf,
    /// The rule by which a reading is captured.
    #[arg(long)]
    pub(crate) mode: CaptureMode,
    /// For `extreme`: whether the highest or the lowest number is sought.
    #[arg(long, required_if_eq("mode", "extreme"))]
    pub(crate) turn: Option<TurningPoint>,
    /// The gauge's own profile, if it is not built in.
    #[arg(long, value_name = "FILE")]
    pub(crate) profile_file: Option<PathBuf>,
    /// Size of one count, e.g. "0.0005 in", if it is more than one of the last digit.
    #[arg(long, value_name = "VALUE")]
    pub(crate) resolution: Option<String>,
    /// With --json: print notes among the lines, as objects with `state` "note", instead of on
    /// standard error.
    #[arg(long)]
    pub(crate) notes: bool,
}

/// The capture modes for a recorded stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum CaptureMode {
    /// The difference between two rests.
    Pour,
    /// The value at rest.
    Settle,
    /// The turning point of a sweep.
    Extreme,
    /// The mean over a window.
    Average,
    /// One press of the gauge's button.
    Press,
}

/// The turning point to look for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum TurningPoint {
    /// The highest number.
    High,
    /// The lowest number.
    Low,
}

impl CaptureMode {
    /// The word as typed.
    pub(crate) fn word(self) -> &'static str {
        match self {
            CaptureMode::Pour => "pour",
            CaptureMode::Settle => "settle",
            CaptureMode::Extreme => "extreme",
            CaptureMode::Average => "average",
            CaptureMode::Press => "press",
        }
    }
}

impl TurningPoint {
    /// The word as typed.
    pub(crate) fn word(self) -> &'static str {
        match self {
            TurningPoint::High => "high",
            TurningPoint::Low => "low",
        }
    }
}

/// Options of `demo`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  benchhand demo")]
pub(crate) struct DemoArgs {
    /// Keep everything below this folder. A new folder in the data folder if absent.
    #[arg(long, value_name = "DIR")]
    pub(crate) keep: Option<PathBuf>,
}
