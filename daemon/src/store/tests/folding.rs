//! What facts, one after another, amount to.

use super::{TestDisks, check, cut, keep, live, open_v8, reading};
use crate::store::fact::{
    Fact, FittedPart, ImportedReadings, Reading, ReadingPart, RouteAt, RouteStarted,
    StatedCondition,
};
use crate::store::job::JobError;
use crate::store::misfit::Misfit;
use crate::store::view::ReadingState;

fn misfit(result: Result<impl std::fmt::Debug, JobError>) -> Misfit {
    match result {
        Err(JobError::Misfit(misfit)) => misfit,
        other => panic!("expected a misfit, got {other:?}"),
    }
}

#[test]
fn a_reading_moved_from_cylinder_3_to_5_changes_both() {
    let store = TestDisks::new(1).store();
    let mut job = open_v8(&store);
    let id = keep(&mut job, Fact::Final(reading("chamber/3", 64.2)));
    let moved = Fact::Moved {
        of: id,
        from: "chamber/3".into(),
        to: "chamber/5".into(),
        reason: "stood at the wrong chamber".into(),
        by: None,
    };
    let ack = job.append(moved.clone(), None).unwrap();

    assert_eq!(ack.touched, [id]);
    let view = job.view();
    assert_eq!(view.at_spot("as received", "chamber/3").count(), 0);
    let there: Vec<_> = view.at_spot("as received", "chamber/5").collect();
    assert_eq!((there.len(), there[0].id, there[0].value), (1, id, 64.2));
    assert_eq!(there[0].moves[0].reason, "stood at the wrong chamber");
    let again = misfit(job.append(moved, None));
    assert!(
        again
            .to_string()
            .contains("lies at chamber/5, not at chamber/3"),
        "{again}"
    );
}

#[test]
fn a_voided_reading_stays_listed_with_its_reason_and_counts_no_more() {
    let store = TestDisks::new(1).store();
    let mut job = open_v8(&store);
    let id = keep(&mut job, Fact::Final(reading("chamber/1", 64.0)));
    let void = Fact::voided(id, "bubble under the plate".into());
    keep(&mut job, void.clone());

    assert_eq!(job.view().live("as received").count(), 0);
    let listed = job.view().reading(id).unwrap();
    assert_eq!(
        listed.state,
        ReadingState::Voided {
            reason: "bubble under the plate".into(),
            by: None
        }
    );
    assert!(
        misfit(job.append(void, None))
            .to_string()
            .contains("was voided before")
    );
}

#[test]
fn a_job_milled_in_the_middle_keeps_its_two_stages_apart() {
    let store = TestDisks::new(1).store();
    let mut job = open_v8(&store);
    keep(&mut job, Fact::Final(reading("chamber/1", 64.0)));
    keep(&mut job, cut("milled 1"));
    keep(&mut job, Fact::Final(reading("chamber/1", 62.5)));

    assert_eq!(live(&job, "as received"), [("chamber/1".into(), 64.0)]);
    assert_eq!(live(&job, "milled 1"), [("chamber/1".into(), 62.5)]);
    assert_eq!(job.view().stage(), "milled 1");
    assert_eq!(
        job.view().stages()[1].cut.as_ref().unwrap().what,
        "both heads milled"
    );
    assert_eq!(
        misfit(job.append(cut("milled 1"), None)),
        Misfit::StageTwice("milled 1".into())
    );
}

#[test]
fn a_reading_may_name_an_earlier_stage_but_not_one_that_never_was() {
    let store = TestDisks::new(1).store();
    let mut job = open_v8(&store);
    keep(&mut job, cut("milled 1"));
    let old = Reading {
        stage: Some("as received".into()),
        ..reading("chamber/2", 64.4)
    };
    keep(&mut job, Fact::Final(old));
    assert_eq!(live(&job, "as received"), [("chamber/2".into(), 64.4)]);

    let odd = Reading {
        stage: Some("milled 2".into()),
        ..reading("chamber/2", 64.4)
    };
    let error = misfit(job.append(Fact::Final(odd), None)).to_string();
    assert!(
        error.contains(r#"stages are "as received", "milled 1""#),
        "{error}"
    );
}

#[test]
fn a_pour_that_goes_on_takes_the_place_of_what_was_held() {
    let store = TestDisks::new(1).store();
    let mut job = open_v8(&store);
    let held = keep(&mut job, Fact::Held(reading("chamber/4", 40.0)));
    let more = Reading {
        supersedes: Some(held),
        ..reading("chamber/4", 64.1)
    };
    let revised = keep(&mut job, Fact::Revised(more));
    keep(&mut job, Fact::Finalised { of: revised });

    assert_eq!(live(&job, "as received"), [("chamber/4".into(), 64.1)]);
    assert_eq!(
        job.view().reading(held).unwrap().state,
        ReadingState::Superseded { by: revised }
    );
    assert_eq!(
        job.view().reading(revised).unwrap().state,
        ReadingState::Final
    );
    assert_eq!(job.view().successor(held), Some(revised));
    let void = Fact::voided(held, "slip".into());
    let error = misfit(job.append(void, None));
    assert_eq!(
        error,
        Misfit::Superseded {
            number: "1".into(),
            by: revised
        }
    );
    let late = Reading {
        supersedes: Some(revised),
        ..reading("chamber/4", 70.0)
    };
    assert_eq!(
        misfit(job.append(Fact::Revised(late), None)),
        Misfit::NotHeld("1".into())
    );
}

#[test]
fn a_revision_follows_a_reading_that_was_moved_in_the_meantime() {
    let store = TestDisks::new(1).store();
    let mut job = open_v8(&store);
    let held = keep(&mut job, Fact::Held(reading("chamber/3", 40.0)));
    let (from, to, reason) = ("chamber/3".into(), "chamber/5".into(), "it was 5".into());
    keep(
        &mut job,
        Fact::Moved {
            of: held,
            from,
            to,
            reason,
            by: None,
        },
    );
    let more = Reading {
        supersedes: Some(held),
        ..reading("chamber/3", 64.1)
    };
    keep(&mut job, Fact::Revised(more));
    assert_eq!(live(&job, "as received"), [("chamber/5".into(), 64.1)]);
}

#[test]
fn a_failed_check_marks_what_its_gauge_read_since_the_last_good_one() {
    let store = TestDisks::new(1).store();
    let mut job = open_v8(&store);
    let mut ids = Vec::new();
    ids.push(keep(&mut job, Fact::Final(reading("chamber/1", 64.0))));
    keep(&mut job, check("burette-1", true));
    ids.push(keep(&mut job, Fact::Final(reading("chamber/2", 64.0))));
    let other = Reading {
        gauge: Some("depth-2".into()),
        ..reading("deck/1/front", 0.3)
    };
    ids.push(keep(&mut job, Fact::Final(other)));
    let role = ReadingPart {
        role: "lift".into(),
        value: 7.62,
        unit: "mm".into(),
        u: None,
        gauge: Some("burette-1".into()),
        raw: None,
        raw_unit: None,
        n: None,
        sd: None,
        se: None,
        window: Vec::new(),
        stream: None,
    };
    let composed = Reading {
        gauge: None,
        parts: vec![role],
        ..reading("flow/1", 20.0)
    };
    ids.push(keep(&mut job, Fact::Final(composed)));
    let ack = job.append(check("burette-1", false), None).unwrap();

    assert_eq!(ack.touched, [ids[1], ids[3]]);
    let marked = |id: u64| job.view().reading(id).unwrap().marked.clone();
    let why = marked(ids[1]).unwrap();
    assert!(
        why.contains("burette-1 failed its check against the flat plate"),
        "{why}"
    );
    assert!(why.contains("found 0.03 mm, expected 0 mm"), "{why}");
    assert_eq!((marked(ids[0]), marked(ids[2])), (None, None));
    let later = keep(&mut job, Fact::Final(reading("chamber/3", 64.0)));
    assert_eq!(job.view().reading(later).unwrap().marked, None);
}

#[test]
fn the_rows_of_an_import_are_numbered_on_and_kept_all_or_none() {
    let store = TestDisks::new(1).store();
    let mut job = open_v8(&store);
    let import = |rows| {
        Fact::Import(ImportedReadings {
            file: "book.csv".into(),
            hash: "0".into(),
            rows,
        })
    };
    let rows: Vec<_> = (1..=3)
        .map(|n| reading(&format!("chamber/{n}"), 64.0))
        .collect();
    let ack = job.append(import(rows.clone()), None).unwrap();
    assert_eq!(ack.touched, [ack.seq, ack.seq + 1, ack.seq + 2]);
    let next = keep(&mut job, Fact::Final(reading("chamber/4", 64.0)));
    assert_eq!(next, ack.seq + 3);

    let mut bad = rows;
    bad[2].value = f64::NAN;
    assert!(matches!(
        misfit(job.append(import(bad), None)),
        Misfit::NotFinite { .. }
    ));
    assert_eq!(job.view().readings().count(), 4);
}

#[test]
fn a_route_stands_where_it_stood() {
    let disks = TestDisks::new(1);
    let store = disks.store();
    let mut job = open_v8(&store);
    let stops = vec!["chamber/1".into(), "chamber/2".into()];
    keep(
        &mut job,
        Fact::RouteStarted(RouteStarted {
            route: "chambers".into(),
            stops,
            rounds: 2,
            mean_s: None,
            gauges: Vec::new(),
        }),
    );
    let at = |stop, round| {
        Fact::RouteAt(RouteAt {
            route: "chambers".into(),
            stop,
            round,
            skipped: vec![0],
            revisits: false,
        })
    };
    keep(&mut job, at(1, 2));
    let error = misfit(job.append(at(1, 3), None)).to_string();
    assert!(
        error.contains("has 2 stops and 2 rounds; there is no round 3"),
        "{error}"
    );
    drop(job);

    let (mut job, _) = store.job("v8").unwrap();
    let route = job.view().route().unwrap();
    assert_eq!(
        (route.stop, route.round, route.started.stops.len()),
        (1, 2, 2)
    );
    assert_eq!(route.skipped, [0]);
    keep(
        &mut job,
        Fact::RouteEnded {
            route: "chambers".into(),
            complete: true,
        },
    );
    assert_eq!(job.view().route(), None);
    assert!(
        misfit(job.append(at(0, 1), None))
            .to_string()
            .contains("none does; start it first")
    );
}

#[test]
fn the_last_condition_and_the_last_part_fitted_hold() {
    let store = TestDisks::new(1).store();
    let mut job = open_v8(&store);
    for degrees in [20.0, 21.5] {
        keep(
            &mut job,
            Fact::Condition(StatedCondition {
                name: "liquid/temperature".into(),
                value: Some(degrees),
                unit: Some("degC".into()),
                u: None,
                text: None,
                since: None,
            }),
        );
    }
    for part in ["P7", "P2"] {
        let (position, part) = ("piston/3".into(), part.into());
        keep(
            &mut job,
            Fact::Fitted(FittedPart {
                position,
                part,
                note: None,
            }),
        );
    }
    let (_, condition) = job.view().conditions().next().unwrap();
    assert_eq!(condition.what.value, Some(21.5));
    assert_eq!(job.view().fitted("piston/3").unwrap().what.part, "P2");
    assert!(!job.view().stopped_clean());
    keep(&mut job, Fact::Stop {});
    assert!(job.view().stopped_clean());
}

#[test]
fn an_uncertainty_of_zero_is_refused_and_an_unknown_one_is_not() {
    let store = TestDisks::new(1).store();
    let mut job = open_v8(&store);
    let sure = Reading {
        u: Some(0.0),
        ..reading("chamber/1", 64.0)
    };
    let error = misfit(job.append(Fact::Final(sure), None)).to_string();
    assert!(
        error.contains("or none at all where nothing is known"),
        "{error}"
    );
    keep(&mut job, Fact::Final(reading("chamber/1", 64.0)));
}
