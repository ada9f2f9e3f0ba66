//! `job …`.

use benchhand_wire::{
    CutJob, Jobs, JobsLike, NewJob, ReadingsAt, Reason, RecomputeJob, ShowJob, VerifyJob,
};

use crate::args::{JobCommand, JobListingArgs};
use crate::client::ask;
use crate::context::Context;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::show::{history, jobs};

/// Carries out one command on jobs.
///
/// # Errors
/// Why the command was not carried out.
pub(super) fn run(context: &mut Context, args: JobCommand) -> Result<Exit, Failure> {
    match args {
        JobCommand::New(args) => {
            let engine = read_text(&args.engine)?;
            let request = NewJob {
                name: args.name,
                engine,
                file: shown(&args.engine),
            };
            let answer = ask(&*context.client()?, &request)?;
            context.answer(&answer, jobs::opened)?;
        }
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
                depth: args.depth,
            };
            let answer = ask(&*context.client()?, &request)?;
            context.answer(&answer, |answer| jobs::cut(&job, answer))?;
        }
        JobCommand::Recompute(args) => {
            let answer = ask(&*context.client()?, &RecomputeJob { job: args.name })?;
            context.answer(&answer, jobs::recomputed)?;
            if answer.different > 0 {
                return Ok(Exit::Found(Reason::Damaged));
            }
        }
        JobCommand::Verify(args) => {
            let job = args.name.clone();
            let answer = ask(&*context.client()?, &VerifyJob { job: args.name })?;
            context.answer(&answer, |answer| jobs::verified(&job, answer))?;
            if answer.broken.is_some() {
                return Ok(Exit::Found(Reason::Damaged));
            }
        }
    }
    Ok(Exit::Done)
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
