//! `job …`: engines on the bench.

use std::path::PathBuf;

use clap::{Args, Subcommand};

/// The commands on jobs.
#[derive(Debug, Subcommand)]
pub(crate) enum Job {
    /// Open a job from an engine file.
    New(JobNew),
    /// List the jobs, the last changed first.
    List(JobListing),
    /// Show a job's stages, readings and route.
    Show(JobName),
    /// Note that parts were cut, which opens a new stage.
    Cut(JobCut),
    /// Check the whole record of a job, line by line.
    Verify(JobName),
    /// Make the captured readings out anew from the recorded streams, and compare.
    Recompute(JobName),
}

/// A job's name.
#[derive(Debug, Args)]
pub(crate) struct JobName {
    /// The job.
    pub(crate) name: String,
}

/// Options of `job new`.
#[derive(Debug, Args)]
pub(crate) struct JobNew {
    /// The job's name, which also names its folder.
    pub(crate) name: String,
    /// The engine file: dimensions and parts, every value with its unit.
    #[arg(value_name = "ENGINE.toml")]
    pub(crate) engine: PathBuf,
}

/// Options of `job list`.
#[derive(Debug, Args)]
pub(crate) struct JobListing {
    /// Only jobs with a reading whose spot begins so, e.g. `chamber/`.
    #[arg(long, value_name = "PREFIX")]
    pub(crate) spot: Option<String>,
    /// Every reading at that spot, not the jobs that have one.
    #[arg(long, requires = "spot")]
    pub(crate) readings: bool,
    /// Only jobs whose engines are like that of this job, the nearest first, with their figures.
    #[arg(long, value_name = "JOB", conflicts_with = "spot")]
    pub(crate) like: Option<String>,
}

/// Options of `job cut`.
#[derive(Debug, Args)]
pub(crate) struct JobCut {
    /// The job.
    pub(crate) name: String,
    /// The new stage's name, e.g. "milled 1".
    #[arg(long)]
    pub(crate) stage: String,
    /// What was cut, e.g. "0.010 in off both heads".
    #[arg(long)]
    pub(crate) what: String,
    /// The quantities it changed, e.g. `chamber,deck`: their readings begin anew.
    #[arg(
        long,
        value_name = "QUANTITY,…",
        value_delimiter = ',',
        required = true
    )]
    pub(crate) changes: Vec<String>,
    /// How deep the cut went, e.g. "0.010 in", where it is known: from it `decide mill` learns.
    #[arg(long, value_name = "LENGTH")]
    pub(crate) depth: Option<String>,
}
