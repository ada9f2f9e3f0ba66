//! What version 1 of the journal got later: checks by several comparisons, plates and leaks.
//!
//! `fixtures/journal-v1-checks.ndjson` was written once by version 0.1.0 of this program, of an
//! invented bench, and is never written again. `frozen.rs` shows that what came before is still
//! written and read as it was.

use std::path::Path;

use super::{DATA, TestDisks, is_written_again};
use benchhand_files::Files;

const JOURNAL: &str = include_str!("fixtures/journal-v1-checks.ndjson");

#[test]
fn checks_plates_and_leaks_are_read_as_they_were_meant() {
    let disks = TestDisks::new(8);
    drop(disks.store());
    let job = Path::new(DATA).join("jobs/checks");
    disks.files.create_dir(&job).unwrap();
    let journal = job.join("journal.ndjson");
    disks.files.replace(&journal, JOURNAL.as_bytes()).unwrap();
    let (job, opening) = disks.store().job("checks").unwrap();
    assert_eq!(opening.torn, None);
    let view = job.view();

    let check = &view.gauge("scale").unwrap().checks[0].what;
    assert_eq!((check.result, check.passed), (1.5, Some(true)));
    assert_eq!((check.correction, check.allow), (Some(0.0), Some(2.0)));
    assert!((check.scale.unwrap() + 1.5 / 301.5).abs() < 1e-12);
    let points: Vec<_> = check
        .points
        .iter()
        .map(|p| (p.truth, p.shown, p.u))
        .collect();
    assert_eq!(
        points,
        [
            (100.0, 100.5, Some(0.01)),
            (200.0, 201.0, Some(0.01)),
            (300.0, 301.5, None)
        ]
    );

    let leak = &view.leaks()[0].what;
    assert_eq!((leak.flow, &*leak.unit), (4.0, "cfm"));
    assert_eq!((leak.pressure, &*leak.pressure_unit), (28.0, "inH2O"));
    let [failed, passed] = view.plates() else {
        panic!("two plates")
    };
    assert_eq!(
        (failed.what.passed, passed.what.passed),
        (Some(false), Some(true))
    );
    assert_eq!(
        (&*failed.what.orifice, failed.what.unnamed),
        ("large", true)
    );
    assert_eq!((failed.what.pressure, passed.what.u), (6.0, None));
    let marked = view.reading(7).unwrap().marked.as_deref().unwrap();
    assert!(
        marked.contains("orifice large") && marked.contains("the shop's plate"),
        "{marked}"
    );
}

#[test]
fn what_is_written_today_is_byte_for_byte_what_was_written_then() {
    is_written_again(JOURNAL);
}
