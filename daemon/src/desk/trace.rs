//! What a captured reading was made out from: the samples of its window, and those about it.

use std::sync::Weak;

use benchhand_drivers::stream::Stream;
use benchhand_drivers::{Profile, Sample};
use benchhand_shop::{PIECE_MOST, PieceAbout};
use benchhand_wire::{ReadingTraced, Reason, Refusal, Trace, TraceReading, TraceSample};

use super::recompute::samples_of_file;
use super::{Answers, Desk};
use crate::joined::WantedPiece;
use crate::known::refusals::of_store;
use crate::store::fact::{InputKind, ReadingSource};
use crate::store::gauges::RegisterEntry;
use crate::store::streams::ReadingEvidence;
use crate::store::view::{JobView, KeptReading};

/// How much before the last sample of a window is shown, microseconds.
const BEFORE: u64 = 60_000_000;
/// How much after it.
const AFTER: u64 = 4_000_000;
/// How far a sample may be from where the reading says it lies in the stream, microseconds. When bytes
/// can have arrived follows from those before, of which the stream may not hold the first.
const NEAR: u64 = 500_000;

impl Answers<TraceReading> for Desk {
    fn answer(&self, ask: TraceReading, _: Option<&str>) -> Result<ReadingTraced, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let id = ask.id.parse().ok();
        let Some(reading) = id.and_then(|id| view.reading(id)) else {
            return Err(no_reading(&ask.job, &ask.id));
        };
        match view.own().wrote(reading.id) {
            true => self.own_trace(&view, reading),
            false => self.trace_elsewhere(&view, reading),
        }
    }
}

fn no_reading(job: &str, id: &str) -> Refusal {
    Refusal::new(Reason::NotFound, format!("job {job} has no reading {id}"))
}

impl Desk {
    fn own_trace(&self, view: &JobView, reading: &KeptReading) -> Result<ReadingTraced, Refusal> {
        // The samples stand with the line that first stated them.
        let mut lines = vec![reading.id];
        let mut replaced = reading.supersedes;
        while let Some(id) = replaced {
            lines.push(id);
            replaced = view.reading(id).and_then(|one| one.supersedes);
        }
        let evidence = self.keeper.with_store(|store| {
            let found = store.reader().evidence(view.name());
            found.map_err(|e| of_store(&e))
        })?;
        // A journal counts for itself; a view counts the facts of all stations.
        let (base, _) = view.own().numbers();
        let of_line = |id: &u64| {
            let own = evidence
                .iter()
                .filter(|one| one.reading == *id || base + one.reading == *id);
            let own: Vec<&ReadingEvidence> = own.filter(|one| !one.window.is_empty()).collect();
            (!own.is_empty()).then_some(own)
        };
        let found = lines.iter().find_map(of_line).unwrap_or_default();
        Ok(ReadingTraced {
            traces: found.into_iter().map(|one| trace(view, one)).collect(),
            away: None,
        })
    }

    /// What another station recorded about a reading: it is asked for, and shown once it came.
    fn trace_elsewhere(
        &self,
        view: &JobView,
        reading: &KeptReading,
    ) -> Result<ReadingTraced, Refusal> {
        let nothing = |away: Option<String>| ReadingTraced {
            traces: Vec::new(),
            away,
        };
        if reading.source != ReadingSource::Captured {
            return Ok(nothing(None));
        }
        let part = view.part_of(reading.id);
        let seq = reading.id.saturating_sub(part.numbers().0);
        let holder = part.station().map(|station| station.0.as_str());
        let (holder, about) = (holder.unwrap_or_default(), PieceAbout::Trace);
        let wanted = self.joined()?.piece(holder, view.name(), seq, about)?;
        match wanted {
            WantedPiece::Away { why, .. } => Ok(nothing(Some(why))),
            WantedPiece::Here(piece) => {
                let traced: Option<ReadingTraced> = serde_json::from_slice(&piece).ok();
                let odd = || "what that station sent of it is not understood here".to_owned();
                Ok(traced.unwrap_or_else(|| nothing(Some(odd()))))
            }
        }
    }

    /// What another station is answered that asks about an own reading, by its number in the own
    /// journal.
    pub(crate) fn piece_of(
        desk: &Weak<Desk>,
        job: &str,
        seq: u64,
        about: &PieceAbout,
    ) -> Result<Vec<u8>, Refusal> {
        let ends = || Refusal::new(Reason::Unavailable, "the program there is ending");
        let desk = desk.upgrade().ok_or_else(ends)?;
        match about {
            PieceAbout::Trace => desk.trace_piece(job, seq),
            PieceAbout::Recomputed => desk.recomputed_piece(job, seq),
            PieceAbout::Unknown(_) => {
                let found = "its program is older than the one that asks";
                Err(Refusal::new(Reason::Unavailable, found))
            }
        }
    }

    /// The trace of an own reading, with every second sample about the window left out until it is
    /// short enough.
    fn trace_piece(&self, job: &str, seq: u64) -> Result<Vec<u8>, Refusal> {
        let (view, _) = self.keeper.view(job)?;
        let (base, _) = view.own().numbers();
        let none = || no_reading(job, &seq.to_string());
        let id = base.checked_add(seq).ok_or_else(none)?;
        let reading = view.reading(id).ok_or_else(none)?;
        let mut traced = self.own_trace(&view, reading)?;
        loop {
            let piece = serde_json::to_vec(&traced)
                .map_err(|e| Refusal::new(Reason::Unavailable, format!("the trace: {e}")))?;
            let samples = traced.traces.iter().map(|one| one.around.len());
            if piece.len() <= PIECE_MOST || samples.sum::<usize>() == 0 {
                return Ok(piece);
            }
            for one in &mut traced.traces {
                let every_second = one.around.iter().skip(1).step_by(2).copied();
                one.around = every_second.collect();
            }
        }
    }
}

fn trace(view: &JobView, evidence: &ReadingEvidence) -> Trace {
    // A stream that is gone, or was never understood, leaves the window alone.
    let (early, around) = around(view, evidence).unwrap_or_default();
    let window = evidence.window.iter().map(|(at_us, value)| TraceSample {
        at_us: at_us.saturating_sub(early),
        value: *value,
    });
    let unit = evidence.raw_unit.as_ref().unwrap_or(&evidence.unit);
    let (gauge, part) = (evidence.gauge.as_ref(), view.part_of(evidence.reading));
    Trace {
        part: evidence.role.clone(),
        gauge: gauge.map(|gauge| part.named(gauge).into_owned()),
        unit: unit.clone(),
        taken: evidence.raw.unwrap_or(evidence.value),
        window: window.collect(),
        around,
        stream: evidence.stream.file.clone(),
    }
}

/// What the gauge sent about the window, on the window's own channel, and how much before the stream
/// the window's times begin to count.
fn around(view: &JobView, evidence: &ReadingEvidence) -> Option<(u64, Vec<TraceSample>)> {
    let text = std::fs::read(evidence.path.as_ref()?).ok()?;
    // One that is being written ends in half a line.
    let stream = Stream::parse_cut(&text).0?;
    let gauge = evidence.gauge.as_deref()?;
    let input = |kind, name: &str| view.input(kind, name).map(|input| input.content.as_str());
    let entry: RegisterEntry = toml::from_str(input(InputKind::Gauge, gauge)?).ok()?;
    let name = entry.profile.as_deref()?;
    let profile = Profile::parse(input(InputKind::Profile, name)?, name).ok()?;
    let samples = samples_of_file(stream, &profile);
    let last = last_of_window(&samples, evidence)?;
    let (window_us, _) = *evidence.window.last()?;
    let shown = last.at_us.saturating_sub(BEFORE)..=last.at_us.saturating_add(AFTER);
    let own = samples
        .iter()
        .filter(|one| one.channel == last.channel && shown.contains(&one.at_us));
    let told = own.filter_map(|one| {
        Some(TraceSample {
            at_us: one.at_us,
            value: one.value?,
        })
    });
    Some((window_us.saturating_sub(last.at_us), told.collect()))
}

/// The window's last sample in the stream. The window's times count from when its line was opened,
/// which may be long before the stream began; the reading says where in the stream it was made out.
fn last_of_window<'a>(samples: &'a [Sample], evidence: &ReadingEvidence) -> Option<&'a Sample> {
    let (last_us, last) = *evidence.window.last()?;
    let same = samples.iter().filter(|one| one.value == Some(last));
    if let Some(found) = same.clone().find(|one| one.at_us == last_us) {
        return Some(found);
    }
    let away = |one: &&Sample| one.at_us.abs_diff(evidence.stream.at_us);
    let nearest = same.min_by_key(away)?;
    (away(&nearest) <= NEAR).then_some(nearest)
}
