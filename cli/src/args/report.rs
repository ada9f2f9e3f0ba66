//! `report`: of a job, or of two files without any store.

use std::path::PathBuf;

use clap::{ArgGroup, Args};

/// Options of `report`.
#[derive(Debug, Args)]
#[command(group = ArgGroup::new("of").required(true).args(["job", "engine"]))]
pub(crate) struct Report {
    /// The job.
    #[arg(conflicts_with = "readings")]
    pub(crate) job: Option<String>,
    /// An engine file: report from files alone, without a job.
    #[arg(long, value_name = "FILE", requires = "readings")]
    pub(crate) engine: Option<PathBuf>,
    /// The CSV file of the readings: spot,value,unit and, where wanted, u,gauge,stage.
    #[arg(long, value_name = "FILE.csv", requires = "engine")]
    pub(crate) readings: Option<PathBuf>,
    /// The stage to report on; the present (last) one where absent.
    #[arg(long)]
    pub(crate) stage: Option<String>,
}
