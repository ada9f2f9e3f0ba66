//! Readings that a person enters, imports, voids or moves.

use std::path::PathBuf;

use clap::{ArgGroup, Args};

/// Options of `condition`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    benchhand condition number-12 liquid water\n  \
    benchhand condition number-12 liquid/temperature 21.5 degC --u 0.5degC --since 3")]
pub(crate) struct ConditionArgs {
    /// The job.
    pub(crate) job: String,
    /// The condition's name. `benchhand routes` says what each route asks for.
    pub(crate) name: String,
    /// A value with its unit, or a word.
    #[arg(allow_hyphen_values = true)]
    pub(crate) value: String,
    /// The unit, if it is typed apart from the value.
    pub(crate) unit: Option<String>,
    /// Standard uncertainty of the value, with its unit.
    #[arg(long, value_name = "VALUE")]
    pub(crate) u: Option<String>,
    /// Number of the first reading for which the condition holds, if it is said late.
    #[arg(long, value_name = "READING")]
    pub(crate) since: Option<String>,
}

/// Options of `enter`.
#[derive(Debug, Args)]
#[command(group = ArgGroup::new("what").required(true).multiple(true).args(["value", "from"]))]
#[command(after_help = "Examples:\n  \
    benchhand enter number-12 chamber/3 64.2 cc\n  \
    benchhand enter number-12 chamber 3 64.2cc\n  \
    benchhand enter number-12 chamber/3 --from 0.0cc --to 50.0cc --from 0.0cc --to 14.2cc\n  \
    benchhand enter number-12 deck/1/front 0.008 in --u 0.0005in\n  \
    benchhand enter number-12 flow/1/intake/0.300in 28.0 and 4.55 inH2O")]
pub(crate) struct EnterArgs {
    /// The job.
    pub(crate) job: String,
    /// The spot, e.g. `chamber/3` or `deck/5/front`; `chamber 3` and `Chambers 3` are the same.
    pub(crate) spot: String,
    /// The value with its unit, e.g. `64.2 cc` or `"64.2 cc"`. Of a flow both: `28.0 and 4.55
    /// inH2O`, or `28.0 inH2O and 150 cfm`.
    #[arg(allow_hyphen_values = true)]
    pub(crate) value: Option<String>,
    /// The unit, if it is typed apart from the value.
    #[arg(allow_hyphen_values = true, requires = "value")]
    pub(crate) unit: Option<String>,
    // A spot of several words comes in several arguments. Each is a separate field, because an
    // argument that takes several values and a leading minus would swallow the options after it.
    #[command(flatten)]
    pub(crate) more: SpotWords,
    /// A burette's level before a pour, with unit; several pours are summed.
    #[arg(
        long,
        value_name = "LEVEL",
        requires = "to",
        allow_hyphen_values = true
    )]
    pub(crate) from: Vec<String>,
    /// The burette's level after that pour, with unit.
    #[arg(
        long,
        value_name = "LEVEL",
        requires = "from",
        allow_hyphen_values = true
    )]
    pub(crate) to: Vec<String>,
    /// Standard uncertainty of the reading, with unit.
    #[arg(long, value_name = "VALUE")]
    pub(crate) u: Option<String>,
    /// The gauge that showed the value.
    #[arg(long)]
    pub(crate) gauge: Option<String>,
    /// The stage that the value belongs to, for a correction after a cut. The present one if absent.
    #[arg(long, value_name = "NAME")]
    pub(crate) stage: Option<String>,
    /// Keep the reading even if it is far from the expected value or looks like a slip.
    #[arg(long)]
    pub(crate) sure: bool,
    /// Initials of who does it, at most 8 letters or digits.
    #[arg(long, value_name = "XY", env = super::BY)]
    pub(crate) by: Option<String>,
}

/// The remaining words of a spot and a value.
#[derive(Debug, Default, Args)]
pub(crate) struct SpotWords {
    #[arg(hide = true, allow_hyphen_values = true)]
    fourth: Option<String>,
    #[arg(hide = true, allow_hyphen_values = true)]
    fifth: Option<String>,
    #[arg(hide = true, allow_hyphen_values = true)]
    sixth: Option<String>,
    #[arg(hide = true, allow_hyphen_values = true)]
    seventh: Option<String>,
    #[arg(hide = true, allow_hyphen_values = true)]
    eighth: Option<String>,
}

impl EnterArgs {
    /// The words of the spot and the value, as typed.
    pub(crate) fn words(&self) -> Vec<String> {
        let more = &self.more;
        let more = [
            &more.fourth,
            &more.fifth,
            &more.sixth,
            &more.seventh,
            &more.eighth,
        ];
        let first = [&self.value, &self.unit].into_iter().chain(more);
        let rest = first.flatten().cloned();
        std::iter::once(self.spot.clone()).chain(rest).collect()
    }
}

/// Options of `import`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    benchhand import number-12 readings.csv\n\n\
    The file's first line names its columns: spot,value,unit and, where wanted, \
    u,gauge,stage. One bad row and nothing is kept.")]
pub(crate) struct ImportArgs {
    /// The job.
    pub(crate) job: String,
    /// The CSV file.
    #[arg(value_name = "FILE.csv")]
    pub(crate) file: PathBuf,
    /// Keep the rows even if some are far from the expected values or look like slips.
    #[arg(long)]
    pub(crate) sure: bool,
    /// Initials of who does it, at most 8 letters or digits.
    #[arg(long, value_name = "XY", env = super::BY)]
    pub(crate) by: Option<String>,
}

/// Options of `void`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  benchhand void number-12 6 --reason \"plate not sealed\"")]
pub(crate) struct VoidArgs {
    /// The job.
    pub(crate) job: String,
    /// The reading's number, as `benchhand job show` lists it: 6, or A6 where several stations measure;
    /// several, parted by blanks.
    #[arg(value_name = "READING", value_parser = reading_number, required = true)]
    pub(crate) numbers: Vec<String>,
    /// The reason.
    #[arg(long)]
    pub(crate) reason: String,
    /// Initials of who does it, at most 8 letters or digits.
    #[arg(long, value_name = "XY", env = super::BY)]
    pub(crate) by: Option<String>,
}

/// A reading's number as people say it: `6`, `A6`, or `c0ffee-6` of a station without a letter.
fn reading_number(text: &str) -> Result<String, String> {
    let digits = text.trim_end_matches(|c: char| c.is_ascii_digit());
    let station = digits.strip_suffix('-').unwrap_or(digits);
    let named = station.chars().all(|c| c.is_ascii_alphanumeric());
    match digits.len() < text.len() && named {
        true => Ok(text.to_owned()),
        false => Err("expected a reading's number, such as 6 or A6".to_owned()),
    }
}

/// Options of `move`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    benchhand move number-12 3 chamber/5 --reason \"wrong cylinder called out\"")]
pub(crate) struct MoveToArgs {
    /// The job.
    pub(crate) job: String,
    /// The reading's number, as `benchhand job show` lists it: 6, or A6 where several stations measure.
    #[arg(value_name = "READING", value_parser = reading_number)]
    pub(crate) number: String,
    /// The spot where it belongs, e.g. `chamber/5` or `chamber 5`.
    #[arg(required = true, allow_negative_numbers = true)]
    pub(crate) spot: Vec<String>,
    /// The reason.
    #[arg(long, default_value = "")]
    pub(crate) reason: String,
    /// Initials of who does it, at most 8 letters or digits.
    #[arg(long, value_name = "XY", env = super::BY)]
    pub(crate) by: Option<String>,
}
