//! Orders in a job's record: the last one of a size holds, cylinder by cylinder.
//!
//! `fixtures/journal-v1-orders.ndjson` was written once by version 0.1.0 of this program, of an
//! invented engine, and is never written again.

use std::path::Path;

use super::*;
use crate::clock::Clock as _;
use crate::store::fact::{OrderedPart, OrderedParts};

const JOURNAL: &str = include_str!("fixtures/journal-v1-orders.ndjson");

fn part(name: &str, value: f64, tolerance: Option<f64>) -> OrderedPart {
    OrderedPart {
        part: name.into(),
        value,
        tolerance,
        unit: "cc".into(),
    }
}

fn order(parts: &[OrderedPart], taken_back: &[&str]) -> Fact {
    Fact::Ordered(OrderedParts {
        parts: parts.to_vec(),
        taken_back: taken_back.iter().map(|&name| name.to_owned()).collect(),
        ..OrderedParts::default()
    })
}

fn held(job: &Job, cylinder: u32) -> Option<f64> {
    let found = job.view().ordered("crown", cylinder);
    found.map(|(_, part)| part.value)
}

#[test]
fn a_later_order_of_the_same_size_takes_the_place_of_the_earlier_one() {
    let disks = TestDisks::new(21);
    let mut job = open_v8(&disks.store());
    assert_eq!(held(&job, 3), None);
    keep(&mut job, order(&[part("crown", -4.2, Some(0.3))], &[]));
    keep(&mut job, order(&[part("crown/3", -4.6, None)], &[]));
    assert_eq!((held(&job, 1), held(&job, 3)), (Some(-4.2), Some(-4.6)));
    assert!(job.view().ordered("height", 1).is_none());
    // The right entry after a wrong one, for all cylinders.
    keep(&mut job, order(&[part("crown", -5.0, None)], &[]));
    assert_eq!((held(&job, 1), held(&job, 3)), (Some(-5.0), Some(-5.0)));
    keep(&mut job, order(&[], &["crown"]));
    assert_eq!((held(&job, 1), held(&job, 3)), (None, None));
    keep(&mut job, order(&[part("crown/3", -4.9, None)], &[]));
    assert_eq!((held(&job, 1), held(&job, 3)), (None, Some(-4.9)));
}

#[test]
fn an_order_of_nothing_and_one_that_contradicts_itself_are_refused() {
    let disks = TestDisks::new(22);
    let mut job = open_v8(&disks.store());
    let crown = part("crown", -4.2, Some(0.3));
    let refused = [
        (order(&[], &[]), "names nothing"),
        (order(&[crown.clone(), crown.clone()], &[]), "named twice"),
        (order(&[], &["crown"]), "nothing to take back"),
        (order(&[part("crown", -4.2, Some(0.0))], &[]), "tolerance"),
        (order(&[part("crown", f64::NAN, None)], &[]), "the size"),
        (order(&[part(" ", -4.2, None)], &[]), "what is ordered"),
    ];
    for (fact, why) in refused {
        let error = job.append(fact, None).unwrap_err().to_string();
        assert!(error.contains(why), "{error}");
    }
    keep(&mut job, order(&[crown], &[]));
    keep(&mut job, order(&[], &["crown"]));
    let twice = job.append(order(&[], &["crown"]), None).unwrap_err();
    assert!(twice.to_string().contains("nothing to take back"));
}

/// Ordering is done at a desk: it begins no session, in which zeros would be asked for anew.
#[test]
fn an_order_is_no_work_at_the_bench() {
    let disks = TestDisks::new(23);
    let mut job = open_v8(&disks.store());
    keep(&mut job, Fact::Final(reading("chamber/1", 64.0)));
    disks.clock.advance(8 * 3_600_000_000);
    keep(&mut job, order(&[part("crown", -4.2, None)], &[]));
    assert_eq!(job.view().sessions().at(disks.clock.now_utc()), None);
}

#[test]
fn orders_of_version_1_are_read_as_they_were_meant_and_written_again_byte_for_byte() {
    is_written_again(JOURNAL);
    let disks = TestDisks::new(24);
    drop(disks.store());
    let job = Path::new(DATA).join("jobs/orders");
    disks.files.create_dir(&job).unwrap();
    let journal = job.join("journal.ndjson");
    disks.files.replace(&journal, JOURNAL.as_bytes()).unwrap();
    let (job, opening) = disks.store().job("orders").unwrap();
    assert_eq!(opening.torn, None);
    let (order, crown) = job.view().ordered("crown", 2).unwrap();
    assert_eq!((crown.value, crown.tolerance), (-4.21, Some(0.12)));
    let said = &order.what;
    assert_eq!(said.from.as_deref(), Some("an invented maker"));
    assert_eq!(
        said.on.map(|on| on.to_string()).as_deref(),
        Some("2026-03-01")
    );
    assert_eq!(
        (said.by.as_deref(), said.note.as_deref()),
        (Some("AB"), Some("by post"))
    );
    assert_eq!(said.sheet.as_deref(), Some(&*"5a".repeat(32)));
    let (_, third) = job.view().ordered("crown", 3).unwrap();
    assert_eq!((third.value, third.tolerance), (-4.5, None));
    assert!(
        job.view().ordered("height", 2).is_none(),
        "it was taken back"
    );
}
