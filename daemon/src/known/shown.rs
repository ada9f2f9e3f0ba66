//! Readings and jobs in the form in which they are shown.

use benchhand_wire::{
    CardShown, CopyOf, CutTakenBack, Figure, JobSummary, ShownReading, StageInfo,
};

use super::inputs;
use crate::store::fact::ReadingSource;
use crate::store::layout::Layout;
use crate::store::summary;
use crate::store::view::{JobStage, JobView, KeptReading, ReadingState};

/// A reading as it is shown.
pub(crate) fn reading(kept: &KeptReading) -> ShownReading {
    let figure = |value: f64, u: Option<f64>, unit: &str| Figure {
        value,
        u,
        unit: unit.to_owned(),
    };
    let raw_unit = kept.raw_unit.as_deref().unwrap_or(&kept.unit);
    ShownReading {
        id: kept.id,
        number: kept.number,
        station: kept.station.to_string(),
        spot: kept.spot.clone(),
        stage: kept.stage.clone(),
        state: state_word(&kept.state).to_owned(),
        figure: figure(kept.value, kept.u, &kept.unit),
        raw: kept.raw.map(|raw| figure(raw, None, raw_unit)),
        gauge: kept.gauge.clone(),
        source: source_word(kept.source).to_owned(),
        round: kept.round.unwrap_or(1),
        at: kept.at.to_string(),
        n: kept.n.map(u64::from),
        sd: kept.sd,
        window_s: kept.window_s,
        parts: kept
            .parts
            .iter()
            .map(|part| (part.role.clone(), figure(part.value, part.u, &part.unit)))
            .collect(),
        told: None,
        told_parts: Vec::new(),
        by: kept.by.clone(),
        note: note_of(kept),
    }
}

fn state_word(state: &ReadingState) -> &'static str {
    match state {
        ReadingState::Held => "held",
        ReadingState::Final => "final",
        ReadingState::Asked => "asked",
        ReadingState::Superseded { .. } => "superseded",
        ReadingState::Voided { .. } => "voided",
    }
}

fn source_word(source: ReadingSource) -> &'static str {
    match source {
        ReadingSource::Captured => "captured",
        ReadingSource::Typed => "typed",
        ReadingSource::Imported => "imported",
    }
}

/// Everything worth knowing beside the value, in the order in which it happened.
fn note_of(kept: &KeptReading) -> String {
    let mut notes: Vec<String> = kept.note.iter().cloned().collect();
    notes.extend(corrected(kept));
    for moved in &kept.moves {
        let why = if moved.reason.is_empty() {
            String::new()
        } else {
            format!(": {}", moved.reason)
        };
        let by = said_by(moved.by.as_deref());
        notes.push(format!("moved from {}{by}{why}", moved.from));
    }
    if let ReadingState::Voided { reason, by } = &kept.state {
        notes.push(format!("voided{}: {reason}", said_by(by.as_deref())));
    }
    if let ReadingState::Superseded { by } = kept.state {
        notes.push(format!("replaced by entry {by}"));
    }
    let marked = kept.marked.as_deref();
    notes.extend(marked.map(|why| format!("doubtful: {}", benchhand_words::local_times(why))));
    notes.join("; ")
}

/// That a typed value is not kept as it was typed, since its gauge's check corrects it.
pub(crate) fn corrected(kept: &KeptReading) -> Option<String> {
    let raw = kept.raw.filter(|raw| *raw != kept.value)?;
    let same_unit = kept.raw_unit.as_deref() == Some(kept.unit.as_str());
    (kept.source == ReadingSource::Typed && same_unit).then(|| {
        let added = benchhand_words::digits::rounded(kept.value - raw, 3);
        let sign = if kept.value > raw { "+" } else { "" };
        format!(
            "typed as {raw} {unit}; the gauge's check corrects it by {sign}{added} {unit}",
            unit = kept.unit
        )
    })
}

/// " by AB"; empty where nobody said who.
fn said_by(by: Option<&str>) -> String {
    by.map_or(String::new(), |by| format!(" by {by}"))
}

/// A stage as it is shown.
pub(crate) fn stage(stage: &JobStage) -> StageInfo {
    StageInfo {
        name: stage.name.clone(),
        since: stage.at.to_string(),
        cut: stage
            .cut
            .as_ref()
            .map(|cut| cut.what.clone())
            .unwrap_or_default(),
        changes: stage
            .cut
            .as_ref()
            .map(|cut| cut.changes.clone())
            .unwrap_or_default(),
        cylinders: stage
            .cut
            .as_ref()
            .map(|cut| cut.cylinders.clone())
            .unwrap_or_default(),
        depth: stage.cut.as_ref().and_then(|cut| {
            let one = cut.depths.first()?;
            Some(format!("{} {}", one.depth, one.unit))
        }),
        corrected: stage.corrected.as_ref().map(|last| last.reason.clone()),
    }
}

/// The cuts that were taken back.
pub(crate) fn taken_back(view: &JobView) -> Vec<CutTakenBack> {
    let gone = view.opened_stages().iter().filter(|stage| !stage.stands());
    let told = gone.filter_map(|stage| {
        let last = stage.corrected.as_ref()?;
        Some(CutTakenBack {
            stage: stage.name.clone(),
            cut: stage.cut.as_ref()?.what.clone(),
            at: last.at.to_string(),
            reason: last.reason.clone(),
            by: last.by.clone(),
        })
    });
    told.collect()
}

/// The job of which a job is a copy.
pub(crate) fn copy_of(view: &JobView) -> Option<CopyOf> {
    view.copy_of().map(|of| CopyOf {
        job: of.job.clone(),
        seq: of.seq,
        hash: of.hash.clone(),
    })
}

/// A job in one line.
pub(crate) fn job(summary: &summary::JobSummary, engine: String, layout: &Layout) -> JobSummary {
    let time = |t: Option<jiff::Timestamp>| t.map(|t| t.to_string()).unwrap_or_default();
    JobSummary {
        name: summary.name.clone(),
        engine,
        opened: time(summary.opened),
        changed: time(summary.last),
        stage: summary.stage.clone(),
        readings: summary.readings,
        folder: layout.job(&summary.name).display().to_string(),
        lacks: Vec::new(),
        damage: summary.damage.clone(),
    }
}

/// The job card of an engine file as loaded; empty where the file cannot be used.
pub(crate) fn card(view: &JobView) -> CardShown {
    let engine = inputs::engine(view).ok();
    let card = engine.map(|engine| engine.card.clone()).unwrap_or_default();
    CardShown {
        customer: card.customer,
        order: card.order,
        block: card.block,
        heads: card.heads,
        measured_by: card.measured_by,
    }
}

/// A job's summary from its view; the engine's name is read from the engine file as loaded.
pub(crate) fn job_of(view: &JobView, layout: &Layout) -> JobSummary {
    let engine = inputs::engine(view).ok();
    let name = engine.map(|e| e.name.clone()).unwrap_or_default();
    job(&summary::JobSummary::of(view), name, layout)
}
