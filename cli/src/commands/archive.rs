//! `job pack` and `job unpack`: a job as one file. Whoever answers reads and writes that file itself, so
//! that nobody holds it as a whole.

use std::path::Path;

use benchhand_wire::{ArchiveWritten, JobPacked, PackJob, Reason, Refusal, UnpackJob};

use crate::args::{JobPackArgs, JobUnpackArgs};
use crate::client::ask_named;
use crate::context::Context;
use crate::data::{readable, shown};
use crate::errors::Failure;
use crate::show::record;
use crate::written;

/// Packs a job into a file.
///
/// # Errors
/// Why no file was written.
pub(super) fn pack(context: &mut Context, args: JobPackArgs) -> Result<(), Failure> {
    let answer: JobPacked = written::filled(&args.out, args.force, |part| {
        let path = whole_path(part)?;
        ask_named(&*context.client()?, |work| PackJob {
            job: args.name.clone(),
            without_streams: args.without_streams,
            path: Some(path),
            work,
        })
    })?;
    let told = ArchiveWritten {
        out: shown(&args.out),
        job: args.name,
        bytes: answer.bytes,
        files: answer.files,
        seq: answer.seq,
        head: answer.head.clone(),
        streams_left_out: answer.streams_left_out,
        foreign: answer.foreign.clone(),
    };
    context.answer(&told, |told| record::packed(&told.job, &told.out, &answer))?;
    Ok(())
}

/// Takes a job from a file.
///
/// # Errors
/// Why nothing was taken.
pub(super) fn unpack(context: &mut Context, args: JobUnpackArgs) -> Result<(), Failure> {
    readable(&args.file, "name a file that `job pack` wrote")?;
    let path = whole_path(&args.file)?;
    let answer = ask_named(&*context.client()?, |work| UnpackJob {
        archive: None,
        path: Some(path),
        file: shown(&args.file),
        name: args.name,
        work,
    })?;
    context.answer(&answer, record::unpacked)?;
    Ok(())
}

/// The path from the root on, as a daemon stands in another folder.
fn whole_path(path: &Path) -> Result<String, Refusal> {
    let whole = std::path::absolute(path).ok();
    let whole = whole.and_then(|whole| whole.to_str().map(str::to_owned));
    whole.ok_or_else(|| {
        let found = format!("{} cannot be handed on as text", path.display());
        Refusal::new(Reason::BadInput, found).todo("name a folder and a file in plain letters")
    })
}
