//! `job pack` and `job unpack`: a job as one file.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use benchhand_wire::{
    ArchiveWritten, JobPacked, LARGEST_ARCHIVE, PackJob, Reason, Refusal, UnpackJob,
};

use crate::args::{JobPackArgs, JobUnpackArgs};
use crate::client::ask;
use crate::context::Context;
use crate::data::{read_bytes, shown};
use crate::errors::Failure;
use crate::show::record;
use crate::written;

/// Packs a job into a file.
///
/// # Errors
/// Why no file was written.
pub(super) fn pack(context: &mut Context, args: JobPackArgs) -> Result<(), Failure> {
    written::free(&args.out, args.force)?;
    let request = PackJob {
        job: args.name.clone(),
        without_streams: args.without_streams,
    };
    let answer: JobPacked = ask(&*context.client()?, &request)?;
    let bytes = STANDARD.decode(&answer.archive).map_err(|error| {
        let found = format!("the archive did not come as base64: {error}");
        Refusal::new(Reason::Unavailable, found)
    })?;
    written::whole(&args.out, &bytes, args.force)?;
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
    let file = shown(&args.file);
    let bytes = read_bytes(&args.file, "name a file that `job pack` wrote")?;
    if bytes.len() as u64 > LARGEST_ARCHIVE {
        let found = format!("{file} has {} bytes", bytes.len());
        return Err(Refusal::new(Reason::BadInput, found)
            .expected(format!("at most {LARGEST_ARCHIVE}"))
            .todo("pack the job again with --without-streams")
            .into());
    }
    let request = UnpackJob {
        archive: STANDARD.encode(&bytes),
        file,
        name: args.name,
    };
    let answer = ask(&*context.client()?, &request)?;
    context.answer(&answer, record::unpacked)?;
    Ok(())
}
