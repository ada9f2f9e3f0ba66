//! `tdc`: true top dead centre from a degree wheel's readings.

use std::path::PathBuf;

use clap::Args;

/// Options of `tdc`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    benchhand tdc --pair \"326.4, 33.8\" --pair \"340.3, 19.7\" --u \"0.3 deg\"")]
pub(crate) struct TdcArgs {
    /// Angles before and after the top at which the piston was equally deep and, if it is known,
    /// how deep: "326.4, 33.8 at 0.200 in". May be given again.
    #[arg(
        long = "pair",
        value_name = "BEFORE, AFTER [at DEPTH]",
        required = true,
        allow_hyphen_values = true
    )]
    pub(crate) pairs: Vec<String>,
    /// Standard uncertainty of one reading of the degree wheel, e.g. "0.3 deg".
    #[arg(long, value_name = "ANGLE")]
    pub(crate) u: Option<String>,
    /// An engine file, for stroke, rod and pin offset.
    #[arg(long, value_name = "FILE")]
    pub(crate) engine: Option<PathBuf>,
    /// Piston travel.
    #[arg(long, value_name = "LENGTH")]
    pub(crate) stroke: Option<String>,
    /// Rod length.
    #[arg(long, value_name = "LENGTH")]
    pub(crate) rod: Option<String>,
    /// Offset of pin or bore, positive to the side to which the crankpin moves after the throw
    /// points up.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) offset: Option<String>,
}
