//! Recorded streams, and the demo that plays some.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

/// Options of `play`.
#[derive(Debug, Args)]
#[command(after_help = "With --json, one sample a line.")]
pub(crate) struct Play {
    /// The recorded stream.
    pub(crate) file: PathBuf,
    /// The gauge's own profile, where it is not built in.
    #[arg(long, value_name = "FILE")]
    pub(crate) profile_file: Option<PathBuf>,
}

/// Options of `replay`.
#[derive(Debug, Args)]
#[command(after_help = "With --json, one capture event a line: state, value, unit, n, sd, at_us.")]
pub(crate) struct Replay {
    /// The recorded stream.
    pub(crate) file: PathBuf,
    /// The rule by which a reading is captured.
    #[arg(long)]
    pub(crate) mode: CaptureMode,
    /// For `extreme`: whether the highest or the lowest number is sought.
    #[arg(long, required_if_eq("mode", "extreme"))]
    pub(crate) turn: Option<Turn>,
    /// The gauge's own profile, where it is not built in.
    #[arg(long, value_name = "FILE")]
    pub(crate) profile_file: Option<PathBuf>,
    /// Size of one count, e.g. "0.0005 in", where it is more than one of the last digit.
    #[arg(long, value_name = "VALUE")]
    pub(crate) resolution: Option<String>,
    /// With --json: what was noticed among the lines, as objects with `state` "note", and not on
    /// standard error.
    #[arg(long)]
    pub(crate) notes: bool,
}

/// The rules of capture that a stream can be judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum CaptureMode {
    /// Still, moving, still: the difference.
    Pour,
    /// Where it comes to rest.
    Settle,
    /// The turning point of a sweep.
    Extreme,
    /// The mean over a window.
    Average,
    /// One press of the gauge's button.
    Press,
}

/// Which turning point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Turn {
    /// The highest number.
    High,
    /// The lowest number.
    Low,
}

impl CaptureMode {
    /// The word for it, as typed.
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

impl Turn {
    /// The word for it, as typed.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Turn::High => "high",
            Turn::Low => "low",
        }
    }
}

/// Options of `demo`.
#[derive(Debug, Args)]
pub(crate) struct Demo {
    /// Keep everything below this folder; a fresh one in the data folder where absent.
    #[arg(long, value_name = "DIR")]
    pub(crate) keep: Option<PathBuf>,
}
