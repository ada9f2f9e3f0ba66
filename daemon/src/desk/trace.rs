//! What a captured reading was made out from: the samples of its window, and those about it.

use benchhand_drivers::stream::Stream;
use benchhand_drivers::{Profile, Sample};
use benchhand_wire::{ReadingTraced, Reason, Refusal, Trace, TraceReading, TraceSample};

use super::recompute::samples_of_file;
use super::{Answers, Desk};
use crate::known::refusals::of_store;
use crate::store::fact::InputKind;
use crate::store::gauges::RegisterEntry;
use crate::store::streams::ReadingEvidence;
use crate::store::view::JobView;

/// How much before the last sample of a window is shown, microseconds.
const BEFORE: u64 = 60_000_000;
/// How much after it.
const AFTER: u64 = 4_000_000;

impl Answers<TraceReading> for Desk {
    fn answer(&self, ask: TraceReading, _: Option<&str>) -> Result<ReadingTraced, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let id = ask.id.parse().ok();
        let Some(reading) = id.and_then(|id| view.reading(id)) else {
            return Err(Refusal::new(
                Reason::NotFound,
                format!("job {} has no reading {}", ask.job, ask.id),
            ));
        };
        // The samples stand with the line that first stated them.
        let mut lines = vec![reading.id];
        let mut replaced = reading.supersedes;
        while let Some(id) = replaced {
            lines.push(id);
            replaced = view.reading(id).and_then(|one| one.supersedes);
        }
        let evidence = self
            .keeper
            .with_store(|store| store.reader().evidence(&ask.job).map_err(|e| of_store(&e)))?;
        let of_line = |id: &u64| {
            let own = evidence.iter().filter(|one| one.reading == *id);
            let own: Vec<&ReadingEvidence> = own.filter(|one| !one.window.is_empty()).collect();
            (!own.is_empty()).then_some(own)
        };
        let found = lines.iter().find_map(of_line).unwrap_or_default();
        Ok(ReadingTraced {
            traces: found.into_iter().map(|one| trace(&view, one)).collect(),
            away: None,
        })
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
    Trace {
        part: evidence.role.clone(),
        gauge: evidence.gauge.clone(),
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
    let stream = Stream::parse(&text).ok()?;
    let gauge = evidence.gauge.as_deref()?;
    let input = |kind, name: &str| view.input(kind, name).map(|input| input.content.as_str());
    let entry: RegisterEntry = toml::from_str(input(InputKind::Gauge, gauge)?).ok()?;
    let name = entry.profile.as_deref()?;
    let profile = Profile::parse(input(InputKind::Profile, name)?, name).ok()?;
    let (last_us, last) = *evidence.window.last()?;
    let samples = samples_of_file(stream, &profile);
    let is_last = |one: &&Sample| one.at_us == last_us && one.value == Some(last);
    let channel = samples.iter().find(is_last)?.channel;
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
