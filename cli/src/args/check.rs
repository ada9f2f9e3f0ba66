//! `gauge check` and `flow-bench`: checks of a gauge or a flow bench.

use std::path::PathBuf;

use clap::{Args, Subcommand};

/// Options of `gauge check`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    benchhand gauge check dial --job number-12 --masters \"0 in,0.1 in,0.2 in\" --u \
    \"0.00005 in\"\n  \
    benchhand gauge check dial --job number-12 --master \"0.1 in\" --raw \"0.1 in\" --allow \
    \"0.0005 in\"\n  \
    benchhand gauge check burette --job number-12 --against water.csv --by-water \"21.5 \
    degC\"\n\n\
    A check that fails is kept, marks the readings since the last good one, and ends with \
    exit code 1.\n\
    With --against, --masters or --with several comparisons are made: the gauge then has its \
    correction, its uncertainty and the date in the register. What is not typed is read \
    live, once the gauge has moved and rests again.")]
pub(crate) struct GaugeCheckArgs {
    /// The gauge.
    pub(crate) name: String,
    /// The job in whose record the check is kept.
    #[arg(long)]
    pub(crate) job: String,
    /// The master's value, with unit. Zero if absent.
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) master: Option<String>,
    /// The value that a gauge read by eye shows, with unit. Read live if absent.
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) raw: Option<String>,
    /// The allowed departure, with unit. One count if absent.
    #[arg(long, value_name = "VALUE")]
    pub(crate) allow: Option<String>,
    /// Standard uncertainty of the master, with unit. For several masters, the part that they
    /// share.
    #[arg(long, value_name = "VALUE")]
    pub(crate) u: Option<String>,
    /// Several masters from a text file with columns `master,shown` and optionally `u`, each value
    /// with its unit. Without `shown` the gauge is read live.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["master", "raw", "masters"])]
    pub(crate) against: Option<PathBuf>,
    /// Several masters, read live one after the other: "0 in, 0.1 in, 0.2 in".
    #[arg(long, value_name = "LIST", conflicts_with_all = ["master", "raw"])]
    pub(crate) masters: Option<String>,
    /// Another gauge of the register that gives the masters' values, live at the same time.
    #[arg(long, value_name = "GAUGE", conflicts_with_all = ["master", "raw", "masters"])]
    pub(crate) with: Option<String>,
    /// Number of comparisons with the other gauge.
    #[arg(long, value_name = "N", default_value_t = 5, requires = "with")]
    pub(crate) points: usize,
    /// The channel to check, by its name in the profile. The first if absent.
    #[arg(long, value_name = "NAME")]
    pub(crate) channel: Option<String>,
    /// Check by water of this temperature ("21.5 degC"). The masters are then weights of what a
    /// burette delivered, volumes that a balance weighed, or heights of a column at a manometer.
    #[arg(long, value_name = "TEMPERATURE")]
    pub(crate) by_water: Option<String>,
    /// The glass of the checked gauge: borosilicate, soda-lime, or its cubic expansion per K.
    #[arg(long, value_name = "GLASS", requires = "by_water")]
    pub(crate) glass: Option<String>,
    /// The air around the balance: "1013 hPa, 21 degC, 45 %RH".
    #[arg(long, value_name = "AIR", requires = "by_water")]
    pub(crate) air: Option<String>,
    /// Acceleration of gravity, m/s2.
    #[arg(long, value_name = "NUMBER", requires = "by_water")]
    pub(crate) gravity: Option<String>,
}

/// The commands on a flow bench.
#[derive(Debug, Subcommand)]
pub(crate) enum FlowBenchCommand {
    /// Check the metering orifice by a plate of known flow.
    Plate(FlowBenchPlateArgs),
    /// Keep the leak, measured with the port sealed. It is subtracted at the same depression.
    Leak(FlowBenchLeakArgs),
}

/// Options of `flow-bench plate`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    benchhand flow-bench plate number-12 --flow \"150 cfm\" --at \"28 inH2O\" --test \"28 \
    inH2O\" --metering \"3.13 inH2O\"\n\n\
    What follows is computed with the plate's flow. A bench that is off by more than allowed \
    ends with exit code 1, and its readings since the last good check are marked.")]
pub(crate) struct FlowBenchPlateArgs {
    /// The job in whose record the check is kept.
    pub(crate) job: String,
    /// The plate's flow by its certificate: "150 cfm" or "150 cfm +- 0.8 cfm" (one standard deviation).
    #[arg(long, value_name = "FLOW")]
    pub(crate) flow: String,
    /// The pressure at which the plate has that flow.
    #[arg(long, value_name = "PRESSURE")]
    pub(crate) at: String,
    /// The metering orifice, by its name in the engine file.
    #[arg(long, value_name = "NAME")]
    pub(crate) orifice: Option<String>,
    /// The test pressure now. Read from the gauge if absent.
    #[arg(long, value_name = "PRESSURE")]
    pub(crate) test: Option<String>,
    /// The metering pressure now. Read from the gauge if absent.
    #[arg(long, value_name = "PRESSURE")]
    pub(crate) metering: Option<String>,
    /// The gauge that has test and metering pressure as its channels.
    #[arg(long, value_name = "GAUGE")]
    pub(crate) gauge: Option<String>,
    /// The allowed departure of the bench, as a share of the flow. 0.01 if absent.
    #[arg(long, value_name = "SHARE")]
    pub(crate) allow: Option<f64>,
    /// The plate's name.
    #[arg(long, value_name = "TEXT")]
    pub(crate) plate: Option<String>,
    /// The plate is right, although the bench is off by more than 5 %.
    #[arg(long)]
    pub(crate) sure: bool,
}

/// Options of `flow-bench leak`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    benchhand flow-bench leak number-12 --flow \"2.1 cfm\" --at \"28 inH2O\"")]
pub(crate) struct FlowBenchLeakArgs {
    /// The job in whose record the leak is kept.
    pub(crate) job: String,
    /// The leak: "2.1 cfm" or "2.1 cfm +- 0.3 cfm" (one standard deviation).
    #[arg(long, value_name = "FLOW")]
    pub(crate) flow: Option<String>,
    /// The test pressure at which the leak was measured. Read from the gauge if absent.
    #[arg(long, value_name = "PRESSURE")]
    pub(crate) at: Option<String>,
    /// The metering pressure with the port sealed, if the leak itself is not given.
    #[arg(long, value_name = "PRESSURE", conflicts_with = "flow")]
    pub(crate) metering: Option<String>,
    /// The metering orifice, by its name in the engine file.
    #[arg(long, value_name = "NAME")]
    pub(crate) orifice: Option<String>,
    /// The gauge that has test and metering pressure as its channels.
    #[arg(long, value_name = "GAUGE")]
    pub(crate) gauge: Option<String>,
}
