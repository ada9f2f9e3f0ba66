//! `job …`: engines on the bench.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::{JobOrderArgs, JobOrdersArgs};

/// The commands on jobs.
#[derive(Debug, Subcommand)]
pub(crate) enum JobCommand {
    /// Open a job: from an engine file, from a layout, or by answering what is asked.
    #[command(after_help = "Examples:\n  \
        benchhand job new number-13 engine.toml\n  \
        benchhand job new number-14 --template v8")]
    New(JobNewArgs),
    /// Print a job's engine file, or replace it by another.
    #[command(after_help = "Examples:\n  \
        benchhand job engine number-12\n  \
        benchhand job engine number-12 engine.toml")]
    Engine(JobEngineArgs),
    /// List the jobs, the last changed first.
    #[command(after_help = "Examples:\n  \
        benchhand job list\n  \
        benchhand job list --spot chamber/ --readings\n  \
        benchhand job list --like number-12")]
    List(JobListingArgs),
    /// Show a job's stages, readings and route.
    #[command(after_help = "Example:\n  benchhand job show number-12")]
    Show(JobNameArgs),
    /// Note that parts were cut. A new stage begins.
    #[command(after_help = "Examples:\n  \
        benchhand job cut number-12 --stage \"milled 1\" --what \"0.010 in off both heads\" \
        --changes chamber --depth \"0.010 in\"\n  \
        benchhand job cut number-12 --stage \"ported 3\" --what \"bowl of 3 opened\" \
        --changes chamber,flow --cylinders 3")]
    Cut(JobCutArgs),
    /// Correct what was said of a cut, or take it back where nothing was cut.
    #[command(after_help = "Examples:\n  \
        benchhand job correct-cut number-11 \"milled 1\" --depth \"0.012 in\"\n  \
        benchhand job correct-cut number-11 \"milled 1\" --take-back \
        --reason \"the heads were not milled\"")]
    CorrectCut(JobCorrectCutArgs),
    /// Two heads change their banks: what was measured of them goes along.
    #[command(after_help = "Examples:\n  \
        benchhand job exchange-heads number-12 1 2\n  \
        benchhand job exchange-heads number-12 1 2 --not-turned")]
    ExchangeHeads(ExchangeHeadsArgs),
    /// Enter what was ordered: sizes of parts with their tolerances. A later order of the same size
    /// takes the place of an earlier one.
    #[command(after_help = "Examples:\n  \
        benchhand job order number-12 --from-sheet sent-order.html --from \"an invented maker\"\n  \
        benchhand job order number-12 --dish \"4.20 cc +- 0.15 cc\" --height \"1.203 in +- 0.001 in\"\n  \
        benchhand job order number-12 --take-back height")]
    Order(JobOrderArgs),
    /// Show what was ordered, beside what was measured since.
    #[command(after_help = "Example:\n  benchhand job orders number-12")]
    Orders(JobOrdersArgs),
    /// Check the whole record of a job, line by line.
    #[command(after_help = "Example:\n  benchhand job verify number-12")]
    Verify(JobNameArgs),
    /// Accept the damage of a record, where no sound copy is left. The job goes on without what is
    /// missing.
    #[command(after_help = "Example:\n  \
        benchhand job accept-damage number-7 --reason \"the disk failed, no copy is left\"")]
    AcceptDamage(AcceptDamageArgs),
    /// Pack a job into one file, to put it away or take it elsewhere.
    #[command(after_help = "Example:\n  benchhand job pack number-12 --out number-12.job")]
    Pack(JobPackArgs),
    /// Take a job from such a file, whole or not at all.
    #[command(after_help = "Examples:\n  \
        benchhand job unpack number-8.job\n  \
        benchhand job unpack number-8.job --as number-8-copy")]
    Unpack(JobUnpackArgs),
    /// Compute the captured readings again from the recorded streams, and compare.
    #[command(after_help = "Example:\n  benchhand job recompute number-12")]
    Recompute(JobNameArgs),
}

/// A job's name.
#[derive(Debug, Args)]
pub(crate) struct JobNameArgs {
    /// The job.
    pub(crate) name: String,
}

/// Options of `job accept-damage`.
#[derive(Debug, Args)]
pub(crate) struct AcceptDamageArgs {
    /// The job.
    pub(crate) name: String,
    /// Why the record goes on without what is missing.
    #[arg(long, value_name = "TEXT")]
    pub(crate) reason: String,
}

/// Options of `job pack`.
#[derive(Debug, Args)]
pub(crate) struct JobPackArgs {
    /// The job.
    pub(crate) name: String,
    /// The file to write.
    #[arg(long, value_name = "FILE")]
    pub(crate) out: PathBuf,
    /// Leave the recorded streams out. Readings cannot be computed again from the file then.
    #[arg(long)]
    pub(crate) without_streams: bool,
    /// Write over a file that is there.
    #[arg(long)]
    pub(crate) force: bool,
}

/// Options of `job unpack`.
#[derive(Debug, Args)]
pub(crate) struct JobUnpackArgs {
    /// The file.
    pub(crate) file: PathBuf,
    /// Make it a copy of this name, with a record of its own that says whose copy it is.
    #[arg(long = "as", value_name = "NAME")]
    pub(crate) name: Option<String>,
}

/// Options of `job new`.
#[derive(Debug, Args)]
pub(crate) struct JobNewArgs {
    /// The job's name, which also names its folder.
    pub(crate) name: String,
    /// The engine file: dimensions and parts, every value with its unit.
    #[arg(value_name = "ENGINE.toml")]
    pub(crate) engine: Option<PathBuf>,
    /// Begin with a commented engine file of this layout: single, inline-4, flat-6, v8, v8-by-bank …
    /// Cylinders and banks only, no maker's dimensions.
    #[arg(long, value_name = "LAYOUT", conflicts_with = "engine")]
    pub(crate) template: Option<String>,
    /// Reports in millimetres, where no file says it.
    #[arg(long, conflicts_with = "engine")]
    pub(crate) metric: bool,
}

/// Options of `job engine`.
#[derive(Debug, Args)]
pub(crate) struct JobEngineArgs {
    /// The job.
    pub(crate) name: String,
    /// The engine file that takes the place of the job's.
    #[arg(value_name = "ENGINE.toml")]
    pub(crate) engine: Option<PathBuf>,
    /// Replace also an engine.toml that was edited in the job's folder and is not loaded yet.
    #[arg(long, requires = "engine")]
    pub(crate) over_edited: bool,
}

/// Options of `job list`.
#[derive(Debug, Args)]
pub(crate) struct JobListingArgs {
    /// Only jobs with a reading whose spot begins like this, e.g. `chamber/`.
    #[arg(long, value_name = "PREFIX")]
    pub(crate) spot: Option<String>,
    /// Every reading at that spot instead of the jobs.
    #[arg(long, requires = "spot")]
    pub(crate) readings: bool,
    /// Only jobs whose engines are like that of this job, the nearest first, with their figures.
    #[arg(long, value_name = "JOB", conflicts_with = "spot")]
    pub(crate) like: Option<String>,
}

/// Options of `job exchange-heads`.
#[derive(Debug, Args)]
pub(crate) struct ExchangeHeadsArgs {
    /// The job.
    pub(crate) name: String,
    /// One bank, by its name in the engine file.
    pub(crate) bank: String,
    /// The other bank.
    pub(crate) other: String,
    /// The heads keep their front to the front. Otherwise each is turned end for end, as a head is
    /// that changes sides: what was measured at the front goes to the rear.
    #[arg(long)]
    pub(crate) not_turned: bool,
    /// Initials of who does it, at most 8 letters or digits.
    #[arg(long, value_name = "XY", env = super::BY)]
    pub(crate) by: Option<String>,
}

/// Options of `job cut`.
#[derive(Debug, Args)]
pub(crate) struct JobCutArgs {
    /// The job.
    pub(crate) name: String,
    /// The new stage's name, e.g. "milled 1".
    #[arg(long)]
    pub(crate) stage: String,
    /// What was cut, e.g. "0.010 in off both heads".
    #[arg(long)]
    pub(crate) what: String,
    /// The quantities that the cut changed, e.g. `chamber,deck`. Their readings start over.
    #[arg(
        long,
        value_name = "QUANTITY,…",
        value_delimiter = ',',
        required = true
    )]
    pub(crate) changes: Vec<String>,
    /// Only these cylinders, e.g. `3,5`. Readings of the others hold on. All of them if absent.
    #[arg(long, value_name = "CYLINDER,…", value_delimiter = ',')]
    pub(crate) cylinders: Vec<u32>,
    /// Depth of the cut, e.g. "0.010 in", if it is known. `decide mill` learns from it.
    #[arg(long, value_name = "LENGTH")]
    pub(crate) depth: Option<String>,
    /// The depth is right, although it is more than may be cut.
    #[arg(long, requires = "depth")]
    pub(crate) sure: bool,
}

/// Options of `job correct-cut`.
#[derive(Debug, Args)]
pub(crate) struct JobCorrectCutArgs {
    /// The job.
    pub(crate) name: String,
    /// The stage that the cut opened, e.g. "milled 1".
    pub(crate) stage: String,
    /// What was cut in truth.
    #[arg(long)]
    pub(crate) what: Option<String>,
    /// The quantities that it changed in truth, e.g. `chamber,deck`.
    #[arg(long, value_name = "QUANTITY,…", value_delimiter = ',')]
    pub(crate) changes: Vec<String>,
    /// The only cylinders that it was done at in truth, e.g. `3,5`.
    #[arg(long, value_name = "CYLINDER,…", value_delimiter = ',')]
    pub(crate) cylinders: Vec<u32>,
    /// Depth of the cut in truth, e.g. "0.010 in".
    #[arg(long, value_name = "LENGTH")]
    pub(crate) depth: Option<String>,
    /// The depth is not known, whatever was said.
    #[arg(long, conflicts_with = "depth")]
    pub(crate) no_depth: bool,
    /// Nothing was cut. The stage is none any more, and what was measured in it counts for the stage
    /// before.
    #[arg(long, conflicts_with_all = ["what", "changes", "cylinders", "depth", "no_depth"])]
    pub(crate) take_back: bool,
    /// Why.
    #[arg(long, value_name = "TEXT")]
    pub(crate) reason: Option<String>,
    /// It is right, although readings count for another stage then, or the depth is more than may be
    /// cut.
    #[arg(long)]
    pub(crate) sure: bool,
    /// Initials of who says it, at most 8 letters or digits.
    #[arg(long, value_name = "XY", env = super::BY)]
    pub(crate) by: Option<String>,
}
