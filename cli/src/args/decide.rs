//! `decide …`: questions whose answer is a decision.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::of::Of;

/// The questions.
#[derive(Debug, Subcommand)]
pub(crate) enum Decide {
    /// How deep to mill each head for a target compression or chamber.
    Mill(Mill),
    /// What to grind out of each chamber so that all become equal.
    Chambers(Chambers),
    /// Which dome or dish to order for a target compression.
    Dome(Dome),
    /// Which of the gaskets at hand to take.
    Gasket(Gasket),
    /// Which piston and which rod into which bore, for the least spread of the compression.
    Fit(Fit),
    /// Which reading, taken once more, would tell most.
    Next(Next),
    /// What if dimensions were changed: before and after side by side.
    WhatIf(WhatIf),
    /// Two stages or two jobs side by side, with the flow of their ports.
    Compare(Compare),
    /// Each port against the others of its kind, with the lift from which a difference is real.
    Ports(Plain),
    /// What the compression answers to, what makes most of its uncertainty first.
    Sensitivities(Sensitivities),
    /// The effective compression from the intake valve's closing.
    Effective(Effective),
    /// What separates each cylinder from a target compression.
    Target(Target),
}

/// Options of a question that has none of its own.
#[derive(Debug, Args)]
pub(crate) struct Plain {
    #[command(flatten)]
    pub(crate) of: Of,
}

/// Options of `decide mill`.
#[derive(Debug, Args)]
pub(crate) struct Mill {
    #[command(flatten)]
    pub(crate) of: Of,
    /// The mean compression to aim at; the engine file's target where absent.
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) ratio: Option<f64>,
    /// The mean chamber volume to aim at instead, e.g. "62 cc".
    #[arg(
        long,
        value_name = "VOLUME",
        conflicts_with = "ratio",
        allow_hyphen_values = true
    )]
    pub(crate) chamber: Option<String>,
    /// The cylinders whose chambers are cut; each bank by itself where absent.
    #[arg(long, value_name = "N,…", value_delimiter = ',')]
    pub(crate) cylinders: Vec<u32>,
    /// Area of a chamber's opening at the deck, e.g. "5720 mm2 +- 20 mm2"; the engine file's
    /// opening_area where absent.
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) area: Option<String>,
    /// Learn what a depth takes from the cuts already made, though an area is stated.
    #[arg(long)]
    pub(crate) learn: bool,
    /// Angle of a tipped cut, e.g. "0.5 deg".
    #[arg(long, requires = "centroid", allow_hyphen_values = true)]
    pub(crate) angle: Option<String>,
    /// Distance of the centroid of the chambers' openings from the line about which the cut is
    /// tipped, positive toward the deep side.
    #[arg(
        long,
        value_name = "LENGTH",
        requires = "angle",
        allow_hyphen_values = true
    )]
    pub(crate) centroid: Option<String>,
    /// Distance of the face's edge on the deep side from that line: there a tipped cut is deepest.
    #[arg(
        long,
        value_name = "LENGTH",
        requires = "angle",
        allow_hyphen_values = true
    )]
    pub(crate) far_edge: Option<String>,
    /// The most that may be cut in all; the engine file's most_mill where absent.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) most: Option<String>,
}

/// What becomes equal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Equal {
    /// The chambers.
    Chambers,
    /// The compression.
    Compression,
}

/// Options of `decide chambers`.
#[derive(Debug, Args)]
pub(crate) struct Chambers {
    #[command(flatten)]
    pub(crate) of: Of,
    /// What is to become equal.
    #[arg(long, value_enum, default_value = "chambers")]
    pub(crate) equal: Equal,
}

/// Options of `decide dome`.
#[derive(Debug, Args)]
pub(crate) struct Dome {
    #[command(flatten)]
    pub(crate) of: Of,
    /// The compression to aim at; the engine file's target where absent.
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) ratio: Option<f64>,
    /// By how much a cylinder's compression may be off it, e.g. 0.05; from it follows the
    /// tolerance to write on the order. Half of the engine file's compression_spread where absent.
    #[arg(long, value_name = "RATIO", allow_hyphen_values = true)]
    pub(crate) ratio_tolerance: Option<f64>,
}

/// Options of `decide gasket`.
#[derive(Debug, Args)]
pub(crate) struct Gasket {
    #[command(flatten)]
    pub(crate) of: Of,
    /// The compression to aim at; the engine file's target where absent.
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) ratio: Option<f64>,
    /// A gasket at hand: its name, opening and compressed thickness. May be given again.
    #[arg(long = "gasket", value_name = "NAME: BORE x THICKNESS", value_parser = gasket)]
    pub(crate) gaskets: Vec<(String, String, String)>,
    /// The gaskets at hand as CSV: name,bore,thickness, each value with its unit.
    #[arg(long, value_name = "FILE.csv")]
    pub(crate) list: Option<PathBuf>,
}

/// Options of `decide fit`.
#[derive(Debug, Args)]
pub(crate) struct Fit {
    #[command(flatten)]
    pub(crate) of: Of,
    /// The pistons and rods as CSV: part,id,crown,height,pin_offset,length,side,fitted.
    #[arg(long, value_name = "FILE.csv")]
    pub(crate) parts: PathBuf,
}

/// Options of `decide next`.
#[derive(Debug, Args)]
pub(crate) struct Next {
    #[command(flatten)]
    pub(crate) of: Of,
    /// What is to be known better: compression, compression_spread, chamber_spread or
    /// deck_spread; all of them where absent.
    #[arg(long)]
    pub(crate) goal: Option<String>,
    /// The compression of this cylinder instead.
    #[arg(long, value_name = "N", conflicts_with = "goal")]
    pub(crate) cylinder: Option<u32>,
}

/// Options of `decide what-if`.
#[derive(Debug, Args)]
pub(crate) struct WhatIf {
    #[command(flatten)]
    pub(crate) of: Of,
    /// A change, e.g. "gasket thickness = 0.051 in" or "chamber/3 -= 2 cc". May be given again.
    #[arg(long, value_name = "CHANGE", required = true)]
    pub(crate) set: Vec<String>,
}

/// Options of `decide compare`.
#[derive(Debug, Args)]
pub(crate) struct Compare {
    #[command(flatten)]
    pub(crate) of: Of,
    /// The stage that it is compared with, of the same job or of the other one.
    #[arg(long, value_name = "STAGE")]
    pub(crate) against_stage: Option<String>,
    /// The job that it is compared with.
    #[arg(long, value_name = "JOB", conflicts_with = "engine")]
    pub(crate) against_job: Option<String>,
    /// The engine file that it is compared with; the same one where absent.
    #[arg(long, value_name = "FILE", requires = "against_readings")]
    pub(crate) against_engine: Option<PathBuf>,
    /// The CSV file of readings that it is compared with.
    #[arg(long, value_name = "FILE.csv", requires = "engine")]
    pub(crate) against_readings: Option<PathBuf>,
}

/// Options of `decide sensitivities`.
#[derive(Debug, Args)]
pub(crate) struct Sensitivities {
    #[command(flatten)]
    pub(crate) of: Of,
    /// The cylinder; the first whose compression is known where absent.
    #[arg(long, value_name = "N")]
    pub(crate) cylinder: Option<u32>,
}

/// Options of `decide effective`.
#[derive(Debug, Args)]
pub(crate) struct Effective {
    #[command(flatten)]
    pub(crate) of: Of,
    /// Where the intake valve closes, after bottom dead centre, e.g. "62 deg +- 1 deg".
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true)]
    pub(crate) closing: String,
    /// The lift at which that is quoted, e.g. "0.050 in"; the result moves by a whole ratio with it.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) at_lift: String,
    /// Rod length; the engine file's where absent.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) rod: Option<String>,
    /// Offset of pin or bore; the engine file's where absent.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) offset: Option<String>,
}

/// Options of `decide target`.
#[derive(Debug, Args)]
pub(crate) struct Target {
    #[command(flatten)]
    pub(crate) of: Of,
    /// The compression to aim at; the engine file's target where absent.
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) ratio: Option<f64>,
}

/// Splits `thin: 4.100 in x 0.027 in`.
fn gasket(text: &str) -> Result<(String, String, String), String> {
    let parts = text.split_once(':').and_then(|(name, sizes)| {
        let (bore, thickness) = sizes.split_once(" x ")?;
        Some((name.trim(), bore.trim(), thickness.trim()))
    });
    match parts {
        Some((name, bore, thickness)) if !name.is_empty() => {
            Ok((name.to_owned(), bore.to_owned(), thickness.to_owned()))
        }
        _ => {
            Err("expected NAME: BORE x THICKNESS, such as \"thin: 4.100 in x 0.027 in\"".to_owned())
        }
    }
}
