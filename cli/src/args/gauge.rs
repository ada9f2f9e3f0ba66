//! `gauge …`: the shop's register of gauges.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::check::GaugeCheck;

/// The commands on gauges.
#[derive(Debug, Subcommand)]
pub(crate) enum Gauge {
    /// Enter a gauge in the register, or change it.
    Set(Box<GaugeSet>),
    /// List the register, how each gauge is now, and how it did so far.
    List,
    /// Show how a gauge repeated and what its checks found, over all jobs.
    History(GaugeName),
    /// Show what a gauge sends, until Ctrl-C.
    Watch(GaugeName),
    /// Zero a gauge: what it shows now counts as zero.
    Zero(GaugeZero),
    /// Check a gauge against a master or several, or that its zero comes back.
    Check(Box<GaugeCheck>),
    /// Learn which way a burette's scale runs: let a little out while it watches.
    Direction(GaugeDirection),
    /// Take a gauge out of the register; what it measured stays.
    Drop(GaugeName),
    /// Find out how an unknown gauge talks, and write a profile for it. Move the gauge meanwhile.
    Find(GaugeFind),
    /// Study a gauge from a CSV: its repeatability, and how much operators differ.
    Study(GaugeStudy),
    /// Check a profile file, with the captures that it carries.
    Profile(ProfileFile),
}

/// Options of `gauge find`.
#[derive(Debug, Args)]
pub(crate) struct GaugeFind {
    /// The port it is on, e.g. `/dev/ttyUSB0`.
    #[arg(long, value_name = "PATH")]
    pub(crate) port: String,
    /// Send harmless questions where nothing comes by itself.
    #[arg(long)]
    pub(crate) allow_queries: bool,
    /// The unit, where the gauge does not send it: it is never guessed.
    #[arg(long, value_name = "UNIT")]
    pub(crate) unit: Option<String>,
    /// Write the profile into this file.
    #[arg(long, value_name = "FILE")]
    pub(crate) save: Option<PathBuf>,
}

/// Options of `gauge study`.
#[derive(Debug, Args)]
pub(crate) struct GaugeStudy {
    /// The measurements: part,operator,trial,value,unit; every operator each part equally often.
    #[arg(value_name = "FILE.csv")]
    pub(crate) file: PathBuf,
    /// The width of the tolerance, e.g. "0.5 cc", for shares of it.
    #[arg(long, value_name = "WIDTH")]
    pub(crate) tolerance: Option<String>,
}

/// The argument of `gauge profile`.
#[derive(Debug, Args)]
pub(crate) struct ProfileFile {
    /// The profile.
    pub(crate) file: PathBuf,
}

/// A gauge's name.
#[derive(Debug, Args)]
pub(crate) struct GaugeName {
    /// The gauge.
    pub(crate) name: String,
}

/// Options of `gauge direction`.
#[derive(Debug, Args)]
pub(crate) struct GaugeDirection {
    /// The burette.
    pub(crate) name: String,
    /// Change what the register says, where it says otherwise than what is seen, and ask nobody.
    #[arg(long)]
    pub(crate) replace: bool,
}

/// Options of `gauge set`.
#[derive(Debug, Args)]
pub(crate) struct GaugeSet {
    /// A name of your own, e.g. `depth-2`.
    pub(crate) name: String,
    /// The profile that says how it talks; `benchhand gauge list` lists them. With a profile of
    /// your own, the name that the file says.
    #[arg(long, required_unless_present = "profile_file")]
    pub(crate) profile: Option<String>,
    /// The port it is on, e.g. `/dev/ttyUSB0`.
    #[arg(long, value_name = "PATH")]
    pub(crate) port: Option<String>,
    /// The adapter's identity as `benchhand ports` shows it: it is found on any port.
    #[arg(long, value_name = "ID", conflicts_with = "port")]
    pub(crate) adapter: Option<String>,
    /// A profile of your own in a text file.
    #[arg(long, value_name = "FILE")]
    pub(crate) profile_file: Option<PathBuf>,
    /// 1 where the number grows as the plunger is pushed in, -1 where it shrinks.
    #[arg(long, default_value_t = 1, allow_negative_numbers = true, value_parser = sense)]
    pub(crate) sense: i8,
    /// Standard uncertainty of its calibration, e.g. "0.0002 in".
    #[arg(long, value_name = "VALUE")]
    pub(crate) u: Option<String>,
    /// Relative standard uncertainty of its scale, e.g. 0.001.
    #[arg(long, value_name = "NUMBER")]
    pub(crate) scale_u: Option<f64>,
    /// Standard deviation of a reading set up anew, e.g. "0.05 cc".
    #[arg(long, value_name = "VALUE")]
    pub(crate) repeatability: Option<String>,
    /// Degrees of freedom of the repeatability: one less than the readings behind it, for each set.
    #[arg(long, value_name = "NUMBER", requires = "repeatability")]
    pub(crate) repeatability_dof: Option<f64>,
    /// Size of one count, e.g. "0.0005 in"; the gauge's own decimals tell it otherwise.
    #[arg(long, value_name = "VALUE")]
    pub(crate) resolution: Option<String>,
    /// A burette's capacity, e.g. "100 cc".
    #[arg(long, value_name = "VALUE")]
    pub(crate) capacity: Option<String>,
    /// Which way a burette's scale runs while it delivers: up or down. Where nobody knows,
    /// `gauge direction` watches it.
    #[arg(long, value_name = "WAY", value_parser = ["up", "down"])]
    pub(crate) counts: Option<String>,
    /// When and against what it was last calibrated.
    #[arg(long, value_name = "TEXT")]
    pub(crate) calibrated: Option<String>,
}

/// Options of `gauge zero`.
#[derive(Debug, Args)]
pub(crate) struct GaugeZero {
    /// The gauge.
    pub(crate) name: String,
    /// The job in whose record the zero is kept.
    #[arg(long)]
    pub(crate) job: String,
    /// What a gauge that is read by eye shows, with unit; read live where absent.
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) raw: Option<String>,
    /// What the master is, with unit, where it is not 0: a setting ring for a bore gauge.
    #[arg(long, value_name = "VALUE", conflicts_with = "hanging")]
    pub(crate) master: Option<String>,
    /// Standard uncertainty of this zeroing, e.g. "0.0001 in".
    #[arg(long, value_name = "VALUE")]
    pub(crate) u: Option<String>,
    /// The plunger hangs free: learn that value, which is then never a reading.
    #[arg(long)]
    pub(crate) hanging: bool,
}

/// A gauge's sense: 1 or -1.
fn sense(text: &str) -> Result<i8, String> {
    match text {
        "1" | "+1" => Ok(1),
        "-1" => Ok(-1),
        _ => Err("expected 1 or -1".to_owned()),
    }
}
