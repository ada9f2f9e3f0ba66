//! The index on disk and the one in memory give the same answers.

use jiff::Timestamp;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use serde_json::json;
use tempfile::TempDir;

use crate::store::index::{
    GaugeCheck, Index, JobEntry, MemoryIndex, ReadingQuery, ReadingRow, ReadingStanding, SledIndex,
};
use crate::store::summary::JobSummary;

fn at(second: i64) -> Timestamp {
    Timestamp::from_second(1_772_000_000 + second).unwrap()
}

fn summary(job: &str, seq: u64) -> JobSummary {
    JobSummary {
        damage: None,
        name: job.into(),
        title: None,
        opened: Some(at(0)),
        last: Some(at(seq.cast_signed())),
        seq,
        hash: format!("{seq:064}"),
        stage: "as received".into(),
        readings: 0,
        marked: 0,
    }
}

/// A job with as many checks as its number, and with an engine unless its number is 0.
fn entry(job: &str, seq: u64) -> JobEntry {
    let check = |n: u64| GaugeCheck {
        gauge: ["depth", "scale"][n as usize % 2].into(),
        seq: n,
        at: at(n.cast_signed()),
        channel: 0,
        against: "its own zero".into(),
        error: 0.0005,
        u: None,
        unit: "in".into(),
        allow: None,
        passed: Some(!n.is_multiple_of(3)),
        comparisons: 1,
    };
    JobEntry {
        summary: summary(job, seq),
        engine: (seq > 0).then(|| json!({"bore": 102.362})),
        checks: (0..seq % 4).map(check).collect(),
    }
}

#[derive(Debug, Clone)]
enum Change {
    Put(u8, Vec<ReadingRow>),
    Update(u8, Vec<ReadingRow>),
    Forget(u8),
    /// Figures of the job's present state, or of an earlier one.
    Figures(u8, bool),
}

fn job(n: u8) -> String {
    format!("job-{}", n % 3)
}

const SPOTS: [&str; 4] = ["chamber/1", "chamber/10", "chamber", "deck/1/front"];

fn row() -> impl Strategy<Value = ReadingRow> {
    let spots = prop::sample::select(SPOTS.to_vec());
    let gauges = prop::sample::subsequence(vec!["depth-2", "depth", "burette-1"], 0..=3);
    let values = prop::sample::select(vec![64.0, 64.2, 63.9]);
    (
        0..3_u8,
        prop_oneof![0..6_u64, 0..500_u64],
        spots,
        gauges,
        0..50_i64,
        0..4_usize,
        values,
        any::<bool>(),
    )
        .prop_map(
            |(of, id, spot, gauges, second, standing, value, marked)| ReadingRow {
                job: job(of),
                id,
                spot: spot.into(),
                stage: "as received".into(),
                value,
                unit: "cc".into(),
                u: (id % 2 == 0).then_some(0.05),
                gauges: gauges.into_iter().map(str::to_owned).collect(),
                round: None,
                at: at(second),
                standing: [
                    ReadingStanding::Held,
                    ReadingStanding::Final,
                    ReadingStanding::Superseded,
                    ReadingStanding::Voided,
                ][standing],
                marked,
            },
        )
}

fn change() -> impl Strategy<Value = Change> {
    // More than are packed together, now and then.
    let rows = || {
        prop_oneof![
            4 => prop::collection::vec(row(), 0..5),
            1 => prop::collection::vec(row(), 150..400),
        ]
    };
    prop_oneof![
        2 => (0..3_u8, rows()).prop_map(|(of, rows)| Change::Put(of, rows)),
        4 => (0..3_u8, rows()).prop_map(|(of, rows)| Change::Update(of, rows)),
        1 => (0..3_u8).prop_map(Change::Forget),
        1 => (0..3_u8, any::<bool>()).prop_map(|(of, now)| Change::Figures(of, now)),
    ]
}

fn query() -> impl Strategy<Value = ReadingQuery> {
    let word = |words: Vec<&'static str>| {
        prop::option::of(prop::sample::select(words).prop_map(str::to_owned))
    };
    (
        word(vec!["job-0", "job-1", "job-9"]),
        word(vec!["chamber", "chamber/", "chamber/1", "cham", "deck"]),
        word(vec!["depth", "depth-2", "scale"]),
        prop::option::of((0..50_i64).prop_map(at)),
        prop::option::of((0..50_i64).prop_map(at)),
        any::<bool>(),
    )
        .prop_map(|(job, spot, gauge, from, until, all)| ReadingQuery {
            job,
            spot,
            gauge,
            from,
            until,
            all,
        })
}

fn make(index: &mut dyn Index, seq: u64, change: &Change) {
    // A job's rows belong to that job, and each number occurs once, as in a journal.
    let own = |of: u8, rows: &[ReadingRow]| -> Vec<ReadingRow> {
        let mut own = std::collections::BTreeMap::new();
        for row in rows {
            own.insert(
                row.id,
                ReadingRow {
                    job: job(of),
                    ..row.clone()
                },
            );
        }
        own.into_values().collect()
    };
    match change {
        Change::Put(of, rows) => index.put(&entry(&job(*of), seq), &own(*of, rows)),
        Change::Update(of, rows) => {
            let elsewhere = |row: &ReadingRow| {
                let (id, spot) = (row.id, row.spot.clone());
                let others = SPOTS.into_iter().filter(move |other| *other != spot);
                others.map(move |other| (id, other.to_owned()))
            };
            let rows = own(*of, rows);
            let left: Vec<_> = rows.iter().flat_map(elsewhere).collect();
            index.update(&entry(&job(*of), seq), &rows, &left)
        }
        Change::Forget(of) => index.forget(&job(*of)),
        Change::Figures(of, now) => {
            let jobs = index.jobs().unwrap();
            let known = jobs.iter().find(|known| known.name == job(*of));
            let hash = known.filter(|_| *now).map_or("", |known| &known.hash);
            index.hold_figures(&job(*of), hash, &json!({"made_after": seq}))
        }
    }
    .unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 48,
        rng_seed: RngSeed::Fixed(347),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn the_index_on_disk_and_the_one_in_memory_agree(
        changes in prop::collection::vec(change(), 1..25),
        queries in prop::collection::vec(query(), 1..12),
        reopen_at in 0..25_usize,
    ) {
        let folder = TempDir::new().unwrap();
        let mut memory = MemoryIndex::default();
        let mut disk = Some(SledIndex::open(folder.path()).unwrap());
        for (seq, change) in changes.iter().enumerate() {
            if seq == reopen_at {
                drop(disk.take());
                disk = Some(SledIndex::open(folder.path()).unwrap());
            }
            make(&mut memory, seq as u64, change);
            make(disk.as_mut().unwrap(), seq as u64, change);
        }
        let disk = disk.unwrap();
        prop_assert_eq!(memory.jobs().unwrap(), disk.jobs().unwrap());
        prop_assert_eq!(memory.engines().unwrap(), disk.engines().unwrap());
        for gauge in [None, Some("depth"), Some("nobody")] {
            prop_assert_eq!(memory.gauge_uses(gauge).unwrap(), disk.gauge_uses(gauge).unwrap());
        }
        for query in queries.iter().chain([&ReadingQuery { all: true, ..ReadingQuery::default() }]) {
            prop_assert_eq!(memory.search(query).unwrap(), disk.search(query).unwrap());
        }
    }
}
