//! Carries out commands. Each group of commands has a file.

mod archive;
mod backup;
mod board;
mod check;
mod decide;
mod demo;
mod direction;
mod export;
mod find;
mod gauge;
mod job;
mod live;
mod manual;
mod measure;
mod order;
mod ports;
mod reading;
mod report;
mod schema;
mod serve;
mod sheet;
mod shop;
mod stated;
mod steer;
mod stream;
mod tdc;
mod watched;

use benchhand_wire::Routes;

use crate::args::{Cli, Command};
use crate::client::ask;
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::show;

/// Carries out one command.
///
/// # Errors
/// Why the command was not carried out.
pub(crate) fn run(cli: Cli) -> Result<Exit, Failure> {
    let context = &mut Context::new(cli.global);
    match cli.command {
        Command::Demo(args) => demo::run(context, &args),
        Command::Ports(args) => ports::run(context, args),
        Command::Examine => ports::examine(context),
        Command::Gauge(args) => gauge::run(context, args),
        Command::FlowBench(args) => check::flow_bench(context, args),
        Command::Job(args) => job::run(context, args),
        Command::Routes { job } => {
            let answer = ask(&*context.client()?, &Routes { job })?;
            context.answer(&answer, show::machine::routes)?;
            Ok(Exit::Done)
        }
        Command::Measure(args) => measure::run(context, args),
        Command::Steer(args) => steer::run(context, args),
        Command::Live(args) => live::run(context, args.job),
        Command::Board(args) => board::run(context, &args),
        Command::Condition(args) => reading::condition(context, args),
        Command::Enter(args) => reading::enter(context, args),
        Command::Import(args) => reading::import(context, &args),
        Command::Void(args) => reading::void(context, args),
        Command::Move(args) => reading::relocate(context, args),
        Command::Report(args) => report::run(context, args),
        Command::Decide(args) => decide::run(context, args),
        Command::Export(args) => export::run(context, args),
        Command::Sheet(args) => sheet::run(context, args),
        Command::Shop(args) => shop::run(context, args),
        Command::Tdc(args) => tdc::run(context, args),
        Command::Play(args) => stream::play(context, &args),
        Command::Replay(args) => stream::replay(context, &args),
        Command::Backup(args) => backup::back_up(context, &args),
        Command::Restore(args) => backup::restore(context, &args),
        Command::Serve(args) => serve::run(context, &args),
        Command::Stop => serve::stop(context),
        Command::Schema(args) => schema::run(context, &args),
        Command::Completions(args) => manual::completions(context, &args),
        Command::Man(args) => manual::pages(context, &args),
    }
}
