//! `gauge …`: the shop's register of gauges.

use std::path::PathBuf;

use benchhand_wire::BuretteCounts;
use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{Args, Subcommand};

use super::check::GaugeCheckArgs;

fn counts() -> impl TypedValueParser<Value = BuretteCounts> {
    const BOTH: [BuretteCounts; 2] = [BuretteCounts::Up, BuretteCounts::Down];
    PossibleValuesParser::new(BOTH.map(BuretteCounts::word)).try_map(|word| {
        let found = BOTH.into_iter().find(|way| way.word() == word);
        found.ok_or("up or down")
    })
}

/// The commands on gauges.
#[derive(Debug, Subcommand)]
pub(crate) enum GaugeCommand {
    /// Enter a gauge in the register, or change it.
    #[command(after_help = "Examples:\n  \
        benchhand gauge set burette --profile ascii-volume --port /dev/ttyUSB0 --u \"0.04 \
        cc\" --capacity \"100 cc\"\n  \
        benchhand gauge set dial --profile bcd13-length --port /dev/ttyUSB1 --u \"0.0002 \
        in\"")]
    Set(Box<GaugeSetArgs>),
    /// List the register, how each gauge is now, and how it did so far.
    #[command(after_help = "Example:\n  benchhand gauge list")]
    List,
    /// Show how a gauge repeated and what its checks found, over all jobs.
    #[command(after_help = "Example:\n  benchhand gauge history burette")]
    History(GaugeNameArgs),
    /// Show what a gauge sends, until Ctrl-C.
    #[command(after_help = "Example:\n  benchhand gauge watch dial")]
    Watch(GaugeNameArgs),
    /// Zero a gauge: its present value counts as zero.
    #[command(after_help = "Examples:\n  \
        benchhand gauge zero dial --job number-12\n  \
        benchhand gauge zero dial --job number-12 --raw \"0.0005 in\"\n\n\
        With --raw nothing is read live: the gauge is read by eye.")]
    Zero(GaugeZeroArgs),
    /// Check a gauge against a master or several, or that its zero comes back.
    Check(Box<GaugeCheckArgs>),
    /// Learn which way a burette's scale runs: let a little out while it watches.
    #[command(after_help = "Example:\n  benchhand gauge direction burette")]
    Direction(GaugeDirectionArgs),
    /// Take a gauge out of the register. Its readings stay.
    #[command(after_help = "Example:\n  benchhand gauge drop dial")]
    Drop(GaugeNameArgs),
    /// Find out how an unknown gauge talks, and write a profile for it. Move the gauge meanwhile.
    #[command(after_help = "Example:\n  \
        benchhand gauge find --port /dev/ttyUSB3 --save my-dial.toml")]
    Find(GaugeFindArgs),
    /// Study a gauge from a CSV: its repeatability, and how much operators differ.
    #[command(after_help = "Example:\n  benchhand gauge study study.csv --tolerance \"1 cc\"")]
    Study(GaugeStudyArgs),
    /// Check a profile file, with the captures that it carries.
    #[command(after_help = "Example:\n  benchhand gauge profile my-gauge.toml")]
    Profile(ProfileFileArgs),
}

/// Options of `gauge find`.
#[derive(Debug, Args)]
pub(crate) struct GaugeFindArgs {
    /// The port of the gauge, e.g. `/dev/ttyUSB0`.
    #[arg(long, value_name = "PATH")]
    pub(crate) port: String,
    /// Send harmless questions if nothing comes by itself.
    #[arg(long)]
    pub(crate) allow_queries: bool,
    /// Send the question that the gauge's manual names, if nothing comes by itself. `\r`, `\n` and
    /// `\x05` stand for bytes; without a line end it is tried with CR, then with CR LF. May be given
    /// again.
    #[arg(long, value_name = "TEXT", value_parser = question)]
    pub(crate) ask: Vec<String>,
    /// The unit, if the gauge does not send it. It is never guessed.
    #[arg(long, value_name = "UNIT")]
    pub(crate) unit: Option<String>,
    /// Write the profile into this file.
    #[arg(long, value_name = "FILE")]
    pub(crate) save: Option<PathBuf>,
}

/// Options of `gauge study`.
#[derive(Debug, Args)]
pub(crate) struct GaugeStudyArgs {
    /// The measurements: part,operator,trial,value,unit. Every operator measures each part equally
    /// often.
    #[arg(value_name = "FILE.csv")]
    pub(crate) file: PathBuf,
    /// The width of the tolerance, e.g. "0.5 cc", for shares of it.
    #[arg(long, value_name = "WIDTH")]
    pub(crate) tolerance: Option<String>,
}

/// The argument of `gauge profile`.
#[derive(Debug, Args)]
pub(crate) struct ProfileFileArgs {
    /// The profile.
    pub(crate) file: PathBuf,
}

/// A gauge's name.
#[derive(Debug, Args)]
pub(crate) struct GaugeNameArgs {
    /// The gauge.
    pub(crate) name: String,
}

/// Options of `gauge direction`.
#[derive(Debug, Args)]
pub(crate) struct GaugeDirectionArgs {
    /// The burette.
    pub(crate) name: String,
    /// Change the register without a question if it differs from what is seen.
    #[arg(long)]
    pub(crate) replace: bool,
}

/// Options of `gauge set`.
#[derive(Debug, Args)]
pub(crate) struct GaugeSetArgs {
    /// A name of your own, e.g. `depth-2`.
    pub(crate) name: String,
    /// The profile of the gauge; `benchhand gauge list` lists the profiles. With a profile of your
    /// own, the name in its file.
    #[arg(long, required_unless_present = "profile_file")]
    pub(crate) profile: Option<String>,
    /// The port of the gauge, e.g. `/dev/ttyUSB0`.
    #[arg(long, value_name = "PATH")]
    pub(crate) port: Option<String>,
    /// The adapter's identity as `benchhand ports` shows it. The gauge is then found on any port.
    #[arg(long, value_name = "ID", conflicts_with = "port")]
    pub(crate) adapter: Option<String>,
    /// A profile of your own in a text file.
    #[arg(long, value_name = "FILE")]
    pub(crate) profile_file: Option<PathBuf>,
    /// 1 if the number grows as the plunger is pushed in, -1 if it shrinks.
    #[arg(long, allow_negative_numbers = true, value_parser = sense)]
    pub(crate) sense: Option<i8>,
    /// Standard uncertainty of its calibration, e.g. "0.0002 in".
    #[arg(long, value_name = "VALUE")]
    pub(crate) u: Option<String>,
    /// Relative standard uncertainty of its scale, e.g. 0.001.
    #[arg(long, value_name = "NUMBER")]
    pub(crate) scale_u: Option<f64>,
    /// Standard deviation of a reading that is set up again each time, e.g. "0.05 cc".
    #[arg(long, value_name = "VALUE")]
    pub(crate) repeatability: Option<String>,
    /// Degrees of freedom of the repeatability: one less than the readings behind it, for each set.
    #[arg(long, value_name = "NUMBER", requires = "repeatability")]
    pub(crate) repeatability_dof: Option<f64>,
    /// Size of one count, e.g. "0.0005 in". The gauge's last decimal if absent.
    #[arg(long, value_name = "VALUE")]
    pub(crate) resolution: Option<String>,
    /// A burette's capacity, e.g. "100 cc".
    #[arg(long, value_name = "VALUE")]
    pub(crate) capacity: Option<String>,
    /// Direction of a burette's scale while it delivers: up or down. If nobody knows, `gauge
    /// direction` watches it.
    #[arg(long, value_name = "WAY", value_parser = counts())]
    pub(crate) counts: Option<BuretteCounts>,
    /// When and against what it was last calibrated.
    #[arg(long, value_name = "TEXT")]
    pub(crate) calibrated: Option<String>,
}

/// Options of `gauge zero`.
#[derive(Debug, Args)]
pub(crate) struct GaugeZeroArgs {
    /// The gauge.
    pub(crate) name: String,
    /// The job in whose record the zero is kept.
    #[arg(long)]
    pub(crate) job: String,
    /// The value that a gauge read by eye shows, with unit. Read live if absent.
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) raw: Option<String>,
    /// The master's value, with unit, if it is not 0: a setting ring for a bore gauge.
    #[arg(long, value_name = "VALUE", conflicts_with = "hanging")]
    pub(crate) master: Option<String>,
    /// Standard uncertainty of this zeroing, e.g. "0.0001 in".
    #[arg(long, value_name = "VALUE")]
    pub(crate) u: Option<String>,
    /// The plunger hangs free. Learn that value; it is then never taken as a reading.
    #[arg(long)]
    pub(crate) hanging: bool,
}

/// A question with its escapes read: each character is one byte.
fn question(text: &str) -> Result<String, String> {
    let mut bytes = String::new();
    let mut rest = text.chars();
    while let Some(letter) = rest.next() {
        if letter != '\\' {
            bytes.push(letter);
            continue;
        }
        match rest.next() {
            Some('r') => bytes.push('\r'),
            Some('n') => bytes.push('\n'),
            Some('\\') => bytes.push('\\'),
            Some('x') => {
                let digits: String = rest.by_ref().take(2).collect();
                let byte = u8::from_str_radix(&digits, 16).ok();
                let byte = byte.filter(|_| digits.len() == 2);
                bytes.push(char::from(byte.ok_or_else(|| {
                    format!("found \\x{digits}; expected two hex digits, as in \\x05")
                })?));
            }
            other => {
                let found = other.map_or(String::new(), String::from);
                return Err(format!("found \\{found}; expected \\r, \\n, \\\\ or \\x05"));
            }
        }
    }
    match bytes.chars().all(|letter| u32::from(letter) < 0x100) && !bytes.is_empty() {
        true => Ok(bytes),
        false => Err("expected one byte for each character, at least one".to_owned()),
    }
}

/// A gauge's sense: 1 or -1.
fn sense(text: &str) -> Result<i8, String> {
    match text {
        "1" | "+1" => Ok(1),
        "-1" => Ok(-1),
        _ => Err("expected 1 or -1".to_owned()),
    }
}
