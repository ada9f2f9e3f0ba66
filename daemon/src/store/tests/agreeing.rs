//! The index on disk and the one in memory give the same answers.

use jiff::Timestamp;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use tempfile::TempDir;

use crate::store::index::{Index, MemoryIndex, Query, Row, SledIndex, Standing};
use crate::store::summary::JobSummary;

fn at(second: i64) -> Timestamp {
    Timestamp::from_second(1_772_000_000 + second).unwrap()
}

fn summary(job: &str, seq: u64) -> JobSummary {
    JobSummary {
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

#[derive(Debug, Clone)]
enum Change {
    Put(u8, Vec<Row>),
    Update(u8, Vec<Row>),
    Forget(u8),
}

fn job(n: u8) -> String {
    format!("job-{}", n % 3)
}

fn row() -> impl Strategy<Value = Row> {
    let spots = prop::sample::select(vec!["chamber/1", "chamber/10", "chamber", "deck/1/front"]);
    let gauges = prop::sample::subsequence(vec!["depth-2", "depth", "burette-1"], 0..=3);
    (0..3_u8, 0..6_u64, spots, gauges, 0..50_i64, 0..4_usize).prop_map(
        |(of, id, spot, gauges, second, standing)| Row {
            job: job(of),
            id,
            spot: spot.into(),
            stage: "as received".into(),
            value: 64.0,
            unit: "cc".into(),
            u: None,
            gauges: gauges.into_iter().map(str::to_owned).collect(),
            round: None,
            at: at(second),
            standing: [
                Standing::Held,
                Standing::Final,
                Standing::Superseded,
                Standing::Voided,
            ][standing],
            marked: false,
        },
    )
}

fn change() -> impl Strategy<Value = Change> {
    let rows = || prop::collection::vec(row(), 0..5);
    prop_oneof![
        2 => (0..3_u8, rows()).prop_map(|(of, rows)| Change::Put(of, rows)),
        4 => (0..3_u8, rows()).prop_map(|(of, rows)| Change::Update(of, rows)),
        1 => (0..3_u8).prop_map(Change::Forget),
    ]
}

fn query() -> impl Strategy<Value = Query> {
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
        .prop_map(|(job, spot, gauge, from, until, all)| Query {
            job,
            spot,
            gauge,
            from,
            until,
            all,
        })
}

fn make(index: &mut dyn Index, seq: u64, change: &Change) {
    // A job's rows are of that job and each number is there once, as in a journal.
    let own = |of: u8, rows: &[Row]| -> Vec<Row> {
        let mut own = std::collections::BTreeMap::new();
        for row in rows {
            own.insert(
                row.id,
                Row {
                    job: job(of),
                    ..row.clone()
                },
            );
        }
        own.into_values().collect()
    };
    match change {
        Change::Put(of, rows) => index.put(&summary(&job(*of), seq), &own(*of, rows)),
        Change::Update(of, rows) => index.update(&summary(&job(*of), seq), &own(*of, rows)),
        Change::Forget(of) => index.forget(&job(*of)),
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
        for query in queries.iter().chain([&Query { all: true, ..Query::default() }]) {
            prop_assert_eq!(memory.search(query).unwrap(), disk.search(query).unwrap());
        }
    }
}
