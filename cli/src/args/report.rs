//! `report`: of a job, or of two files without a store.

use benchhand_blueprint::known_word::meant;
use benchhand_words::full::ReportSection;
use clap::Args;

use super::of::JobOrFiles;

/// Options of `report`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    benchhand report number-12\n  \
    benchhand report number-12 --only chambers,compression --charts --simulate 100000\n  \
    benchhand report --engine engine.toml --readings readings.csv --full")]
pub(crate) struct ReportArgs {
    #[command(flatten)]
    pub(crate) of: JobOrFiles,
    /// Only these sections: chambers, deck, crowns, compression, flow, bores, gaps or measured.
    /// Cautions are always shown.
    #[arg(long, value_name = "SECTION,…", value_delimiter = ',', value_parser = section)]
    pub(crate) only: Vec<ReportSection>,
    /// The whole report: every figure with its ±, what it rests on, signs and notes.
    #[arg(long)]
    pub(crate) full: bool,
    /// Simulate the figures too, with this many draws (1000 to 2000000).
    #[arg(long, value_name = "DRAWS")]
    pub(crate) simulate: Option<usize>,
    /// The seed of the simulation. Always the same one if absent.
    #[arg(long, value_name = "NUMBER", requires = "simulate")]
    pub(crate) seed: Option<u64>,
    /// Show charts of plain characters too.
    #[arg(long)]
    pub(crate) charts: bool,
}

/// A section, in the singular or the plural.
fn section(text: &str) -> Result<ReportSection, String> {
    let names = || ReportSection::ALL.iter().map(|(name, _)| *name);
    match meant(text, names()) {
        Ok(found) => {
            let mut all = ReportSection::ALL.iter();
            let section = all.find(|(name, _)| *name == found);
            section.map(|(_, section)| *section).ok_or_else(String::new)
        }
        Err(near) => {
            let all = names().collect::<Vec<_>>().join(", ");
            let hint = near.map_or_else(String::new, |near| format!("did you mean {near}? "));
            Err(format!("{hint}expected some of {all}"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_section_is_understood_in_singular_and_plural() {
        for (typed, wanted) in [
            ("chamber", ReportSection::Chambers),
            ("chambers", ReportSection::Chambers),
            ("Chamber/", ReportSection::Chambers),
            ("decks", ReportSection::Deck),
            ("gap", ReportSection::Gaps),
            ("compression", ReportSection::Compression),
        ] {
            assert_eq!(section(typed), Ok(wanted), "{typed}");
        }
        let error = section("chmber").unwrap_err();
        assert!(error.contains("did you mean chambers?"), "{error}");
        let error = section("valve springs").unwrap_err();
        assert!(
            error.contains("chambers, deck") && !error.contains("mean"),
            "{error}"
        );
    }
}
