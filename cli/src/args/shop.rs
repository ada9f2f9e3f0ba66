//! `shop …`: several stations with one common record.

use std::path::PathBuf;

use clap::{Args, Subcommand};

/// What is done about the shop.
#[derive(Debug, Subcommand)]
pub(crate) enum ShopCommand {
    /// Join the shop whose record lies at a URL of PostgreSQL.
    #[command(
        after_help = "Example:\n  benchhand shop join postgresql://deck_stand@server/shop --name \"deck stand\""
    )]
    Join(ShopJoinArgs),
    /// Make the tables of a shop, or bring them up to date, as the role that owns the database.
    ///
    /// No station is registered by it: each then joins with a role of its own.
    #[command(
        after_help = "Example:\n  benchhand shop prepare postgresql://shop_owner@server/shop"
    )]
    Prepare(ShopPrepareArgs),
    /// Leave it. Everything that is here stays here.
    #[command(after_help = "Example:\n  benchhand shop leave")]
    Leave,
    /// Show how this station stands to its shop: connected, what waits to be sent, who else is there.
    #[command(after_help = "Example:\n  benchhand shop show")]
    Show,
}

/// Options of `shop join`.
#[derive(Debug, Args)]
pub(crate) struct ShopJoinArgs {
    /// Where the record lies: postgresql://ROLE@HOST/DATABASE. The password belongs into ~/.pgpass or
    /// PGPASSWORD of whoever runs the daemon; a URL with one in it is refused.
    pub(crate) url: String,
    /// What people call this station. The machine's name if absent.
    #[arg(long, value_name = "TEXT")]
    pub(crate) name: Option<String>,
    /// A file of certificates (PEM) to believe in place of the platform's.
    #[arg(long, value_name = "FILE")]
    pub(crate) certificate: Option<PathBuf>,
}

/// Options of `shop prepare`.
#[derive(Debug, Args)]
pub(crate) struct ShopPrepareArgs {
    /// Where the record lies: postgresql://OWNER@HOST/DATABASE. The password belongs into ~/.pgpass or
    /// PGPASSWORD of whoever runs the daemon, or this command where none runs.
    pub(crate) url: String,
    /// Let this role connect as this data folder's station, where another one registered it.
    #[arg(long, value_name = "ROLE")]
    pub(crate) give_to: Option<String>,
    /// A file of certificates (PEM) to believe in place of the platform's.
    #[arg(long, value_name = "FILE")]
    pub(crate) certificate: Option<PathBuf>,
}
