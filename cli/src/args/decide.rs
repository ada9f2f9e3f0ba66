//! `decide …`: questions whose answer is a decision.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::of::JobOrFiles;

/// The questions.
#[derive(Debug, Subcommand)]
pub(crate) enum DecideCommand {
    /// How deep to mill each head for a target compression or chamber.
    #[command(after_help = "Example:\n  \
        benchhand decide mill number-12 --ratio 10.8 --area \"5720 mm2 +- 20 mm2\"")]
    Mill(MillArgs),
    /// How much to grind out of each chamber so that they are as alike as the engine file allows, or equal.
    #[command(after_help = "Example:\n  benchhand decide chambers number-12 --equal compression")]
    Chambers(ChambersArgs),
    /// Which dome or dish to order for a target compression.
    #[command(after_help = "Examples:\n  \
        benchhand decide dome number-12 --ratio 10.8\n  \
        benchhand decide dome --engine engine.toml --readings readings.csv --ratio 10.8")]
    Dome(DomeArgs),
    /// Which of the gaskets at hand to take.
    #[command(after_help = "Examples:\n  \
        benchhand decide gasket number-12 --list gaskets.csv\n  \
        benchhand decide gasket number-12 --gasket \"thin: 4.147 in x 0.027 in\"")]
    Gasket(GasketArgs),
    /// Which piston and which rod into which bore, for the least spread of the compression.
    #[command(after_help = "Example:\n  benchhand decide fit number-12 --parts parts.csv")]
    Fit(FitArgs),
    /// Which reading is most worth taking once more.
    #[command(after_help = "Example:\n  benchhand decide next number-12 --goal compression_spread")]
    Next(NextArgs),
    /// What if dimensions were changed: before and after side by side.
    #[command(after_help = "Example:\n  \
        benchhand decide what-if number-12 --set \"gasket thickness = 0.051 in\" --set \
        \"chamber/3 -= 2 cc\"")]
    WhatIf(WhatIfArgs),
    /// Two stages or two jobs side by side, with the flow of their ports.
    #[command(after_help = "Example:\n  benchhand decide compare number-12 --against-job number-9")]
    Compare(CompareArgs),
    /// Each port against the others of its kind, with the lift from which a difference is real.
    #[command(after_help = "Example:\n  benchhand decide ports number-12")]
    Ports(PlainArgs),
    /// How much each input moves the compression. The largest share of its uncertainty comes
    /// first.
    #[command(after_help = "Example:\n  benchhand decide sensitivities number-12 --cylinder 3")]
    Sensitivities(SensitivitiesArgs),
    /// The effective compression from the intake valve's closing.
    #[command(after_help = "Example:\n  \
        benchhand decide effective number-12 --closing \"62 deg +- 1 deg\" --at-lift \"0.050 \
        in\"")]
    Effective(EffectiveArgs),
    /// What separates each cylinder from a target compression.
    #[command(after_help = "Example:\n  benchhand decide target number-12 --ratio 10.8")]
    Target(TargetArgs),
}

/// Options of a question that has none of its own.
#[derive(Debug, Args)]
pub(crate) struct PlainArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
}

/// What a cut is to come to, and what is known of its effect.
#[derive(Debug, Args)]
pub(crate) struct CutAim {
    /// The mean compression to aim at. The engine file's target if absent.
    #[arg(long, allow_hyphen_values = true, value_parser = ratio)]
    pub(crate) ratio: Option<f64>,
    /// The mean chamber volume to aim at instead, e.g. "62 cc".
    #[arg(
        long,
        value_name = "VOLUME",
        conflicts_with = "ratio",
        allow_hyphen_values = true
    )]
    pub(crate) chamber: Option<String>,
    /// Area of a chamber's opening at the deck, e.g. "5720 mm2 +- 20 mm2" (one standard deviation,
    /// half of the ± that the answer tells). The engine file's
    /// opening_area if absent.
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) area: Option<String>,
    /// Learn the effect of a depth from the cuts already made, even if an area is stated.
    #[arg(long)]
    pub(crate) learn: bool,
    /// The most that may be cut in all. The engine file's most_mill if absent.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) most: Option<String>,
}

/// What a dome or dish is to come to.
#[derive(Debug, Args)]
pub(crate) struct DomeAim {
    /// The compression to aim at. The engine file's target if absent.
    #[arg(long, allow_hyphen_values = true, value_parser = ratio)]
    pub(crate) ratio: Option<f64>,
    /// How far a cylinder's compression may be from it, e.g. 0.05. The tolerance to write on the
    /// order follows from it. Half of the engine file's compression_spread if absent.
    #[arg(long, value_name = "RATIO", allow_hyphen_values = true, value_parser = ratio)]
    pub(crate) ratio_tolerance: Option<f64>,
}

/// Options of `decide mill`.
#[derive(Debug, Args)]
pub(crate) struct MillArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
    #[command(flatten)]
    pub(crate) aim: CutAim,
    /// The cylinders whose chambers are cut. Each bank by itself if absent.
    #[arg(long, value_name = "N,…", value_delimiter = ',')]
    pub(crate) cylinders: Vec<u32>,
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
    /// Distance of the face's edge on the deep side from that line. A tipped cut is deepest there.
    #[arg(
        long,
        value_name = "LENGTH",
        requires = "angle",
        allow_hyphen_values = true
    )]
    pub(crate) far_edge: Option<String>,
    /// Reckon the cut as if the chambers had first been opened to make these equal, or as the engine file allows.
    #[arg(long, value_enum)]
    pub(crate) opened: Option<EqualGoal>,
}

/// What becomes of the chambers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum EqualGoal {
    /// No spread beyond the one that the engine file allows, by the least metal. All become equal
    /// where it allows none.
    Allowed,
    /// The chambers.
    Chambers,
    /// The compression.
    Compression,
}

/// Options of `decide chambers`.
#[derive(Debug, Args)]
pub(crate) struct ChambersArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
    /// The quantity to make equal, or what the engine file allows.
    #[arg(long, value_enum, default_value = "allowed")]
    pub(crate) equal: EqualGoal,
}

/// Options of `decide dome`.
#[derive(Debug, Args)]
pub(crate) struct DomeArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
    #[command(flatten)]
    pub(crate) aim: DomeAim,
}

/// Options of `decide gasket`.
#[derive(Debug, Args)]
pub(crate) struct GasketArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
    /// The compression to aim at. The engine file's target if absent.
    #[arg(long, allow_hyphen_values = true, value_parser = ratio)]
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
pub(crate) struct FitArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
    /// The pistons and rods as CSV: part,id,crown,height,pin_offset,length,side,fitted.
    #[arg(long, value_name = "FILE.csv")]
    pub(crate) parts: PathBuf,
}

/// Options of `decide next`.
#[derive(Debug, Args)]
pub(crate) struct NextArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
    /// The figure to know better: compression, compression_spread, chamber_spread or deck_spread.
    /// All of them if absent.
    #[arg(long)]
    pub(crate) goal: Option<String>,
    /// The compression of this cylinder instead.
    #[arg(long, value_name = "N", conflicts_with = "goal")]
    pub(crate) cylinder: Option<u32>,
}

/// Options of `decide what-if`.
#[derive(Debug, Args)]
pub(crate) struct WhatIfArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
    /// A change, e.g. "gasket thickness = 0.051 in" or "chamber/3 -= 2 cc". May be given again.
    #[arg(long, value_name = "CHANGE", required = true)]
    pub(crate) set: Vec<String>,
}

/// Options of `decide compare`.
#[derive(Debug, Args)]
pub(crate) struct CompareArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
    /// The stage to compare with, of the same job or of the other job.
    #[arg(long, value_name = "STAGE")]
    pub(crate) against_stage: Option<String>,
    /// The job to compare with.
    #[arg(long, value_name = "JOB", conflicts_with = "engine")]
    pub(crate) against_job: Option<String>,
    /// The engine file to compare with. The same one if absent.
    #[arg(long, value_name = "FILE", requires = "against_readings")]
    pub(crate) against_engine: Option<PathBuf>,
    /// The CSV file of readings to compare with.
    #[arg(long, value_name = "FILE.csv", requires = "engine")]
    pub(crate) against_readings: Option<PathBuf>,
}

/// Options of `decide sensitivities`.
#[derive(Debug, Args)]
pub(crate) struct SensitivitiesArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
    /// The cylinder. The first with a known compression if absent.
    #[arg(long, value_name = "N")]
    pub(crate) cylinder: Option<u32>,
}

/// Options of `decide effective`.
#[derive(Debug, Args)]
pub(crate) struct EffectiveArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
    /// The angle after bottom dead centre at which the intake valve closes, e.g. "62 deg +- 1
    /// deg".
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true)]
    pub(crate) closing: String,
    /// The lift at which the closing is quoted, e.g. "0.050 in". The result moves by a whole ratio
    /// with it.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) at_lift: String,
    /// Rod length. The engine file's if absent.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) rod: Option<String>,
    /// Offset of pin or bore. The engine file's if absent.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) offset: Option<String>,
}

/// Options of `decide target`.
#[derive(Debug, Args)]
pub(crate) struct TargetArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
    /// The compression to aim at. The engine file's target if absent.
    #[arg(long, allow_hyphen_values = true, value_parser = ratio)]
    pub(crate) ratio: Option<f64>,
}

/// A compression as people write it: `10.8`, `10,8` or `10.8:1`.
fn ratio(text: &str) -> Result<f64, String> {
    let typed = text.trim();
    let typed = typed.strip_suffix(":1").unwrap_or(typed).trim();
    benchhand_blueprint::units::number(typed)
        .map_err(|_| "expected a compression as a plain number, such as 10.8".to_owned())
}

/// Splits `thin: 4.147 in x 0.027 in`.
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
            Err("expected NAME: BORE x THICKNESS, such as \"thin: 4.147 in x 0.027 in\"".to_owned())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::ratio;

    #[test]
    fn a_compression_is_read_as_it_is_written() {
        for text in ["10.8", "10,8", " 10.8:1", "10,8 :1"] {
            assert_eq!(ratio(text), Ok(10.8), "{text}");
        }
        for text in ["10,800.5", "10.8 cc", "", "NaN", "1,0,8", "10,800"] {
            let refused = ratio(text).expect_err(text);
            assert!(refused.contains("such as 10.8"), "{refused}");
        }
    }
}
