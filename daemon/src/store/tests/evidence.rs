//! Recorded streams are numbered on, and every reading leads back to its own.

use std::io::Write;

use super::shop::TestShop;
use super::{TestDisks, keep, open_v8, reading};
use crate::store::error::StoreError;
use crate::store::fact::{Fact, Reading, ReadingPart, StreamAt};

#[test]
fn each_gauges_streams_are_numbered_on_by_themselves() {
    let disks = TestDisks::new(5);
    let store = disks.store();
    drop(open_v8(&store));
    for gauge in ["depth-2", "depth", "depth-2"] {
        let mut stream = store.new_stream("v8", gauge).unwrap();
        writeln!(stream.to, "{{\"stream\":1,\"gauge\":\"{gauge}\"}}").unwrap();
    }
    let files = store.reader().streams("v8").unwrap();
    let names: Vec<_> = files
        .iter()
        .map(|file| (&*file.gauge, file.number, &*file.name))
        .collect();
    assert_eq!(
        names,
        [
            ("depth", 1, "depth-001.ndjson"),
            ("depth-2", 1, "depth-2-001.ndjson"),
            ("depth-2", 2, "depth-2-002.ndjson"),
        ]
    );
    let text = disks.read("jobs/v8/streams/depth-2-001.ndjson");
    assert_eq!(text, "{\"stream\":1,\"gauge\":\"depth-2\"}\n");
    let reader = disks.reader();
    assert!(matches!(
        reader.new_stream("v8", "depth"),
        Err(StoreError::ReadOnly)
    ));
}

#[test]
fn a_reading_leads_to_its_moment_in_the_stream_and_says_when_that_is_gone() {
    let store = TestDisks::new(5).store();
    let mut job = open_v8(&store);
    let stream = store.new_stream("v8", "manometer").unwrap();
    let at = |file: &str, at_us| {
        Some(StreamAt {
            file: file.into(),
            at_us,
        })
    };
    let part = ReadingPart {
        role: "test_pressure".into(),
        value: 6.9,
        unit: "kPa".into(),
        u: None,
        gauge: Some("manometer".into()),
        raw: Some(6.92),
        raw_unit: Some("kPa".into()),
        n: Some(2),
        sd: None,
        se: None,
        window: vec![(41_000, 6.91), (91_000, 6.93)],
        stream: at(&stream.file.name, 91_000),
    };
    let flow = Reading {
        parts: vec![part],
        stream: at("burette-1-001.ndjson", 7),
        ..reading("flow/1/intake/7.62mm", 20.0)
    };
    let id = keep(&mut job, Fact::Final(flow));
    keep(&mut job, Fact::Final(reading("chamber/1", 64.0)));

    let evidence = store.reader().evidence("v8").unwrap();
    let found: Vec<_> = evidence
        .iter()
        .map(|one| {
            (
                one.reading,
                one.role.as_deref(),
                one.stream.at_us,
                one.path.clone(),
            )
        })
        .collect();
    let path = Some(stream.file.path);
    assert_eq!(
        found,
        [
            (id, None, 7, None),
            (id, Some("test_pressure"), 91_000, path)
        ]
    );
    assert_eq!(evidence[1].window.len(), 2);
}

#[test]
fn the_stream_of_another_stations_reading_is_held_by_that_station() {
    let mut shop = TestShop::new(2);
    let captured = |at_us| {
        Fact::Final(Reading {
            window: vec![(at_us, 64.0)],
            stream: Some(StreamAt {
                file: "burette-1-001.ndjson".into(),
                at_us,
            }),
            ..reading("chamber/1", 64.0)
        })
    };
    let mut kept = Vec::new();
    for (n, at_us) in [(0, 11), (1, 22)] {
        shop.stations[n].job();
        drop(
            shop.stations[n]
                .store
                .new_stream("v8", "burette-1")
                .unwrap(),
        );
        kept.push(shop.stations[n].keep(captured(at_us)));
    }
    shop.carry_all();
    for (n, held) in [(0, [None, Some("B")]), (1, [Some("A"), None])] {
        let mut evidence = shop.stations[n].store.reader().evidence("v8").unwrap();
        evidence.sort_by_key(|one| one.stream.at_us);
        let ids: Vec<_> = evidence.iter().map(|one| one.reading).collect();
        assert_eq!(ids, kept);
        let by: Vec<_> = evidence.iter().map(|one| one.held_by.as_deref()).collect();
        assert_eq!(by, held);
        // The own file of that name is not the other's.
        assert!(
            evidence
                .iter()
                .all(|one| one.path.is_some() == one.held_by.is_none())
        );
    }
}

#[test]
fn an_open_job_holds_no_samples_of_other_stations_and_their_journals_have_them_all() {
    let mut shop = TestShop::new(2);
    let sample = |n: u64| (n * 100_000, 64.0);
    let captured = Fact::Final(Reading {
        window: (0..30).map(sample).collect(),
        stream: Some(StreamAt {
            file: "burette-1-001.ndjson".into(),
            at_us: 2_900_000,
        }),
        ..reading("chamber/1", 64.0)
    });
    for n in [1, 0] {
        shop.stations[n].keep(captured.clone());
        shop.carry_all();
    }
    for again in [false, true] {
        for station in &mut shop.stations {
            if again {
                station.close();
            }
            let lengths: Vec<_> = station.view().readings().map(|one| one.window_s).collect();
            assert_eq!(lengths, [Some(2.9), Some(2.9)]);
            let of = station.job().stations.as_ref().unwrap();
            // The first and the last say how long the window was.
            assert_eq!(of.union.as_ref().unwrap().samples(), 4);
            let evidence = station.store.reader().evidence("v8").unwrap();
            let windows: Vec<_> = evidence.iter().map(|one| one.window.len()).collect();
            assert_eq!(windows, [30, 30]);
        }
    }
}
