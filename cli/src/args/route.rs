//! Commands for live gauges: the daemon, ports, routes and their steering.

use std::path::PathBuf;

use clap::{Args, Subcommand};

/// Options of `serve`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  benchhand serve")]
pub(crate) struct ServeArgs {
    /// Listen on this port of 127.0.0.1. A free one if absent.
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub(crate) listen_port: u16,
    /// Run the clock N times faster than true, for played gauges only.
    #[arg(long, value_name = "N", default_value_t = 1.0, value_parser = speed)]
    pub(crate) speed: f64,
}

/// Options of `board`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    benchhand board\n  \
    benchhand board --open-network\n\n\
    The address opens the page once, in a browser of this machine. A tablet or phone is let \
    in only by --open-network, which says what that risks, and only by its code.")]
pub(crate) struct BoardArgs {
    /// Open the local network and show a pairing code for one device.
    #[arg(long)]
    pub(crate) open_network: bool,
    /// Listen on this port for the local network. A free one if absent.
    #[arg(long, value_name = "N", requires = "open_network")]
    pub(crate) network_port: Option<u16>,
    /// Close the local network again and shut out every paired device.
    #[arg(long, conflicts_with = "open_network")]
    pub(crate) close_network: bool,
}

/// Options of `ports`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    benchhand ports\n  \
    benchhand ports /dev/ttyUSB0")]
pub(crate) struct PortsArgs {
    /// Check this port only; the exit code then tells its state. Pseudo-terminals are never listed
    /// and must be named.
    #[arg(value_name = "PATH")]
    pub(crate) path: Option<String>,
}

/// Options of `measure`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    benchhand measure number-12 chambers\n  \
    benchhand measure number-12 flow --cylinders 1,2 --list lift=0.100in,0.200in --mean 10\n\n\
    While it runs in a terminal, a line typed steers it: take, again, back, skip, add, \
    split, hold, continue, undo, end, go SPOT (go chamber 3), or a value such as 64.2, in \
    the stop's unit. A question is answered by keep, again, refill, delivered, split, skip \
    or a value.\n\
    Ctrl-C leaves the route half-way; the same command takes it up again.")]
pub(crate) struct MeasureArgs {
    /// The job.
    pub(crate) job: String,
    /// The route; `benchhand routes` lists them.
    pub(crate) route: String,
    /// Which gauge measures which kind, e.g. `volume=burette`; may be given several times.
    #[arg(long = "gauge", value_name = "KIND=GAUGE", value_parser = super::pair)]
    pub(crate) gauges: Vec<(String, String)>,
    /// Only these cylinders, in this order, e.g. `1,3,5`.
    #[arg(long, value_name = "N,…", value_delimiter = ',')]
    pub(crate) cylinders: Vec<u32>,
    /// Values for one of the route's own lists, e.g. `lift=0.100in,0.200in`. A number without a
    /// unit is in the engine's unit.
    #[arg(long = "list", value_name = "NAME=V,…", value_parser = super::pair)]
    pub(crate) lists: Vec<(String, String)>,
    /// Visit each spot this many times.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pub(crate) rounds: Option<u32>,
    /// Take means over this many seconds, 5 to 60, at a flow bench. The route says what a shorter mean
    /// costs. Say it again if the route is taken up.
    #[arg(long, value_name = "SECONDS")]
    pub(crate) mean: Option<f64>,
    /// A route of your own in a text file, kept under the route's name.
    #[arg(long, value_name = "FILE")]
    pub(crate) route_file: Option<PathBuf>,
    /// Start over, even if a route is half finished.
    #[arg(long = "start-over", alias = "afresh")]
    pub(crate) afresh: bool,
    /// Initials of who does it, at most 8 letters or digits.
    #[arg(long, value_name = "XY", env = super::BY)]
    pub(crate) by: Option<String>,
}

/// Options of `steer`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    benchhand steer number-12 again\n  \
    benchhand steer number-12 go chamber 3")]
pub(crate) struct SteerArgs {
    /// The job whose route runs.
    pub(crate) job: String,
    /// What to do with the route.
    #[command(subcommand)]
    pub(crate) control: SteerControl,
}

/// The controls of a route, as they are typed.
#[derive(Debug, Subcommand)]
#[command(disable_help_subcommand = true)]
pub(crate) enum SteerControl {
    /// Take the reading now, if the gauge allows it.
    #[command(after_help = "Example:\n  benchhand steer number-12 take")]
    Take,
    /// Void the last reading of this stop and take it again.
    #[command(after_help = "Example:\n  benchhand steer number-12 again")]
    Again,
    /// Go back one stop.
    #[command(after_help = "Example:\n  benchhand steer number-12 back")]
    Back,
    /// Pass this stop over.
    #[command(after_help = "Example:\n  benchhand steer number-12 skip")]
    Skip,
    /// Sum another pour into the last reading.
    #[command(after_help = "Example:\n  benchhand steer number-12 add")]
    Add,
    /// Take nothing until `continue`.
    #[command(after_help = "Example:\n  benchhand steer number-12 hold")]
    Hold,
    /// Go on after `hold`.
    #[command(name = "continue", alias = "resume")]
    #[command(after_help = "Example:\n  benchhand steer number-12 continue")]
    Resume,
    /// Answer a question: the value is right.
    #[command(after_help = "Example:\n  benchhand steer number-12 keep")]
    Keep,
    /// Answer a question: that was a refill, or no pour of a chamber.
    #[command(after_help = "Example:\n  benchhand steer number-12 refill")]
    Refill,
    /// Answer a question: that was delivered.
    #[command(after_help = "Example:\n  benchhand steer number-12 delivered")]
    Delivered,
    /// Split one pour into two. The rest between them ends the first.
    #[command(after_help = "Example:\n  benchhand steer number-12 split")]
    Split,
    /// Drop every value that waits behind the question. The question stays.
    #[command(after_help = "Example:\n  benchhand steer number-12 drop")]
    Drop,
    /// Take back the last control.
    #[command(after_help = "Example:\n  benchhand steer number-12 undo")]
    Undo,
    /// Go to the stop of a spot, e.g. `chamber/3` or `chamber 3`.
    #[command(after_help = "Examples:\n  \
        benchhand steer number-12 go chamber/3\n  \
        benchhand steer number-12 go chamber 3 round 1")]
    Go {
        /// The spot, in one word or several. `round 1` after it names another round than the one
        /// shown.
        #[arg(required = true)]
        spot: Vec<String>,
    },
    /// Give a reading by hand for this stop, e.g. `64.2 cc`.
    #[command(after_help = "Example:\n  benchhand steer number-12 type 64.2 cc")]
    Type {
        /// The value, e.g. `64.2 cc` or `"64.2 cc"`. Without a unit it is in the stop's unit.
        #[arg(allow_hyphen_values = true)]
        value: String,
        /// The unit, if it is typed apart from the value.
        unit: Option<String>,
        /// Keep the value even if it looks like a slip beside the others.
        #[arg(long)]
        sure: bool,
    },
    /// End the route. The rest can be taken up again later.
    #[command(after_help = "Example:\n  benchhand steer number-12 end")]
    End,
    /// Show the open question or the next action, the answers, and every control.
    #[command(after_help = "Example:\n  benchhand steer number-12 help")]
    Help,
    /// Anything else: a value for this stop, or an unknown word, which is refused with the words
    /// that could be said.
    #[command(external_subcommand)]
    Other(Vec<String>),
}

/// Options of `live`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    benchhand live number-12\n\n\
    With --json, one event of the local API a line, as it happens.")]
pub(crate) struct LiveArgs {
    /// Show only this job, and the gauges.
    pub(crate) job: Option<String>,
}

/// Parses a clock speed: above 0, at most 100,000.
fn speed(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(n) if n > 0.0 && n <= 1e5 => Ok(n),
        _ => Err("expected a number above 0 and at most 100000".to_owned()),
    }
}
