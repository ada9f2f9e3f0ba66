//! A station's record in memory. It refuses what a record must refuse, so that the transport is held
//! to its promises.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard};

use benchhand_shop::{
    JobId, JournalHead, JournalLine, PieceAbout, PieceKey, RecordFault, StationId, StationRecord,
};
use tokio::sync::watch;

type Journals = BTreeMap<(JobId, StationId), Vec<JournalLine>>;

#[derive(Debug)]
pub struct MemoryRecord {
    inner: Mutex<Inner>,
    changed: watch::Sender<u64>,
}

#[derive(Debug, Clone)]
struct Inner {
    station: StationId,
    journals: Journals,
    /// Words with which everything that comes is refused.
    refusing: Option<String>,
    /// Pieces of recorded streams, by the numbers of their readings.
    pieces: BTreeMap<u64, Vec<u8>>,
}

fn first_prev() -> String {
    "0".repeat(64)
}

/// A line that continues `prev`.
pub fn line(number: u64, prev: &str, says: &str) -> JournalLine {
    line_beside(number, "", prev, says)
}

/// The same with fields of the envelope before the hash of the line before.
pub fn line_beside(number: u64, beside: &str, prev: &str, says: &str) -> JournalLine {
    let envelope = format!("{{\"v\":1,\"seq\":{number},\"at\":\"2026-03-02T09:00:00Z\",{beside}");
    let body = format!("{envelope}\"prev\":\"{prev}\",{says}");
    let sum = blake3::hash(body.as_bytes()).to_hex();
    JournalLine::read(number, format!("{body},\"sum\":\"{sum}\"}}")).expect("a whole line")
}

impl MemoryRecord {
    pub fn new(number: u8) -> Self {
        Self {
            inner: Mutex::new(Inner {
                station: StationId::of([number; 16]),
                journals: Journals::new(),
                refusing: None,
                pieces: BTreeMap::new(),
            }),
            changed: watch::Sender::new(0),
        }
    }

    /// The same record as it is now, as on a disk that was copied.
    pub fn copy(&self) -> Self {
        Self {
            inner: Mutex::new(self.inner().clone()),
            changed: watch::Sender::new(0),
        }
    }

    fn inner(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().expect("nobody panicked")
    }

    pub fn changes(&self) -> watch::Receiver<u64> {
        self.changed.subscribe()
    }

    fn tell(&self) {
        self.changed.send_modify(|count| *count += 1);
    }

    /// From now on there is a piece about a reading, whichever job is asked about.
    pub fn has_piece(&self, seq: u64, piece: Vec<u8>) {
        self.inner().pieces.insert(seq, piece);
    }

    /// From now on refuses what comes; with `None` takes it again.
    pub fn refuse(&self, words: Option<&str>) {
        self.inner().refusing = words.map(str::to_owned);
    }

    /// Opens a job with a journal of its own. Gives the job.
    pub fn open(&self, name: &str) -> JobId {
        let first = line(
            1,
            &first_prev(),
            &format!("\"fact\":\"opened\",\"job\":\"{name}\",\"title\":\"invented {name}\""),
        );
        let job = JobId::parse(&first.hash).expect("a hash");
        let mut inner = self.inner();
        let key = (job.clone(), inner.station.clone());
        inner.journals.insert(key, vec![first]);
        drop(inner);
        self.tell();
        job
    }

    /// Writes a fact into the own journal of a job, which begins with `joined` where it is not the
    /// opener's. Gives the number of the line.
    pub fn write(&self, job: &JobId, says: &str) -> u64 {
        let mut inner = self.inner();
        let key = (job.clone(), inner.station.clone());
        let journal = inner.journals.entry(key.clone()).or_default();
        if journal.is_empty() {
            let joined = format!(
                "\"fact\":\"joined\",\"job\":\"{job}\",\"station\":\"{}\"",
                key.1
            );
            journal.push(line(1, &first_prev(), &joined));
        }
        let prev = journal.last().expect("it begins").hash.clone();
        let number = journal.len() as u64 + 1;
        journal.push(line(number, &prev, says));
        drop(inner);
        self.tell();
        number
    }

    /// Writes a line as it is into the own journal of a job, with fields of the envelope.
    pub fn write_beside(&self, job: &JobId, beside: &str, says: &str) {
        let mut inner = self.inner();
        let key = (job.clone(), inner.station.clone());
        let journal = inner.journals.entry(key).or_default();
        let prev = journal
            .last()
            .map_or_else(first_prev, |last| last.hash.clone());
        journal.push(line_beside(journal.len() as u64 + 1, beside, &prev, says));
    }

    /// Takes the last lines off a journal, as an older copy of the disk has it; 0 leaves none of it.
    pub fn cut(&self, job: &JobId, station: &StationId, left: usize) {
        let mut inner = self.inner();
        let key = (job.clone(), station.clone());
        match left {
            0 => drop(inner.journals.remove(&key)),
            left => inner
                .journals
                .get_mut(&key)
                .expect("it is held")
                .truncate(left),
        }
    }

    pub fn all(&self) -> Journals {
        self.inner().journals.clone()
    }

    pub fn end(&self, job: &JobId, station: &StationId) -> u64 {
        let key = (job.clone(), station.clone());
        self.inner()
            .journals
            .get(&key)
            .map_or(0, |all| all.len() as u64)
    }

    /// How long each journal is, for a test that failed.
    pub fn ends(&self) -> BTreeMap<String, usize> {
        let inner = self.inner();
        let ends = inner.journals.iter().map(|((job, station), lines)| {
            let name = format!("{}/{}", &job.as_str()[..6], &station.as_str()[..4]);
            (name, lines.len())
        });
        ends.collect()
    }

    fn append(
        &self,
        job: &JobId,
        station: &StationId,
        lines: &[JournalLine],
    ) -> Result<(), RecordFault> {
        let mut inner = self.inner();
        if let Some(words) = &inner.refusing {
            return Err(RecordFault {
                words: words.clone(),
            });
        }
        let opened = inner.journals.keys().any(|(known, _)| known == job);
        let opens = lines.first().is_some_and(|line| line.hash == job.as_str());
        assert!(
            opened || opens,
            "a job begins with the journal that opens it"
        );
        let journal = inner
            .journals
            .entry((job.clone(), station.clone()))
            .or_default();
        for line in lines {
            let held = journal.len() as u64;
            if line.number <= held {
                let same = journal[usize::try_from(line.number - 1).expect("small")] == *line;
                assert!(same, "line {} is another one", line.number);
                continue;
            }
            assert_eq!(line.number, held + 1, "no line is left out");
            let before = journal
                .last()
                .map_or_else(first_prev, |last| last.hash.clone());
            line.check(&before).expect("only sound lines come");
            journal.push(line.clone());
        }
        drop(inner);
        self.tell();
        Ok(())
    }
}

impl StationRecord for MemoryRecord {
    fn piece(&self, key: &PieceKey) -> Result<Vec<u8>, RecordFault> {
        let seq = key.seq;
        let words = format!("there is no piece {seq}");
        if key.about == PieceAbout::Recomputed {
            return Ok(format!("{seq} anew").into_bytes());
        }
        self.inner()
            .pieces
            .get(&seq)
            .cloned()
            .ok_or(RecordFault { words })
    }

    fn station(&self) -> StationId {
        self.inner().station.clone()
    }

    fn heads(&self) -> Result<Vec<JournalHead>, RecordFault> {
        let inner = self.inner();
        let head = |((job, station), lines): (&(JobId, StationId), &Vec<JournalLine>)| {
            let last = lines.last().expect("a journal has a line");
            JournalHead {
                job: job.clone(),
                station: station.clone(),
                number: last.number,
                hash: last.hash.clone(),
            }
        };
        Ok(inner.journals.iter().map(head).collect())
    }

    fn lines(
        &self,
        job: &JobId,
        station: &StationId,
        after: u64,
        most: usize,
    ) -> Result<Vec<JournalLine>, RecordFault> {
        let inner = self.inner();
        let journal = inner.journals.get(&(job.clone(), station.clone()));
        let behind = journal
            .into_iter()
            .flatten()
            .filter(|line| line.number > after);
        Ok(behind.take(most).cloned().collect())
    }

    fn take_in(
        &self,
        job: &JobId,
        station: &StationId,
        lines: &[JournalLine],
    ) -> Result<(), RecordFault> {
        assert_ne!(*station, self.station(), "own lines are taken back, not in");
        self.append(job, station, lines)
    }

    fn take_back(&self, job: &JobId, lines: &[JournalLine]) -> Result<(), RecordFault> {
        self.append(job, &self.station(), lines)
    }

    /// The lines that are shared stay the old station's; those behind are written anew by the new one.
    fn part_ways(&self, shared: &[(JobId, u64)]) -> Result<StationId, RecordFault> {
        let mut inner = self.inner();
        let old = inner.station.clone();
        let new = StationId::of([old.as_str().as_bytes()[0].wrapping_add(100); 16]);
        inner.station = new.clone();
        for (job, after) in shared {
            let key = (job.clone(), old.clone());
            let journal = inner.journals.get_mut(&key).expect("it is held");
            let shared = usize::try_from(*after).expect("small");
            let own = journal.split_off(shared.min(journal.len()));
            let mut anew = vec![line(
                1,
                &first_prev(),
                &format!("\"fact\":\"joined\",\"job\":\"{job}\",\"station\":\"{new}\""),
            )];
            for old in own {
                let (_, rest) = old.text.split_once(",\"fact\"").expect("a fact");
                let (fact, _) = rest.rsplit_once(",\"sum\"").expect("a hash");
                let prev = anew.last().expect("it begins").hash.clone();
                let number = anew.len() as u64 + 1;
                anew.push(line(number, &prev, &format!("\"fact\"{fact}")));
            }
            inner.journals.insert((job.clone(), new.clone()), anew);
        }
        Ok(new)
    }

    fn take_letter(&self, letter: &str) -> Result<(), RecordFault> {
        assert!(
            letter.chars().all(|one| one.is_ascii_uppercase()),
            "{letter}"
        );
        Ok(())
    }
}
