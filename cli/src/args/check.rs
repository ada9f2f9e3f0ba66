//! `gauge check` and `flow-bench`: what a gauge or a bench is held against.

use std::path::PathBuf;

use clap::{Args, Subcommand};

/// Options of `gauge check`.
#[derive(Debug, Args)]
#[command(
    after_help = "A check that fails is kept, marks the readings since the last good one, \
    and ends with exit code 1.\n\
    With --against, --masters or --with several comparisons are made: the gauge then has its \
    correction, its uncertainty and the date in the register. What is not typed is read live, \
    once the gauge has moved and rests again."
)]
pub(crate) struct GaugeCheck {
    /// The gauge.
    pub(crate) name: String,
    /// The job in whose record the check is kept.
    #[arg(long)]
    pub(crate) job: String,
    /// What the master is, with unit; zero where absent.
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) master: Option<String>,
    /// What a gauge that is read by eye shows, with unit; read live where absent.
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) raw: Option<String>,
    /// The departure that is allowed, with unit; one count where absent.
    #[arg(long, value_name = "VALUE")]
    pub(crate) allow: Option<String>,
    /// Standard uncertainty of the master, with unit; of several what they share.
    #[arg(long, value_name = "VALUE")]
    pub(crate) u: Option<String>,
    /// Several masters from a text file with columns `master,shown` and, where wanted, `u`, each
    /// value with its unit; without `shown` it is read live.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["master", "raw", "masters"])]
    pub(crate) against: Option<PathBuf>,
    /// Several masters, read live one after the other: "0 in, 0.1 in, 0.2 in".
    #[arg(long, value_name = "LIST", value_delimiter = ',', conflicts_with_all = ["master", "raw"])]
    pub(crate) masters: Vec<String>,
    /// Another gauge of the register that gives the masters' values, live at the same time.
    #[arg(long, value_name = "GAUGE", conflicts_with_all = ["master", "raw", "masters"])]
    pub(crate) with: Option<String>,
    /// How many comparisons with the other gauge.
    #[arg(long, value_name = "N", default_value_t = 5, requires = "with")]
    pub(crate) points: usize,
    /// The channel that is checked, by its name in the profile; the first where absent.
    #[arg(long, value_name = "NAME")]
    pub(crate) channel: Option<String>,
    /// By water of this temperature ("21.5 degC"): the masters are weights of what a burette
    /// delivered, volumes that a balance weighed, or heights of a column at a manometer.
    #[arg(long, value_name = "TEMPERATURE")]
    pub(crate) by_water: Option<String>,
    /// The glass that is checked: borosilicate, soda-lime, or its cubic expansion per K.
    #[arg(long, value_name = "GLASS", requires = "by_water")]
    pub(crate) glass: Option<String>,
    /// The air about the balance: "1013 hPa, 21 degC, 45 %RH".
    #[arg(long, value_name = "AIR", requires = "by_water")]
    pub(crate) air: Option<String>,
    /// Acceleration of gravity, m/s2.
    #[arg(long, value_name = "NUMBER", requires = "by_water")]
    pub(crate) gravity: Option<String>,
}

/// The commands on a flow bench.
#[derive(Debug, Subcommand)]
pub(crate) enum FlowBench {
    /// Check the metering orifice by a plate of known flow.
    Plate(BenchPlate),
    /// Keep the leak, measured with the port sealed; it is taken off at the same depression.
    Leak(BenchLeak),
}

/// Options of `flow-bench plate`.
#[derive(Debug, Args)]
#[command(
    after_help = "What follows is computed with the plate's flow. A bench that is off by more \
    than allowed ends with exit code 1, and its readings since the last good check are marked."
)]
pub(crate) struct BenchPlate {
    /// The job in whose record the check is kept.
    pub(crate) job: String,
    /// The plate's flow by its certificate: "150 cfm" or "150 cfm +- 0.8 cfm".
    #[arg(long, value_name = "FLOW")]
    pub(crate) flow: String,
    /// The pressure at which it has that flow.
    #[arg(long, value_name = "PRESSURE")]
    pub(crate) at: String,
    /// The metering orifice, by its name in the engine file.
    #[arg(long, value_name = "NAME")]
    pub(crate) orifice: Option<String>,
    /// The test pressure now; by the gauge where absent.
    #[arg(long, value_name = "PRESSURE")]
    pub(crate) test: Option<String>,
    /// The metering pressure now; by the gauge where absent.
    #[arg(long, value_name = "PRESSURE")]
    pub(crate) metering: Option<String>,
    /// The gauge that has test and metering pressure as its channels.
    #[arg(long, value_name = "GAUGE")]
    pub(crate) gauge: Option<String>,
    /// What the bench may be off by, as a share of the flow; 0.01 where absent.
    #[arg(long, value_name = "SHARE")]
    pub(crate) allow: Option<f64>,
    /// What the plate is called.
    #[arg(long, value_name = "TEXT")]
    pub(crate) plate: Option<String>,
}

/// Options of `flow-bench leak`.
#[derive(Debug, Args)]
pub(crate) struct BenchLeak {
    /// The job in whose record it is kept.
    pub(crate) job: String,
    /// The leak: "2.1 cfm" or "2.1 cfm +- 0.3 cfm".
    #[arg(long, value_name = "FLOW")]
    pub(crate) flow: Option<String>,
    /// The test pressure at which it was measured; by the gauge where absent.
    #[arg(long, value_name = "PRESSURE")]
    pub(crate) at: Option<String>,
    /// The metering pressure with the port sealed, where the leak itself is not given.
    #[arg(long, value_name = "PRESSURE", conflicts_with = "flow")]
    pub(crate) metering: Option<String>,
    /// The metering orifice, by its name in the engine file.
    #[arg(long, value_name = "NAME")]
    pub(crate) orifice: Option<String>,
    /// The gauge that has test and metering pressure as its channels.
    #[arg(long, value_name = "GAUGE")]
    pub(crate) gauge: Option<String>,
}
