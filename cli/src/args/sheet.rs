//! `sheet …`: what leaves the bench on paper.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::{CutAim, DomeAim, EqualGoal};

/// The sheets, and their check.
#[derive(Debug, Subcommand)]
pub(crate) enum SheetCommand {
    /// The build sheet: a page for the customer, and one with what its figures rest on.
    #[command(after_help = "Example:\n  benchhand sheet build number-12 --out build.html")]
    Build(SheetOfJob),
    /// The flow sheet: every port over lift, by kind of runner, before and after.
    #[command(after_help = "Example:\n  benchhand sheet flow number-12 --out flow.html")]
    Flow(SheetOfJob),
    /// The order for the piston maker: dome or dish with its tolerance, and what it rests on.
    #[command(
        after_help = "Example:\n  benchhand sheet order number-12 --ratio 10.5 --out order.html"
    )]
    Order(OrderSheetArgs),
    /// The work order for the machine shop, head by head.
    #[command(
        after_help = "Example:\n  benchhand sheet work number-12 --most \"0.040 in\" --out work.html"
    )]
    Work(WorkSheetArgs),
    /// One label for each chamber, with its volume.
    #[command(after_help = "Example:\n  benchhand sheet labels number-12 --out labels.html")]
    Labels(SheetOfJob),
    /// Compare a sheet with the record, and say what changed since.
    #[command(after_help = "Example:\n  benchhand sheet check sent.html")]
    Check(SheetCheckArgs),
}

/// The job of a sheet, and where the sheet goes.
#[derive(Debug, Args)]
pub(crate) struct SheetOfJob {
    /// The job.
    pub(crate) job: String,
    /// The stage. The present (last) one if absent.
    #[arg(long)]
    pub(crate) stage: Option<String>,
    /// The HTML file to write. It prints from any browser.
    #[arg(long, value_name = "FILE.html", required_unless_present = "pdf")]
    pub(crate) out: Option<PathBuf>,
    /// The PDF file to write, by a browser on this machine.
    #[arg(long, value_name = "FILE.pdf")]
    pub(crate) pdf: Option<PathBuf>,
    /// The paper of the PDF. The HTML takes the printer's.
    #[arg(long, value_enum, default_value = "a4", requires = "pdf")]
    pub(crate) paper: Paper,
    /// Write over a file that is there.
    #[arg(long)]
    pub(crate) force: bool,
}

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Paper {
    /// 210 mm by 297 mm.
    A4,
    /// 8.5 in by 11 in.
    Letter,
}

/// Options of `sheet order`.
#[derive(Debug, Args)]
pub(crate) struct OrderSheetArgs {
    #[command(flatten)]
    pub(crate) of: SheetOfJob,
    #[command(flatten)]
    pub(crate) aim: DomeAim,
}

/// Options of `sheet work`.
#[derive(Debug, Args)]
pub(crate) struct WorkSheetArgs {
    #[command(flatten)]
    pub(crate) of: SheetOfJob,
    /// Leave the chambers as they are: only the cut.
    #[arg(long, conflicts_with = "no_cut")]
    pub(crate) no_opening: bool,
    /// Leave the faces as they are: only the chambers.
    #[arg(long)]
    pub(crate) no_cut: bool,
    /// What is made equal by opening the chambers, or what the engine file allows.
    #[arg(long, value_enum, default_value = "allowed")]
    pub(crate) equal: EqualGoal,
    #[command(flatten)]
    pub(crate) aim: CutAim,
}

/// Options of `sheet check`.
#[derive(Debug, Args)]
pub(crate) struct SheetCheckArgs {
    /// The sheet, as it was written.
    pub(crate) file: PathBuf,
    /// The job, where it has another name here.
    #[arg(long)]
    pub(crate) job: Option<String>,
}
