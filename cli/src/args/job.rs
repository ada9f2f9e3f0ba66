//! `job …`: engines on the bench.

use std::path::PathBuf;

use clap::{Args, Subcommand};

/// The commands on jobs.
#[derive(Debug, Subcommand)]
pub(crate) enum JobCommand {
    /// Open a job from an engine file.
    New(JobNewArgs),
    /// List the jobs, the last changed first.
    List(JobListingArgs),
    /// Show a job's stages, readings and route.
    Show(JobNameArgs),
    /// Note that parts were cut. A new stage begins.
    Cut(JobCutArgs),
    /// Check the whole record of a job, line by line.
    Verify(JobNameArgs),
    /// Compute the captured readings again from the recorded streams, and compare.
    Recompute(JobNameArgs),
}

/// A job's name.
#[derive(Debug, Args)]
pub(crate) struct JobNameArgs {
    /// The job.
    pub(crate) name: String,
}

/// Options of `job new`.
#[derive(Debug, Args)]
pub(crate) struct JobNewArgs {
    /// The job's name, which also names its folder.
    pub(crate) name: String,
    /// The engine file: dimensions and parts, every value with its unit.
    #[arg(value_name = "ENGINE.toml")]
    pub(crate) engine: PathBuf,
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
    /// Depth of the cut, e.g. "0.010 in", if it is known. `decide mill` learns from it.
    #[arg(long, value_name = "LENGTH")]
    pub(crate) depth: Option<String>,
}
