//! `job order` and `job orders`: what was ordered, and what came.

use std::path::PathBuf;

use clap::Args;

use super::BY;

/// Options of `job order`. A size may have its tolerance behind it: "4.21 cc +- 0.12 cc".
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("what")
    .args(["from_sheet", "dome", "dish", "height", "bore", "skirt", "rod", "take_back"])
    .multiple(true)
    .required(true))]
pub(crate) struct JobOrderArgs {
    /// The job.
    pub(crate) name: String,
    /// The sheet of the order, as `sheet order` wrote it: what it orders is entered as it stands.
    #[arg(long, value_name = "FILE.html", conflicts_with_all = ["dome", "dish"])]
    pub(crate) from_sheet: Option<PathBuf>,
    /// Volume of the dome that was ordered.
    #[arg(
        long,
        value_name = "VOLUME",
        conflicts_with = "dish",
        allow_hyphen_values = true
    )]
    pub(crate) dome: Option<String>,
    /// Volume of the dish that was ordered, e.g. "4.21 cc +- 0.12 cc".
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    pub(crate) dish: Option<String>,
    /// Compression height that was ordered, e.g. "1.203 in +- 0.001 in".
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) height: Option<String>,
    /// Bore that the pistons are made for.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) bore: Option<String>,
    /// Skirt diameter that was ordered.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) skirt: Option<String>,
    /// Rod length that was ordered, centre to centre.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) rod: Option<String>,
    /// Ordered for this cylinder alone. For all of them if absent.
    #[arg(long, value_name = "NUMBER", conflicts_with = "from_sheet")]
    pub(crate) cylinder: Option<u32>,
    /// Take back the order of a size, e.g. `dish`, `height` or `dish/3`: it was never ordered.
    #[arg(long, value_name = "SIZE,…", value_delimiter = ',')]
    pub(crate) take_back: Vec<String>,
    /// From whom.
    #[arg(long, value_name = "TEXT")]
    pub(crate) from: Option<String>,
    /// The day on which it was ordered, e.g. 2026-03-01. Today if absent.
    #[arg(long, value_name = "DAY")]
    pub(crate) on: Option<String>,
    /// Initials of who ordered.
    #[arg(long, value_name = "XY", env = BY)]
    pub(crate) by: Option<String>,
    /// A remark.
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// Options of `job orders`.
#[derive(Debug, Args)]
pub(crate) struct JobOrdersArgs {
    /// The job.
    pub(crate) name: String,
    /// The stage whose readings stand beside the order. The present (last) one if absent.
    #[arg(long)]
    pub(crate) stage: Option<String>,
}
