//! `schema`: what the JSON documents hold.

use clap::Args;

/// Options of `schema`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  benchhand schema\n  benchhand schema report")]
pub(crate) struct SchemaArgs {
    /// The document. All names are listed if absent.
    pub(crate) name: Option<String>,
}
