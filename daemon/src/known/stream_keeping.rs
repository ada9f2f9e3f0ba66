//! For how long recorded streams are kept, and how much room they take.
//!
//! A journal's line carries the samples of its decision window, so that a reading can be judged without
//! its stream; what goes with the stream is that the reading can be made out anew.

use benchhand_drivers::stream::StreamReader;
use benchhand_wire::Refusal;
use jiff::{SignedDuration, Timestamp};

use super::keeper::Keeper;
use super::refusals::of_store;
use super::shop_name::keeps_streams;

/// Recorded streams of all jobs.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct StreamRoom {
    /// How many files.
    pub(crate) files: usize,
    /// How many bytes.
    pub(crate) bytes: u64,
}

/// How much room the recorded streams of all jobs take.
///
/// # Errors
/// Where the disk refuses.
pub(crate) fn room(keeper: &Keeper) -> Result<StreamRoom, Refusal> {
    let jobs = keeper.jobs(None)?.jobs;
    keeper.with_store(|store| {
        let reader = store.reader();
        let mut room = StreamRoom::default();
        for job in &jobs {
            for file in reader.streams(&job.name).map_err(|e| of_store(&e))? {
                let bytes = reader.files().len(&file.path);
                room.files += 1;
                room.bytes += bytes.map_err(|e| super::refusals::of_files(&e))?;
            }
        }
        Ok(room)
    })
}

/// Cuts off the recorded streams of jobs in which nothing was kept for as long as the shop states, and
/// returns what that freed. A stream that a route begins meanwhile says in its first line when it began, and
/// is left; a job to which the route has added its entry by then is left alone. A stream that does not say
/// when it began is left too.
///
/// # Errors
/// Where the shop's text cannot be used, or the disk refuses.
pub(crate) fn cut_old(keeper: &Keeper) -> Result<StreamRoom, Refusal> {
    let mut freed = StreamRoom::default();
    let Some(days) = keeps_streams(keeper)? else {
        return Ok(freed);
    };
    let kept = SignedDuration::from_hours(24 * i64::from(days));
    let now = keeper.clock().now_utc();
    let old = |last: Timestamp| now.duration_since(last) > kept;
    for job in keeper.jobs(None)?.jobs {
        if job.damage.is_some() || !job.last.is_some_and(old) {
            continue;
        }
        let streams = keeper.with_store(|store| {
            let streams = store.reader().streams(&job.name);
            streams.map_err(|e| of_store(&e))
        })?;
        let (view, _) = keeper.view(&job.name)?;
        if !view.head().is_some_and(|head| old(head.at)) {
            continue;
        }
        let of_job = keeper.writing("cutting off old recorded streams", |store| {
            let mut of_job = StreamRoom::default();
            for file in streams {
                let bytes = store.cut_stream(&file, |first| began(first).is_some_and(old));
                let bytes = bytes.map_err(|e| of_store(&e))?;
                of_job.files += usize::from(bytes > 0);
                of_job.bytes += bytes;
            }
            Ok(of_job)
        })?;
        if of_job.files > 0 {
            let (files, bytes) = (of_job.files, of_job.bytes);
            tracing::info!(
                job = job.name,
                files,
                bytes,
                "old recorded streams were cut off"
            );
        }
        freed.files += of_job.files;
        freed.bytes += of_job.bytes;
    }
    Ok(freed)
}

/// When a stream began, as its first line says; `None` where it does not say so.
fn began(first: &[u8]) -> Option<Timestamp> {
    let stream = StreamReader::new(first).ok()?;
    stream.header().start.as_ref()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use std::path::Path;
    use std::sync::Arc;

    use benchhand_files::RealFiles;

    use super::*;
    use crate::clock::ScaledClock;
    use crate::store::job::NewJob;

    const ENGINE: &str = include_str!("../../../examples/invented-v8.toml");

    /// The first line of a stream that began at this time.
    fn first(start: &str) -> String {
        format!(
            "{{\"stream\":1,\"profile\":\"ascii-volume\",\"line\":{{\"baud\":9600,\"format\":\"8N1\"}},\
             \"origin\":\"captured\",\"start\":\"{start}\"}}\n"
        )
    }

    /// The data folder as a machine sees it whose clock shows this.
    fn at(data: &Path, shows: &str) -> Keeper {
        let clock = ScaledClock::new(shows.parse().expect("a time"), 1.0);
        Keeper::passing(data.to_owned(), Arc::new(RealFiles), Arc::new(clock))
    }

    #[test]
    fn streams_of_a_job_that_rested_are_cut_off_and_their_names_stay_taken() {
        let data = tempfile::tempdir().expect("a folder");
        let data = data.path();
        let then = at(data, "2026-01-05T08:00:00Z");
        let job = NewJob {
            name: "v8".to_owned(),
            title: None,
            stage: None,
            engine: ENGINE.to_owned(),
            key: None,
        };
        then.create(job).expect("opened");
        let stream = data.join("jobs/v8/streams/burette-001.ndjson");
        let begin = first("2026-01-05T08:10:00Z");
        let whole = |begin: &str| format!("{begin}{}", "[0,\"rx\",\"0.0 cc\"]\n".repeat(100));
        std::fs::write(&stream, whole(&begin)).expect("written");
        // As if a route began it while the streams of the job were gone through.
        let new = data.join("jobs/v8/streams/burette-002.ndjson");
        let new_whole = whole(&first("2027-01-06T07:59:00Z"));
        std::fs::write(&new, &new_whole).expect("written");
        // Its first line is still on the way to the disk.
        let torn = data.join("jobs/v8/streams/burette-003.ndjson");
        std::fs::write(&torn, &begin[..20]).expect("written");
        let (soon, later) = (
            at(data, "2026-12-01T08:00:00Z"),
            at(data, "2027-01-06T08:00:00Z"),
        );
        let nothing = StreamRoom::default();
        assert_eq!(cut_old(&later), Ok(nothing), "nobody said for how long");
        std::fs::write(data.join("shop.toml"), "keep_streams = \"365 days\"\n").expect("written");
        assert_eq!(cut_old(&soon), Ok(nothing));
        assert_eq!(
            std::fs::read_to_string(&stream).expect("there"),
            whole(&begin)
        );
        let bytes = (whole(&begin).len() - begin.len()) as u64;
        assert_eq!(cut_old(&later), Ok(StreamRoom { files: 1, bytes }));
        assert_eq!(std::fs::read_to_string(&stream).expect("there"), begin);
        let left = |file| std::fs::read_to_string(file).expect("there");
        assert_eq!((left(new), left(torn)), (new_whole, begin[..20].to_owned()));
        assert_eq!(cut_old(&later), Ok(nothing), "there is no more to cut");
        let next = later.writing("a stream", |store| {
            let next = store.new_stream("v8", "burette");
            next.map_err(|e| of_store(&e))
        });
        assert_eq!(next.expect("begun").file.number, 4);
    }
}
