//! What a captured reading was made out from: the samples of its window, and those about it.

use std::sync::Weak;

use benchhand_drivers::stream::Stream;
use benchhand_drivers::{Profile, Sample};
use benchhand_shop::PIECE_MOST;
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
/// How far the time of a sample may be from the one in the window, microseconds. When bytes can have
/// arrived follows from those before, and a gauge may have sent some before its stream was recorded.
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
        let wanted = self
            .joined()?
            .piece(holder.unwrap_or_default(), view.name(), seq)?;
        match wanted {
            WantedPiece::Away(why) => Ok(nothing(Some(why))),
            WantedPiece::Here(piece) => {
                let traced: Option<ReadingTraced> = serde_json::from_slice(&piece).ok();
                let odd = || "what that station sent of it is not understood here".to_owned();
                Ok(traced.unwrap_or_else(|| nothing(Some(odd()))))
            }
        }
    }

    /// What another station is sent about an own reading, by its number in the own journal: its trace,
    /// with every second sample about the window left out until it is short enough.
    pub(crate) fn piece_of(desk: &Weak<Desk>, job: &str, seq: u64) -> Result<Vec<u8>, Refusal> {
        let ends = || Refusal::new(Reason::Unavailable, "the program there is ending");
        let desk = desk.upgrade().ok_or_else(ends)?;
        let (view, _) = desk.keeper.view(job)?;
        let (base, _) = view.own().numbers();
        let none = || no_reading(job, &seq.to_string());
        let id = base.checked_add(seq).ok_or_else(none)?;
        let reading = view.reading(id).ok_or_else(none)?;
        let mut traced = desk.own_trace(&view, reading)?;
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
    let window: Vec<TraceSample> = evidence
        .window
        .iter()
        .map(|(at_us, value)| TraceSample {
            at_us: *at_us,
            value: *value,
        })
        .collect();
    let unit = evidence.raw_unit.as_ref().unwrap_or(&evidence.unit);
    let (gauge, part) = (evidence.gauge.as_ref(), view.part_of(evidence.reading));
    Trace {
        part: evidence.role.clone(),
        gauge: gauge.map(|gauge| part.named(gauge).into_owned()),
        unit: unit.clone(),
        taken: evidence.raw.unwrap_or(evidence.value),
        // A stream that is gone, or was never understood, leaves the window alone.
        around: around(view, evidence).unwrap_or_default(),
        window,
        stream: evidence.stream.file.clone(),
    }
}

/// What the gauge sent about the window, on the window's own channel.
fn around(view: &JobView, evidence: &ReadingEvidence) -> Option<Vec<TraceSample>> {
    let text = std::fs::read(evidence.path.as_ref()?).ok()?;
    // One that is being written ends in half a line.
    let stream = Stream::parse_cut(&text).0?;
    let gauge = evidence.gauge.as_deref()?;
    let input = |kind, name: &str| view.input(kind, name).map(|input| input.content.as_str());
    let entry: RegisterEntry = toml::from_str(input(InputKind::Gauge, gauge)?).ok()?;
    let name = entry.profile.as_deref()?;
    let profile = Profile::parse(input(InputKind::Profile, name)?, name).ok()?;
    let (last_us, last) = *evidence.window.last()?;
    let samples = samples_of_file(stream, &profile);
    let is_last = |one: &&Sample| one.value == Some(last) && one.at_us.abs_diff(last_us) <= NEAR;
    let nearest = |one: &&Sample| one.at_us.abs_diff(last_us);
    let channel = samples.iter().filter(is_last).min_by_key(nearest)?.channel;
    let shown = last_us.saturating_sub(BEFORE)..=last_us.saturating_add(AFTER);
    let own = samples
        .iter()
        .filter(|one| one.channel == channel && shown.contains(&one.at_us));
    let told = own.filter_map(|one| {
        Some(TraceSample {
            at_us: one.at_us,
            value: one.value?,
        })
    });
    Some(told.collect())
}
