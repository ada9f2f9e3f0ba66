//! `completions` and `man`: what a shell and a reader of manuals need of the commands.

use std::path::PathBuf;

use clap::Args;
use clap_complete::Shell;

/// Options of `completions`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  benchhand completions bash > benchhand.bash\n\n\
    docs/installing.md says where each shell looks for them."
)]
pub(crate) struct CompletionsArgs {
    /// The shell.
    pub(crate) shell: Shell,
}

/// Options of `man`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  benchhand man --out manual\n  man -l manual/benchhand.1")]
pub(crate) struct ManArgs {
    /// The folder to write, one page for each command. It is made whole or not at all.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
}
