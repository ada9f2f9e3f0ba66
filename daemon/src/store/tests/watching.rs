//! Damage is found even if nobody asks about it.

use std::path::Path;
use std::sync::mpsc::channel;
use std::time::Duration;

use super::{TestDisks, keep, new_job, reading};
use crate::store::fact::Fact;
use crate::store::watch::{Finding, Rests, Watch};

#[test]
fn a_watch_finds_a_flipped_bit_and_says_it_once() {
    let disks = TestDisks::new(6);
    let store = disks.store();
    for name in ["v6", "v8"] {
        let (mut job, _) = store.create_job(new_job(name)).unwrap();
        keep(&mut job, Fact::Final(reading("chamber/1", 64.0)));
    }
    let (tell, told) = channel();
    let rests = Rests {
        first: std::time::Duration::ZERO,
        between: Duration::ZERO,
        after_all: Duration::ZERO,
    };
    let watch = Watch::start(store.reader().clone(), rests, move |finding| {
        let _ = tell.send(finding);
    });
    let sound = |finding: &Finding| match finding {
        Finding::Sound { job, lines: 3 } => job.clone(),
        other => panic!("{other:?}"),
    };
    let first: Vec<_> = told.iter().take(2).map(|finding| sound(&finding)).collect();
    assert_eq!(first, ["v6", "v8"]);

    let spot = disks
        .read("jobs/v8/journal.ndjson")
        .find("chamber/1")
        .unwrap();
    disks
        .disk
        .rot(Path::new("/data/jobs/v8/journal.ndjson"), spot, b'C');
    let wrong = told
        .iter()
        .find(|finding| matches!(finding, Finding::Wrong { .. }));
    let Some(Finding::Wrong { job, error }) = wrong else {
        unreachable!()
    };
    assert_eq!(job, "v8");
    assert!(error.to_string().contains("line 3 of"), "{error}");
    // Ten more rounds over the other journal, and no further word about this one.
    let later: Vec<_> = told
        .iter()
        .take(10)
        .map(|finding| sound(&finding))
        .collect();
    assert_eq!(later, ["v6"; 10]);
    drop(watch);
}
