//! `report`: of a job, or of two files without any store.

use clap::{Args, ValueEnum};

use super::of::Of;

/// A section of the report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Section {
    /// Chamber volumes.
    Chambers,
    /// Deck clearances, quench and rock.
    Deck,
    /// Crowns: domes and dishes.
    Crowns,
    /// Compression, with what its uncertainty is made of.
    Compression,
    /// Flow.
    Flow,
    /// The form of the bores.
    Bores,
    /// Valve-to-piston distances.
    Gaps,
    /// Everything else that was measured.
    Measured,
}

/// Options of `report`.
#[derive(Debug, Args)]
pub(crate) struct Report {
    #[command(flatten)]
    pub(crate) of: Of,
    /// Only these sections; cautions always stand.
    #[arg(long, value_name = "SECTION,…", value_delimiter = ',', value_enum)]
    pub(crate) only: Vec<Section>,
    /// Also by simulation, with so many draws (1000 to 2000000).
    #[arg(long, value_name = "DRAWS")]
    pub(crate) simulate: Option<usize>,
    /// The seed of the simulation; always the same one where absent.
    #[arg(long, value_name = "NUMBER", requires = "simulate")]
    pub(crate) seed: Option<u64>,
    /// Also as charts of plain characters.
    #[arg(long)]
    pub(crate) charts: bool,
}
