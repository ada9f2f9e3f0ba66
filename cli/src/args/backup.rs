//! `backup` and `restore`: the whole data folder as one file.

use std::path::PathBuf;

use clap::Args;

/// Options of `backup`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  benchhand backup --out shop.backup")]
pub(crate) struct BackupArgs {
    /// The file to write.
    #[arg(long, value_name = "FILE")]
    pub(crate) out: PathBuf,
    /// Write over a file that is there.
    #[arg(long)]
    pub(crate) force: bool,
}

/// Options of `restore`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  benchhand restore yesterday.backup --data restored")]
pub(crate) struct RestoreArgs {
    /// The file that `backup` wrote.
    pub(crate) file: PathBuf,
}
