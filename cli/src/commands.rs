//! Carrying out what was typed: one file for each group of commands.

mod board;
mod check;
mod decide;
mod demo;
mod direction;
mod find;
mod gauge;
mod job;
mod live;
mod measure;
mod ports;
mod reading;
mod report;
mod serve;
mod steer;
mod stream;
mod tdc;
mod watched;

use benchhand_wire::Routes;

use crate::args::{Cli, Command};
use crate::bench::Bench;
use crate::client::ask;
use crate::errors::{Exit, Failure};
use crate::show;

/// Carries out one command.
///
/// # Errors
/// Why it was not carried out.
pub(crate) fn run(cli: Cli) -> Result<Exit, Failure> {
    let bench = &mut Bench::new(cli.global);
    match cli.command {
        Command::Demo(args) => demo::run(bench, &args),
        Command::Ports(args) => ports::run(bench, args),
        Command::Gauge(args) => gauge::run(bench, args),
        Command::FlowBench(args) => check::flow_bench(bench, args),
        Command::Job(args) => job::run(bench, args),
        Command::Routes => {
            let answer = ask(&*bench.client()?, &Routes {})?;
            bench.answer(&answer, show::bench::routes)?;
            Ok(Exit::Done)
        }
        Command::Measure(args) => measure::run(bench, args),
        Command::Steer(args) => steer::run(bench, args),
        Command::Live(args) => live::run(bench, args.job),
        Command::Board(args) => board::run(bench, &args),
        Command::Condition(args) => reading::condition(bench, args),
        Command::Enter(args) => reading::enter(bench, args),
        Command::Import(args) => reading::import(bench, &args),
        Command::Void(args) => reading::void(bench, args),
        Command::Move(args) => reading::relocate(bench, args),
        Command::Report(args) => report::run(bench, args),
        Command::Decide(args) => decide::run(bench, args),
        Command::Tdc(args) => tdc::run(bench, args),
        Command::Play(args) => stream::play(bench, &args),
        Command::Replay(args) => stream::replay(bench, &args),
        Command::Serve(args) => serve::run(bench, &args),
        Command::Stop => serve::stop(bench),
    }
}
