//! The subject of a report or a decision: a job, or two text files without a store.

use std::path::PathBuf;

use clap::{ArgGroup, Args};

/// A job, or an engine file with its readings.
#[derive(Debug, Args)]
#[command(group = ArgGroup::new("of").required(true).args(["job", "engine"]))]
pub(crate) struct JobOrFiles {
    /// The job.
    #[arg(conflicts_with = "readings")]
    pub(crate) job: Option<String>,
    /// An engine file: from files alone, without a job.
    #[arg(long, value_name = "FILE", requires = "readings")]
    pub(crate) engine: Option<PathBuf>,
    /// The CSV file of the readings: spot,value,unit and optionally u,gauge,stage.
    #[arg(long, value_name = "FILE.csv", requires = "engine")]
    pub(crate) readings: Option<PathBuf>,
    /// The stage. The present (last) one if absent.
    #[arg(long)]
    pub(crate) stage: Option<String>,
}
