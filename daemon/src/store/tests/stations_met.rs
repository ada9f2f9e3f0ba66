//! What facts of two stations come to that did not know of each other.

use super::shop::{TestShop, TestStation, told};
use super::{check, cut, reading};
use crate::store::fact::{Fact, InputKind, JobInput, Reading, ReadingId};
use crate::store::merged::StationFinding;
use crate::store::view::{JobView, ReadingState};

fn void(of: ReadingId) -> Fact {
    Fact::voided(of, "bubble under the plate".into())
}

fn moved(of: ReadingId, to: &str) -> Fact {
    Fact::Moved {
        of,
        from: "chamber/3".into(),
        to: to.into(),
        reason: String::new(),
        by: None,
    }
}

fn revised(of: ReadingId, value: f64) -> Fact {
    Fact::Revised(Reading {
        supersedes: Some(of),
        ..reading("chamber/3", value)
    })
}

/// Both stations know a held reading at chamber 3; then each states facts of its own, the first one
/// first, and afterwards hears of the other's. Returns the reading, and the view that both have.
fn after(
    first: impl FnOnce(&mut TestStation, ReadingId) -> ReadingId,
    second: impl FnOnce(&mut TestStation, ReadingId) -> ReadingId,
) -> (ReadingId, JobView) {
    let mut shop = TestShop::new(2);
    let id = shop.stations[0].keep(Fact::Held(reading("chamber/3", 64.2)));
    shop.carry_all();
    first(&mut shop.stations[0], id);
    shop.stations[1].clock().advance(1_000_000);
    second(&mut shop.stations[1], id);
    shop.carry_all();
    let (one, other) = (shop.stations[0].view(), shop.stations[1].view());
    assert_eq!(told(&one), told(&other));
    (id, one)
}

fn findings(view: &JobView) -> &[StationFinding] {
    view.merge().unwrap().findings()
}

fn voided(view: &JobView, id: ReadingId) -> bool {
    matches!(view.reading(id).unwrap().state, ReadingState::Voided { .. })
}

#[test]
fn two_voids_are_one_and_a_restore_takes_back_the_one_it_knew() {
    let (id, view) = after(|a, id| a.keep(void(id)), |b, id| b.keep(void(id)));
    assert!(voided(&view, id) && findings(&view).is_empty());
    let restored = |a: &mut TestStation, id| {
        a.keep(void(id));
        a.keep(Fact::Restored { of: id })
    };
    let (id, view) = after(restored, |b, id| b.keep(void(id)));
    assert!(voided(&view, id), "the other station's void was not known");
    let (id, view) = after(
        |a, id| a.keep(void(id)),
        |b, id| {
            b.keep(void(id));
            b.keep(Fact::Restored { of: id })
        },
    );
    assert!(voided(&view, id), "the first station's void was not known");
    let expected = [StationFinding::RestoredAndVoided { reading: id }];
    assert_eq!(findings(&view), expected);
    let (id, view) = after(restored, |b, _| {
        b.keep(Fact::Final(reading("chamber/5", 66.0)))
    });
    assert!(!voided(&view, id), "it counts again");
}

#[test]
fn a_void_and_a_move_both_hold_and_of_two_moves_the_later() {
    let to_5 = |a: &mut TestStation, id| a.keep(moved(id, "chamber/5"));
    let (id, view) = after(|a, id| a.keep(void(id)), to_5);
    assert!(voided(&view, id));
    assert_eq!(view.reading(id).unwrap().spot, "chamber/5");
    assert!(findings(&view).is_empty());
    let (id, view) = after(to_5, |b, id| b.keep(moved(id, "chamber/7")));
    assert_eq!(view.reading(id).unwrap().spot, "chamber/7");
    let spots: Vec<_> = view
        .reading(id)
        .unwrap()
        .moves
        .iter()
        .map(|m| &*m.to)
        .collect();
    assert_eq!(spots, ["chamber/5", "chamber/7"]);
    assert!(
        matches!(findings(&view), [StationFinding::TwoMoves { reading, .. }] if *reading == id)
    );
    let (_, view) = after(to_5, to_5);
    assert!(findings(&view).is_empty(), "both said the same");
}

#[test]
fn a_revision_stands_beside_a_void_and_a_person_is_asked() {
    let revise = |at: &mut TestStation, id| at.keep(revised(id, 64.9));
    let void = |at: &mut TestStation, id| at.keep(void(id));
    for (id, view) in [after(revise, void), after(void, revise)] {
        let stands = view.successor(id).unwrap();
        assert_ne!(stands, id);
        let stands = view.reading(stands).unwrap();
        assert_eq!((stands.value, &stands.state), (64.9, &ReadingState::Held));
        let expected = [StationFinding::VoidedAndRevised { reading: id }];
        assert_eq!(findings(&view), expected);
    }
}

#[test]
fn of_two_revisions_the_later_stands_and_both_are_listed() {
    let (id, view) = after(
        |a, id| a.keep(revised(id, 64.5)),
        |b, id| b.keep(revised(id, 64.9)),
    );
    let counting: Vec<_> = view.live("as received").map(|one| one.value).collect();
    assert_eq!(counting, [64.9]);
    assert_eq!(view.readings().count(), 3);
    assert_eq!(
        findings(&view),
        [StationFinding::TwoRevisions { reading: id }]
    );
}

#[test]
fn a_cut_here_captures_no_reading_that_another_station_took_without_knowing_of_it() {
    let (_, view) = after(
        |a, _| a.keep(cut("milled")),
        |b, _| b.keep(Fact::Final(reading("chamber/5", 66.0))),
    );
    let before = view.at_spot("as received", "chamber/5").count();
    assert_eq!(
        (before, view.at_spot("milled", "chamber/5").count()),
        (1, 0)
    );
    assert!(findings(&view).is_empty());
}

#[test]
fn two_cuts_open_a_stage_each_and_every_reading_keeps_its_own() {
    let milled = |value: f64| {
        move |at: &mut TestStation, _| {
            at.keep(cut("milled"));
            at.keep(Fact::Final(reading("chamber/5", value)))
        }
    };
    let (_, view) = after(milled(66.0), milled(67.0));
    let stages: Vec<_> = view.stages().iter().map(|stage| &*stage.name).collect();
    assert_eq!(stages, ["as received", "milled", "milled (B)"]);
    for (stage, value) in [("milled", 66.0), ("milled (B)", 67.0)] {
        let there: Vec<_> = view
            .at_spot(stage, "chamber/5")
            .map(|one| one.value)
            .collect();
        assert_eq!(there, [value], "{stage}");
    }
    assert!(matches!(findings(&view), [StationFinding::TwoCuts { .. }]));
}

#[test]
fn two_engine_files_are_both_kept_and_the_later_holds() {
    let load = |text: &'static str| {
        move |at: &mut TestStation, _| {
            let engine = JobInput::new(InputKind::Engine, "engine", text);
            at.keep(Fact::Input(engine))
        }
    };
    let (_, view) = after(load("bore = \"4.040 in\"\n"), load("bore = \"4.050 in\"\n"));
    assert_eq!(view.engine().unwrap().content, "bore = \"4.050 in\"\n");
    let loads: usize = view.inputs().map(|(_, _, loads)| loads.len()).sum();
    assert_eq!(loads, 3);
    assert!(matches!(
        findings(&view),
        [StationFinding::TwoEngines { .. }]
    ));
}

#[test]
fn a_check_says_nothing_of_another_stations_gauge_of_the_same_name() {
    let measure = |at: &mut TestStation, _| at.keep(Fact::Final(reading("chamber/1", 64.0)));
    let (_, view) = after(measure, |b, _| {
        b.keep(Fact::Final(reading("chamber/1", 64.4)));
        b.keep(check("burette-1", false))
    });
    let marked: Vec<_> = view.readings().filter(|one| one.marked.is_some()).collect();
    assert_eq!(marked.len(), 1);
    assert_eq!(
        (marked[0].value, marked[0].gauge.as_deref()),
        (64.4, Some("burette-1@B"))
    );
    let gauges: Vec<_> = view.gauges().map(|(name, _)| name).collect();
    assert_eq!(gauges, ["burette-1@B"]);
}

#[test]
fn readings_are_numbered_by_their_station_where_several_measure() {
    let mut shop = TestShop::new(2);
    let first = shop.stations[0].keep(Fact::Final(reading("chamber/1", 64.0)));
    assert_eq!(
        shop.stations[0]
            .view()
            .reading(first)
            .unwrap()
            .said_number(),
        "1"
    );
    shop.carry_all();
    let alone = shop.stations[1].view();
    assert_eq!(
        alone.reading(first).unwrap().said_number(),
        "1",
        "B only looks on"
    );
    let second = shop.stations[1].keep(Fact::Final(reading("chamber/2", 64.1)));
    shop.carry_all();
    for station in &mut shop.stations {
        let view = station.view();
        let numbers = view.readings().map(|one| (one.id, one.said_number()));
        let numbers: Vec<_> = numbers.collect();
        assert_eq!(
            numbers,
            [(first, "A1".to_owned()), (second, "B1".to_owned())]
        );
        assert_eq!(view.said("B1").unwrap().id, second);
        assert_eq!(view.said("A1").unwrap().id, first);
        assert!(view.said("C1").is_none());
    }
    let (own, other) = (shop.stations[0].view(), shop.stations[1].view());
    assert_eq!(own.numbered(1).unwrap().id, first);
    assert_eq!(other.numbered(1).unwrap().id, second);
}

#[test]
fn a_fact_that_names_one_which_has_not_come_waits_for_it() {
    let mut shop = TestShop::new(3);
    let id = shop.stations[1].keep(Fact::Final(reading("chamber/1", 64.0)));
    shop.carry(1, 0, 1, u64::MAX);
    shop.stations[0].keep(void(id));
    // C hears of the void before it hears of the reading.
    shop.carry(0, 2, 0, u64::MAX);
    let view = shop.stations[2].view();
    assert!(view.reading(id).is_none());
    assert_eq!(view.merge().unwrap().waiting(), 1);
    shop.carry(1, 2, 1, u64::MAX);
    let view = shop.stations[2].view();
    assert!(voided(&view, id));
    assert_eq!(view.merge().unwrap().waiting(), 0);
}

#[test]
fn a_clock_that_is_far_ahead_is_told_and_not_followed() {
    let mut shop = TestShop::new(2);
    let hour = 3_600_000_000;
    shop.stations[1].clock().advance(hour);
    let ahead = shop.stations[1].keep(Fact::Final(reading("chamber/2", 64.1)));
    shop.carry_all();
    let own = shop.stations[0].keep(Fact::Final(reading("chamber/1", 64.0)));
    shop.carry_all();
    let stations = shop.stations[0].job().stations();
    let told_of: Vec<_> = stations
        .iter()
        .map(|one| (&*one.label, one.ahead_us))
        .collect();
    assert!(
        matches!(told_of[..], [("A", 0), ("B", us)] if us > hour - 1_000_000),
        "{told_of:?}"
    );
    let lines = shop.stations[0].lines(&shop.job, &shop.stations[0].id, 0);
    let stamp = |text: &str| -> u64 {
        let line: serde_json::Value = serde_json::from_str(text).unwrap();
        line["stamp"].as_u64().unwrap()
    };
    let last = stamp(&lines.last().unwrap().text);
    let now = "2026-03-02T09:00:00Z".parse::<jiff::Timestamp>().unwrap();
    assert!(
        last < now.as_microsecond() as u64 + 60_000_000,
        "the own clock holds"
    );
    for station in &mut shop.stations {
        let view = station.view();
        assert!(view.reading(own).is_some() && view.reading(ahead).is_some());
        let (part, us) = view.ahead_of(now).unwrap();
        assert_eq!(part.label(), "B");
        assert!(us > hour - 1_000_000 && us <= hour + 1_000_000, "{us}");
        let later = now + jiff::SignedDuration::from_hours(1);
        assert!(view.ahead_of(later).is_none());
    }
    assert_eq!(
        told(&shop.stations[0].view()),
        told(&shop.stations[1].view())
    );
}

#[test]
fn the_newest_reading_of_a_spot_is_the_one_that_was_taken_last_at_whichever_station() {
    let mut shop = TestShop::new(2);
    let mut kept = Vec::new();
    for (n, value) in [(1, 64.1), (0, 64.2), (1, 64.3), (0, 64.4)] {
        for station in &shop.stations {
            station.clock().advance(1_000_000);
        }
        kept.push(shop.stations[n].keep(Fact::Final(reading("chamber/1", value))));
        shop.carry_all();
    }
    kept.reverse();
    for station in &mut shop.stations {
        let view = station.view();
        let newest = view.newest_at(view.stage(), "chamber/1");
        assert_eq!(newest.map(|one| one.id).collect::<Vec<_>>(), kept);
    }
}

#[test]
fn a_number_names_the_revision_that_stands_whichever_station_made_it() {
    let mut shop = TestShop::new(2);
    let first = shop.stations[0].keep(Fact::Held(reading("chamber/3", 64.0)));
    shop.stations[1].keep(Fact::Final(reading("chamber/1", 63.0)));
    shop.carry_all();
    let second = shop.stations[1].keep(revised(first, 64.1));
    shop.carry_all();
    let third = shop.stations[0].keep(revised(second, 64.2));
    shop.carry_all();
    for station in &mut shop.stations {
        let view = station.view();
        assert_eq!(view.said("A1").map(|one| one.id), Some(third));
        assert!(view.several_measure());
    }
}
