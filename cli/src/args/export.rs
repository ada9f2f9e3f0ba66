//! `export …`: a job for other programs.

use std::path::PathBuf;

use clap::{Args, Subcommand};

/// What a job can be exported as.
#[derive(Debug, Subcommand)]
pub(crate) enum ExportCommand {
    /// A workbook for a spreadsheet: the compression in live formulas, report, flow, readings.
    #[command(after_help = "Example:\n  benchhand export workbook number-12 --out number-12.xlsx")]
    Workbook(WorkbookArgs),
}

/// Options of `export workbook`.
#[derive(Debug, Args)]
pub(crate) struct WorkbookArgs {
    /// The job.
    pub(crate) job: String,
    /// The stage. The present (last) one if absent.
    #[arg(long)]
    pub(crate) stage: Option<String>,
    /// The file to write.
    #[arg(long, value_name = "FILE.xlsx")]
    pub(crate) out: PathBuf,
    /// Write over a file that is there.
    #[arg(long)]
    pub(crate) force: bool,
}
