//! `job …`.

use std::time::{Duration, Instant};

use benchhand_blueprint::Engine;
use benchhand_blueprint::engine::{CylinderLayout, LAYOUTS, template};
use benchhand_wire::{
    AcceptDamage, CorrectCut, CutJob, ExchangeHeads, Jobs, JobsLike, NewJob, ReadEngine,
    ReadingsAt, Reason, RecomputeJob, Refusal, SetEngine, ShowJob, VerifyJob,
};

use benchhand_words::record as words;

use super::{archive, order, stated};
use crate::args::{JobCommand, JobEngineArgs, JobListingArgs, JobNewArgs};
use crate::client::{ask, ask_named};
use crate::context::Context;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::show::{self, cuts, history, jobs, record};

/// How long other stations are given to compute their readings again.
const HOLDERS_TAKE: Duration = Duration::from_secs(30);
/// How soon it is looked whether their answer is here.
const LOOK_AGAIN: Duration = Duration::from_millis(300);

/// Carries out one command on jobs.
///
/// # Errors
/// Why the command was not carried out.
pub(super) fn run(context: &mut Context, args: JobCommand) -> Result<Exit, Failure> {
    match args {
        JobCommand::New(args) => {
            let (engine, file) = begun(&args)?;
            // What was asked for in the terminal was told there.
            let read = args.engine.as_ref().map(|_| Engine::from_toml(&engine));
            let odd = read.and_then(Result::ok).map(|engine| engine.doubts());
            for doubt in odd.unwrap_or_default() {
                tracing::warn!("look at the engine file again: {doubt}");
            }
            let request = NewJob {
                name: args.name,
                engine,
                file,
            };
            let answer = ask(&*context.client()?, &request)?;
            context.answer(&answer, jobs::opened)?;
        }
        JobCommand::Engine(args) => engine(context, args)?,
        JobCommand::List(args) => list(context, args)?,
        JobCommand::Show(args) => {
            let answer = ask(&*context.client()?, &ShowJob { job: args.name })?;
            context.answer(&answer, jobs::detail)?;
        }
        JobCommand::Cut(args) => {
            let job = args.name.clone();
            let changes = args
                .changes
                .iter()
                .map(|change| change.trim().to_owned())
                .collect();
            let request = CutJob {
                job: args.name,
                stage: args.stage,
                what: args.what,
                changes,
                cylinders: args.cylinders,
                depth: args.depth,
                sure: args.sure,
            };
            let answer = ask(&*context.client()?, &request)?;
            context.answer(&answer, |answer| cuts::made(&job, answer))?;
        }
        JobCommand::CorrectCut(args) => {
            let job = args.name.clone();
            let changes = args.changes.iter().map(|change| change.trim().to_owned());
            let request = CorrectCut {
                job: args.name,
                stage: args.stage,
                what: args.what,
                changes: changes.collect(),
                cylinders: args.cylinders,
                depth: args.depth,
                no_depth: args.no_depth,
                take_back: args.take_back,
                reason: args.reason,
                sure: args.sure,
                by: args.by,
            };
            let answer = ask(&*context.client()?, &request)?;
            context.answer(&answer, |answer| cuts::corrected(&job, answer))?;
        }
        JobCommand::ExchangeHeads(args) => {
            let request = ExchangeHeads {
                job: args.name,
                banks: vec![args.bank, args.other],
                not_turned: args.not_turned,
                by: args.by,
            };
            let answer = ask(&*context.client()?, &request)?;
            context.answer(&answer, cuts::heads_exchanged)?;
        }
        JobCommand::Order(args) => order::order(context, args)?,
        JobCommand::Orders(args) => order::orders(context, args)?,
        JobCommand::Pack(args) => archive::pack(context, args)?,
        JobCommand::Unpack(args) => archive::unpack(context, args)?,
        JobCommand::Recompute(args) => {
            let client = context.client()?;
            let recomputed = || {
                let job = args.name.clone();
                ask_named(&*client, |work| RecomputeJob { job, work })
            };
            let mut answer = recomputed()?;
            // Another station makes its own readings out meanwhile; one that says nothing is told of.
            let patience = Instant::now() + HOLDERS_TAKE;
            while words::awaited(&answer) && Instant::now() < patience {
                std::thread::sleep(LOOK_AGAIN);
                answer = recomputed()?;
            }
            context.answer(&answer, |answer| show::told(&words::recomputed(answer)))?;
            if answer.different > 0 {
                return Ok(Exit::Found(Reason::Damaged));
            }
        }
        JobCommand::AcceptDamage(args) => {
            let job = args.name.clone();
            let request = AcceptDamage {
                job: args.name,
                reason: args.reason,
            };
            let answer = ask(&*context.client()?, &request)?;
            context.answer(&answer, |answer| record::damage_accepted(&job, answer))?;
        }
        JobCommand::Verify(args) => {
            let job = args.name.clone();
            let answer = ask(&*context.client()?, &VerifyJob { job: args.name })?;
            context.answer(&answer, |answer| words::verified(&job, answer))?;
            if answer.broken.is_some() {
                return Ok(Exit::Found(Reason::Damaged));
            }
        }
    }
    Ok(Exit::Done)
}

/// The text of the engine file that a job begins with, and its name for messages.
fn begun(args: &JobNewArgs) -> Result<(String, String), Failure> {
    if let Some(path) = &args.engine {
        return Ok((read_text(path)?, shown(path)));
    }
    let file = "the engine file".to_owned();
    match &args.template {
        Some(wanted) => {
            let layout = CylinderLayout::named(wanted).ok_or_else(|| {
                let known: Vec<&str> = LAYOUTS.iter().map(|layout| layout.name).collect();
                Refusal::new(Reason::BadInput, format!("no layout is called {wanted:?}"))
                    .expected(known.join(", "))
            })?;
            Ok((template(Some(layout), &args.name, args.metric), file))
        }
        None => Ok((stated::asked(&args.name, args.metric)?, file)),
    }
}

/// Prints a job's engine file, or replaces it.
fn engine(context: &mut Context, args: JobEngineArgs) -> Result<(), Failure> {
    let client = context.client()?;
    let now = ReadEngine {
        job: args.name.clone(),
    };
    let Some(path) = &args.engine else {
        let answer = ask(&*client, &now)?;
        context.answer(&answer, |answer| answer.text.clone())?;
        return Ok(());
    };
    let base = match args.over_edited {
        true => Some(ask(&*client, &now)?.hash),
        false => None,
    };
    let request = SetEngine {
        job: args.name.clone(),
        engine: read_text(path)?,
        file: shown(path),
        base,
    };
    let answer = ask(&*client, &request)?;
    context.answer(&answer, |answer| jobs::engine_set(&args.name, answer))?;
    Ok(())
}

fn list(context: &mut Context, args: JobListingArgs) -> Result<(), Failure> {
    match args {
        JobListingArgs {
            like: Some(job), ..
        } => {
            let answer = ask(&*context.client()?, &JobsLike { job: job.clone() })?;
            context.answer(&answer, |answer| history::like(&job, answer))?;
        }
        JobListingArgs {
            spot: Some(spot),
            readings: true,
            ..
        } => {
            let answer = ask(&*context.client()?, &ReadingsAt { spot: spot.clone() })?;
            context.answer(&answer, |answer| history::readings(&spot, answer))?;
        }
        JobListingArgs { spot, .. } => {
            let answer = ask(&*context.client()?, &Jobs { spot })?;
            context.answer(&answer, jobs::list)?;
        }
    }
    Ok(())
}
