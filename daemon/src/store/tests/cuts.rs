//! Cuts that were said wrong: taken back, corrected, and what becomes of their readings.
//!
//! `fixtures/journal-v1-cuts.ndjson` was written once by version 0.1.0 of this program, of an
//! invented engine, and is never written again.

use std::path::Path;

use super::shop::{TestShop, TestStation, told};
use super::*;
use crate::store::merged::StationFinding;

const JOURNAL: &str = include_str!("fixtures/journal-v1-cuts.ndjson");

fn values(view: &JobView, stage: &str) -> Vec<f64> {
    view.live(stage).map(|one| one.value).collect()
}

fn names(view: &JobView) -> Vec<&str> {
    view.stages().iter().map(|stage| &*stage.name).collect()
}

fn say(job: &mut Job, of: u64, instead: Option<&str>) {
    let fact = cut_withdrawn(job.view(), of, instead);
    keep(job, fact);
}

#[test]
fn what_was_measured_after_a_cut_that_was_none_counts_for_the_stage_before() {
    let disks = TestDisks::new(31);
    let store = disks.store();
    let mut job = open_v8(&store);
    keep(&mut job, Fact::Final(reading("chamber/1", 64.0)));
    let milled = keep(&mut job, cut("milled"));
    keep(&mut job, Fact::Final(reading("chamber/1", 64.1)));
    let held = keep(&mut job, Fact::Held(reading("chamber/2", 64.3)));
    let ported = keep(&mut job, cut("ported"));
    keep(&mut job, Fact::Final(reading("chamber/1", 66.0)));
    say(&mut job, milled, None);
    assert_eq!(names(job.view()), ["as received", "ported"]);
    assert_eq!(values(job.view(), "as received"), [64.0, 64.1, 64.3]);
    assert_eq!(values(job.view(), "ported"), [66.0]);
    // A revision of what was held there stays with it.
    keep(
        &mut job,
        Fact::Revised(Reading {
            supersedes: Some(held),
            ..reading("chamber/2", 64.5)
        }),
    );
    assert_eq!(values(job.view(), "as received"), [64.0, 64.1, 64.5]);
    // The last cut too: the parts are as they came.
    say(&mut job, ported, None);
    assert_eq!(job.view().stage(), "as received");
    assert_eq!(values(job.view(), "as received").len(), 4);
    drop(job);
    drop(store);
    let (job, _) = disks.store().job("v8").unwrap();
    assert_eq!(values(job.view(), "as received").len(), 4, "read again");
}

#[test]
fn a_corrected_cut_keeps_its_stage_and_its_readings_and_a_new_one_may_have_a_freed_name() {
    let disks = TestDisks::new(32);
    let mut job = open_v8(&disks.store());
    let milled = keep(&mut job, cut("milled"));
    keep(&mut job, Fact::Final(reading("chamber/1", 62.0)));
    say(&mut job, milled, Some("one head alone"));
    assert_eq!(values(job.view(), "milled"), [62.0]);
    let what = |job: &Job| job.view().stages()[1].cut.as_ref().unwrap().what.clone();
    assert_eq!(what(&job), "one head alone");
    // Taken back, and it was a cut after all.
    say(&mut job, milled, None);
    assert_eq!(values(job.view(), "as received"), [62.0]);
    say(&mut job, milled, Some("both after all"));
    assert_eq!(values(job.view(), "milled"), [62.0]);
    assert_eq!(what(&job), "both after all");
    say(&mut job, milled, None);
    let again = keep(&mut job, cut("milled"));
    keep(&mut job, Fact::Final(reading("chamber/1", 61.0)));
    assert_eq!(values(job.view(), "milled"), [61.0]);
    assert_eq!(values(job.view(), "as received"), [62.0]);
    let taken = cut_withdrawn(job.view(), milled, Some("both"));
    let error = job.append(taken, None).unwrap_err().to_string();
    assert!(error.contains("was opened before"), "{error}");
    say(&mut job, again, None);
    assert_eq!(values(job.view(), "as received"), [62.0, 61.0]);
}

#[test]
fn what_is_no_cut_is_not_taken_back() {
    let disks = TestDisks::new(33);
    let mut job = open_v8(&disks.store());
    let one = keep(&mut job, Fact::Final(reading("chamber/1", 62.0)));
    let milled = keep(&mut job, cut("milled"));
    let mut refused = |of: u64, why: &str| {
        let fact = cut_withdrawn(job.view(), of, None);
        let error = job.append(fact, None).unwrap_err().to_string();
        assert!(error.contains(why), "{error}");
    };
    refused(one, "is no cut");
    refused(1, "what the parts came as");
    say(&mut job, milled, None);
    let error = job.append(cut_withdrawn(job.view(), milled, None), None);
    let error = error.unwrap_err().to_string();
    assert!(error.contains("taken back before"), "{error}");
}

/// Both stations know a cut; then each states facts of its own, the first one first, and afterwards
/// hears of the other's.
fn after(
    first: impl FnOnce(&mut TestStation, u64),
    second: impl FnOnce(&mut TestStation, u64),
) -> (u64, JobView) {
    let mut shop = TestShop::new(2);
    let milled = shop.stations[0].keep(cut("milled"));
    shop.carry_all();
    first(&mut shop.stations[0], milled);
    shop.stations[1].clock().advance(1_000_000);
    second(&mut shop.stations[1], milled);
    shop.carry_all();
    let (one, other) = (shop.stations[0].view(), shop.stations[1].view());
    assert_eq!(told(&one), told(&other));
    (milled, one)
}

fn takes_back(at: &mut TestStation, milled: u64) {
    let fact = cut_withdrawn(&at.view(), milled, None);
    at.keep(fact);
}

fn corrects(what: &'static str) -> impl Fn(&mut TestStation, u64) {
    move |at, milled| {
        let fact = cut_withdrawn(&at.view(), milled, Some(what));
        at.keep(fact);
    }
}

fn measures(at: &mut TestStation, _: u64) {
    at.keep(Fact::Final(reading("chamber/1", 62.0)));
}

fn findings(view: &JobView) -> &[StationFinding] {
    view.merge().unwrap().findings()
}

#[test]
fn what_two_stations_say_of_a_cut_holds_as_it_was_said_last_and_is_told_where_it_differs() {
    let (_, view) = after(takes_back, takes_back);
    assert_eq!(names(&view), ["as received"]);
    assert!(findings(&view).is_empty(), "both said the same");
    let (_, view) = after(corrects("one head"), corrects("one head"));
    assert!(findings(&view).is_empty(), "both said the same");
    let (milled, view) = after(takes_back, corrects("one head"));
    assert_eq!(names(&view), ["as received", "milled"]);
    let differ = [StationFinding::TwoCorrections { stage: milled }];
    assert_eq!(findings(&view), differ);
    let (_, view) = after(corrects("one head"), takes_back);
    assert_eq!(names(&view), ["as received"]);
    assert_eq!(findings(&view).len(), 1);
    let (_, view) = after(corrects("one head"), corrects("both heads"));
    let cut = view.stages()[1].cut.as_ref().unwrap();
    assert_eq!(cut.what, "both heads");
    assert_eq!(findings(&view).len(), 1);
}

#[test]
fn what_another_station_measured_after_a_cut_that_was_none_is_kept_and_told() {
    for (milled, view) in [after(takes_back, measures), after(measures, takes_back)] {
        assert_eq!(values(&view, "as received"), [62.0]);
        let told = [StationFinding::MeasuredWhereNoCutWas { stage: milled }];
        assert_eq!(findings(&view), told);
    }
    // Who measures after the cut that is corrected meanwhile measures in its stage.
    let (_, view) = after(corrects("one head"), measures);
    assert_eq!(values(&view, "milled"), [62.0]);
    assert!(findings(&view).is_empty());
}

#[test]
fn a_cut_after_one_that_was_none_follows_the_stage_before() {
    let ported = |at: &mut TestStation, _| {
        at.keep(cut("ported"));
    };
    for (_, view) in [after(takes_back, ported), after(ported, takes_back)] {
        assert_eq!(names(&view), ["as received", "ported"]);
        assert!(findings(&view).is_empty());
    }
}

#[test]
fn corrected_cuts_of_version_1_are_read_as_they_were_meant_and_written_again_byte_for_byte() {
    is_written_again(JOURNAL);
    let disks = TestDisks::new(34);
    drop(disks.store());
    let job = Path::new(DATA).join("jobs/v8");
    disks.files.create_dir(&job).unwrap();
    let journal = job.join("journal.ndjson");
    disks.files.replace(&journal, JOURNAL.as_bytes()).unwrap();
    let (job, opening) = disks.store().job("v8").unwrap();
    assert_eq!(opening.torn, None);
    assert_eq!(names(job.view()), ["as received", "milled"]);
    assert_eq!(values(job.view(), "as received"), [64.0]);
    assert_eq!(values(job.view(), "milled"), [62.0, 66.0]);
    let [_, milled, ported] = job.view().opened_stages() else {
        panic!("three were opened");
    };
    let cut = milled.cut.as_ref().unwrap();
    assert_eq!((&*cut.what, cut.depths[0].depth), ("0.3 mm off both", 0.3));
    let gone = ported.corrected.as_ref().unwrap();
    let said = (gone.stands, &*gone.reason, gone.by.as_deref());
    assert_eq!(said, (false, "that was another job", Some("AB")));
}
