//! The commands and options of the command line.
//!
//! Parsing has no side effects: it opens, looks up and asks nothing. `commands` decides what an
//! option leads to.

mod backup;
mod check;
mod decide;
#[cfg(test)]
mod examples;
mod export;
mod gauge;
mod job;
mod manual;
mod of;
mod order;
mod reading;
mod report;
mod route;
mod schema;
mod sheet;
mod shop;
mod stream;
mod tdc;

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

pub(crate) use backup::{BackupArgs, RestoreArgs};
pub(crate) use check::{FlowBenchCommand, GaugeCheckArgs};
pub(crate) use decide::{CutAim, DecideCommand, DomeAim, EqualGoal};
pub(crate) use export::{ExportCommand, TablesArgs, WorkbookArgs};
pub(crate) use gauge::{
    GaugeCommand, GaugeDirectionArgs, GaugeFindArgs, GaugeSetArgs, GaugeStudyArgs, GaugeZeroArgs,
};
pub(crate) use job::{
    JobCommand, JobEngineArgs, JobListingArgs, JobNewArgs, JobPackArgs, JobUnpackArgs,
};
pub(crate) use manual::{CompletionsArgs, ManArgs};
pub(crate) use of::JobOrFiles;
pub(crate) use order::{JobOrderArgs, JobOrdersArgs};
pub(crate) use reading::{ConditionArgs, EnterArgs, ImportArgs, MoveToArgs, VoidArgs};
pub(crate) use report::ReportArgs;
pub(crate) use route::{
    BoardArgs, LiveArgs, MeasureArgs, PortsArgs, ServeArgs, SteerArgs, SteerControl,
};
pub(crate) use schema::SchemaArgs;
pub(crate) use sheet::{
    OrderSheetArgs, Paper, SheetCheckArgs, SheetCommand, SheetOfJob, WorkSheetArgs,
};
pub(crate) use shop::{ShopCommand, ShopJoinArgs, ShopPrepareArgs};
pub(crate) use stream::{DemoArgs, PlayArgs, ReplayArgs, TurningPoint};
pub(crate) use tdc::TdcArgs;

use crate::errors::EXIT_CODES;

/// Reads the gauges at an engine builder's bench, keeps every reading, and answers with figures.
#[derive(Debug, Parser)]
#[command(name = "benchhand", version, propagate_version = true)]
#[command(after_help = format!("Example:\n  benchhand demo\n\n{EXIT_CODES}"))]
#[command(
    subcommand_required = true,
    arg_required_else_help = true,
    max_term_width = 100
)]
pub(crate) struct Cli {
    /// Options that every command takes.
    #[command(flatten)]
    pub(crate) global: GlobalArgs,
    /// The command.
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// The variable that holds the initials of who works at this terminal.
pub(crate) const BY: &str = "BENCHHAND_BY";

/// Options that every command takes.
#[derive(Debug, Clone, Args)]
pub(crate) struct GlobalArgs {
    /// Keep everything below this folder instead of the platform's usual one.
    #[arg(
        long,
        global = true,
        value_name = "DIR",
        env = "BENCHHAND_DATA",
        hide_env_values = true
    )]
    pub(crate) data: Option<PathBuf>,
    /// Print JSON, and nothing else, on standard output.
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// Say on standard error what is going on. Give it twice to hear more.
    #[arg(short, long, action = clap::ArgAction::Count, global = true)]
    pub(crate) verbose: u8,
}

/// The commands, in the order in which a job needs them.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Show a whole job on an invented engine, with played gauges.
    Demo(DemoArgs),
    /// List the serial ports of this machine.
    Ports(PortsArgs),
    /// Look at this machine: what stands in the way of measuring, and what to do about it.
    #[command(after_help = "Examples:\n  \
        benchhand examine\n  \
        benchhand examine --json")]
    Examine,
    /// Set up, watch, zero and check gauges.
    #[command(subcommand)]
    #[command(after_help = "Example:\n  benchhand gauge list")]
    Gauge(GaugeCommand),
    /// Check a flow bench: its metering orifice by a plate, its leak.
    #[command(subcommand)]
    #[command(after_help = "Example:\n  \
        benchhand flow-bench leak number-12 --flow \"2.1 cfm\" --at \"28 inH2O\"")]
    FlowBench(FlowBenchCommand),
    /// Open, list and show jobs; note a cut; check a job's record.
    #[command(subcommand)]
    #[command(after_help = "Examples:\n  \
        benchhand job new number-13 engine.toml\n  \
        benchhand job show number-12")]
    Job(JobCommand),
    /// List the routes that can be measured.
    #[command(after_help = "Examples:\n  benchhand routes\n  benchhand routes number-12")]
    Routes {
        /// The routes of this job's free spots too.
        job: Option<String>,
    },
    /// Measure a route with live gauges.
    Measure(MeasureArgs),
    /// Steer the route that runs on a job.
    Steer(SteerArgs),
    /// Show gauges and routes as they go.
    Live(LiveArgs),
    /// Show the address of the board page, or pair a tablet with it.
    Board(BoardArgs),
    /// Say a condition that holds from now on: liquid, temperature, pressure of the air.
    Condition(ConditionArgs),
    /// Enter one reading by hand.
    Enter(EnterArgs),
    /// Import readings from a CSV file, all of them or none.
    Import(ImportArgs),
    /// Void a reading, with the reason; it stays in the record.
    Void(VoidArgs),
    /// Move a reading to the spot where it belongs.
    Move(MoveToArgs),
    /// Report chamber volumes, decks and compression.
    Report(ReportArgs),
    /// Decide what follows: what to mill, which crown to order, what if.
    #[command(subcommand)]
    #[command(after_help = "Examples:\n  \
        benchhand decide mill number-12 --ratio 10.8 --area \"5720 mm2 +- 20 mm2\"\n  \
        benchhand decide next number-12")]
    Decide(DecideCommand),
    /// Export a job for other programs: a workbook.
    #[command(subcommand)]
    #[command(after_help = "Example:\n  benchhand export workbook number-12 --out number-12.xlsx")]
    Export(ExportCommand),
    /// Make a sheet that prints: for the customer, the piston maker, the machine shop; or check one.
    #[command(subcommand)]
    #[command(after_help = "Example:\n  benchhand sheet build number-12 --out build.html")]
    Sheet(SheetCommand),
    /// Join a shop of several stations, leave it, or show how this one stands to it.
    #[command(subcommand)]
    #[command(after_help = "Example:\n  benchhand shop show")]
    Shop(ShopCommand),
    /// Find true top dead centre from a degree wheel's readings at equal depth.
    Tdc(TdcArgs),
    /// Decode a recorded stream.
    Play(PlayArgs),
    /// Capture readings from a recorded stream.
    Replay(ReplayArgs),
    /// Write the whole data folder into one file, also while a daemon works on it.
    Backup(BackupArgs),
    /// Make a data folder of such a file, whole or not at all, and over nothing.
    Restore(RestoreArgs),
    /// Run the daemon: live gauges and the local API.
    Serve(ServeArgs),
    /// End the daemon that runs on the data folder.
    #[command(after_help = "Example:\n  benchhand stop")]
    Stop,
    /// Print the schema of a JSON document, or list those that have one.
    Schema(SchemaArgs),
    /// Print the completions of a shell.
    Completions(CompletionsArgs),
    /// Write the manual pages into a folder.
    Man(ManArgs),
}

/// Joins a value and its unit, typed apart or together, into one text.
pub(crate) fn spoken(value: Option<String>, unit: Option<String>) -> Option<String> {
    match (value, unit) {
        (Some(value), Some(unit)) => Some(format!("{value} {unit}")),
        (value, _) => value,
    }
}

/// Splits `name=value` for options that take pairs.
fn pair(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((name, value)) if !name.trim().is_empty() && !value.trim().is_empty() => {
            Ok((name.trim().to_owned(), value.trim().to_owned()))
        }
        _ => Err("expected NAME=VALUE".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(line: &str) -> Result<Cli, clap::Error> {
        Cli::try_parse_from(
            std::iter::once("benchhand").chain(line.split('|').filter(|part| !part.is_empty())),
        )
    }

    #[test]
    fn the_definition_holds_together() {
        use clap::CommandFactory;
        Cli::command().debug_assert();
    }

    #[test]
    fn a_piston_above_the_deck_can_be_typed_with_its_sign() {
        let cli = parse("enter|v8|deck/1/front|-0.005|in|--u|0.0005 in").expect("parses");
        let Command::Enter(enter) = cli.command else {
            panic!("not enter")
        };
        assert_eq!(enter.words(), ["deck/1/front", "-0.005", "in"]);
        assert_eq!(enter.u.as_deref(), Some("0.0005 in"));
    }

    #[test]
    fn a_sense_of_minus_one_is_a_value() {
        let cli = parse("gauge|set|depth-2|--profile|ascii-length|--port|x|--sense|-1");
        let Command::Gauge(GaugeCommand::Set(set)) = cli.expect("parses").command else {
            panic!("not gauge set")
        };
        assert_eq!(set.sense, Some(-1));
        assert!(parse("gauge|set|d|--profile|p|--port|x|--sense|2").is_err());
    }

    #[test]
    fn levels_come_in_pairs_and_in_order() {
        let line = "enter|v8|chamber/3|--from|0 cc|--to|50 cc|--from|2 cc|--to|16.2 cc";
        let Command::Enter(enter) = parse(line).expect("parses").command else {
            panic!("not enter")
        };
        assert_eq!(enter.from, ["0 cc", "2 cc"]);
        assert_eq!(enter.to, ["50 cc", "16.2 cc"]);
        assert!(
            parse("enter|v8|chamber/3").is_err(),
            "neither a value nor levels"
        );
        let line = "enter|v8|deck|1|front|-0.005in|--u|0.0005 in|--sure";
        let Command::Enter(enter) = parse(line).expect("parses").command else {
            panic!("not enter")
        };
        assert_eq!(enter.words(), ["deck", "1", "front", "-0.005in"]);
        assert!(enter.sure && enter.u.is_some());
    }

    #[test]
    fn a_report_is_of_a_job_or_of_two_files() {
        assert!(parse("report|v8").is_ok());
        assert!(parse("report|--engine|e.toml|--readings|r.csv").is_ok());
        assert!(parse("report|v8|--engine|e.toml|--readings|r.csv").is_err());
        assert!(parse("report|--engine|e.toml").is_err());
        assert!(parse("report").is_err());
    }

    #[test]
    fn an_extreme_needs_its_turn() {
        assert!(parse("replay|s.ndjson|--mode|pour").is_ok());
        assert!(parse("replay|s.ndjson|--mode|extreme|--turn|low").is_ok());
        assert!(parse("replay|s.ndjson|--mode|extreme").is_err());
    }

    #[test]
    fn a_route_takes_gauges_cylinders_and_lists() {
        let line = "measure|v8|flow|--gauge|pressure=column|--cylinders|1,3,5\
                    |--list|lift=0.100in,0.200in|--rounds|2";
        let Command::Measure(measure) = parse(line).expect("parses").command else {
            panic!("not measure")
        };
        assert_eq!(
            measure.gauges,
            [("pressure".to_owned(), "column".to_owned())]
        );
        assert_eq!(measure.cylinders, [1, 3, 5]);
        assert_eq!(
            measure.lists,
            [("lift".to_owned(), "0.100in,0.200in".to_owned())]
        );
        assert!(parse("measure|v8|flow|--gauge|column").is_err());
    }

    #[test]
    fn steering_knows_its_controls() {
        assert!(parse("steer|v8|again").is_ok());
        assert!(parse("steer|v8|go|chamber/3").is_ok());
        let Command::Steer(steer) = parse("steer|v8|go|chamber|3").expect("parses").command else {
            panic!("not steer")
        };
        assert!(
            matches!(steer.control, SteerControl::Go { spot } if spot == ["chamber", "3"]),
            "as the screen says it"
        );
        assert!(parse("steer|v8|go").is_err());
        let Command::Steer(steer) = parse("steer|v8|type|-0.0021|in").expect("parses").command
        else {
            panic!("not steer")
        };
        assert!(
            matches!(steer.control, SteerControl::Type { value, unit: Some(unit), sure: false }
                if value == "-0.0021" && unit == "in")
        );
        let Command::Steer(steer) = parse("steer|v8|leap|twice").expect("parses").command else {
            panic!("not steer")
        };
        assert!(
            matches!(steer.control, SteerControl::Other(words) if words == ["leap", "twice"]),
            "the reply lists the possible words, not the syntax of commands"
        );
    }
}
