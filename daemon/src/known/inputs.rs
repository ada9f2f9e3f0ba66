//! What a job's facts become for the blueprint: its engine, its readings, its stages.
//!
//! Nothing is calculated here; figures come from the blueprint alone.

/// Whether an engine file can be used.
pub(crate) fn usable(text: &str) -> Result<(), String> {
    match Engine::from_toml(text) {
        Ok(_) => Ok(()),
        Err(error) => Err(error.to_string()),
    }
}

#[cfg(test)]
mod tests;

use std::collections::BTreeSet;
use std::sync::Arc;

use benchhand_blueprint::readings::{FlowParts, MeasuredValue, ReadingValue};
use benchhand_blueprint::spot::SpotFamily;
use benchhand_blueprint::{Engine, Quantity, Reading, ReportInputs, Spot, Unit, engine};
use benchhand_wire::{Reason, Refusal};

use super::refusals::of_engine;
use super::{plates, register, surroundings, zero_checks};
use crate::store::fact::{self, DECIMALS, InputKind, ReadingPart, ReadingSource};
use crate::store::part::of_same_station;
use crate::store::view::{JobStage, JobView, KeptReading};

pub(crate) use crate::store::fact::STEP;

/// The part of a flow reading that is measured beside the test pressure.
pub(crate) const METERING: &str = "metering";
/// The label of a reading that holds the degrees of freedom of its `u`.
const DOF: &str = "dof";

/// The engine as it was last loaded, with the journal's stages and the gauges' entries from the
/// register. It is read once for all copies of a view, until a fact that it rests on is kept.
pub(crate) fn engine(view: &JobView) -> Result<Arc<Engine>, Refusal> {
    view.made_once(|| read_engine(view).map(Arc::new))
}

fn read_engine(view: &JobView) -> Result<Engine, Refusal> {
    let Some(loaded) = view.engine() else {
        return Err(Refusal::new(
            Reason::Damaged,
            "the job's journal holds no engine file",
        ));
    };
    let mut engine =
        Engine::from_toml(&loaded.content).map_err(|e| of_engine(&e, "engine.toml"))?;
    // Where a cut names no cylinders, the engine file may, for the stage of the same name.
    let stated = std::mem::take(&mut engine.stages);
    let cylinders = |stage: &JobStage| {
        let said = stage.cut.as_ref().map(|cut| &cut.cylinders);
        if let Some(said) = said.filter(|said| !said.is_empty()) {
            return Some(said.clone());
        }
        let found = stated.iter().find(|one| one.name == stage.name)?;
        found.cylinders.clone()
    };
    engine.stages = view
        .stages()
        .iter()
        .map(|stage| engine::Stage {
            name: stage.name.clone(),
            changed: stage
                .cut
                .as_ref()
                .map(|c| &c.changes)
                .filter(|changes| !changes.is_empty())
                .map(|changes| {
                    changes
                        .iter()
                        .filter_map(|name| SpotFamily::named(name))
                        .collect()
                }),
            cylinders: cylinders(stage),
        })
        .collect();
    for stage in view.stages() {
        let depth = stage.cut.as_ref().and_then(|cut| depth_of(&cut.depths));
        engine
            .cuts
            .extend(depth.map(|depth| (stage.name.clone(), depth)));
    }
    for (kind, name, loads) in view.inputs() {
        if let (InputKind::Gauge, Some(latest)) = (kind, loads.last())
            && let Some(channels) = register::known(
                &latest.content,
                profile_of(view, name, &latest.content),
                view.gauge(name).and_then(|g| Some(&g.zeros.last()?.what)),
            )
        {
            for (number, mut known) in channels {
                if number == 0 {
                    known.zero_off = zero_checks::drift(view, name);
                }
                let name = channel_gauge(name, number);
                engine.gauges.insert(name, known);
            }
        }
    }
    gauges_of_stations(view, &mut engine);
    plates::into_engine(view, &mut engine);
    surroundings::into_engine(view, &mut engine);
    Ok(engine)
}

/// What the engine file states of a gauge holds for the gauge of that name at each station, and is a
/// source of error of its own there: two stations may call two gauges alike.
fn gauges_of_stations(view: &JobView, engine: &mut Engine) {
    let stated: Vec<_> = engine.gauges.clone().into_iter().collect();
    for part in view.parts().filter(|part| !part.label().is_empty()) {
        for (name, entry) in &stated {
            let name = part.named(name).into_owned();
            engine.gauges.entry(name).or_insert_with(|| entry.clone());
        }
    }
}

/// The name of a gauge's channel in the engine.
fn channel_gauge(gauge: &str, number: u8) -> String {
    match number {
        0 => gauge.to_owned(),
        _ => format!("{gauge} channel {}", number + 1),
    }
}

/// The depth of a cut, if it was the same on all parts.
fn depth_of(depths: &[fact::CutDepth]) -> Option<engine::StatedValue> {
    let stated = |one: &fact::CutDepth| {
        let unit: Unit = one.unit.parse().ok()?;
        let value = one.depth;
        engine::StatedValue::new(
            Quantity { value, unit },
            benchhand_blueprint::units::QuantityKind::Length,
        )
        .ok()
    };
    let first = stated(depths.first()?)?;
    depths
        .iter()
        .all(|one| stated(one).is_some_and(|one| one.value == first.value))
        .then_some(first)
}

/// The text of the profile that a gauge's entry names, from the journal of the gauge's station.
fn profile_of<'a>(view: &'a JobView, gauge: &str, register_text: &str) -> Option<&'a str> {
    let entry: crate::store::gauges::RegisterEntry = toml::from_str(register_text).ok()?;
    view.input(InputKind::Profile, &of_same_station(gauge, &entry.profile?))
        .map(|input| input.content.as_str())
}

/// The cylinders in the engine's own order: bank by bank.
pub(crate) fn cylinders(engine: &Engine) -> Vec<u32> {
    engine
        .banks
        .iter()
        .flat_map(|bank| bank.cylinders.iter().copied())
        .collect()
}

/// The readings that count, of every stage.
pub(crate) fn readings(view: &JobView, engine: &Engine) -> Result<Vec<Reading>, Refusal> {
    view.readings()
        .filter(|r| r.state.is_live())
        .map(|r| reading(view, engine, r))
        .collect()
}

fn reading(view: &JobView, engine: &Engine, kept: &KeptReading) -> Result<Reading, Refusal> {
    let damaged = |what: String| {
        Refusal::new(
            Reason::Damaged,
            format!("reading {}: {what}", kept.said_number()),
        )
    };
    let spot: Spot = kept.spot.parse().map_err(|e| damaged(format!("{e}")))?;
    let unit: Unit = kept.unit.parse().map_err(|e| damaged(format!("{e}")))?;
    let own = Quantity {
        value: kept.value,
        unit,
    };
    let value = match spot {
        Spot::Flow { .. } => {
            let mut parts = flow_parts(own, kept, engine);
            if kept.source == ReadingSource::Captured {
                magnitudes(&mut parts);
            }
            plates::into_reading(view, engine, kept.id, &mut parts);
            ReadingValue::Flow(Box::new(parts))
        }
        _ => ReadingValue::One(own),
    };
    let zero = kept.gauge.as_deref().and_then(|gauge| {
        let zeros = &view.gauge(gauge)?.zeros;
        zeros
            .iter()
            .rev()
            .find(|zero| zero.seq < kept.id)
            .map(|zero| format!("zero {}", zero.seq))
    });
    Ok(Reading {
        id: kept.id.to_string(),
        spot,
        value,
        u: kept.u,
        dof: number(kept, DOF),
        gauge: kept.gauge.clone(),
        step: step_of(kept),
        zero,
        stage: kept.stage.clone(),
        note: kept.marked.as_deref().map(benchhand_words::local_times),
        conditions: surroundings::of(view, kept),
    })
}

/// A number that a reading carries under a label.
fn number(kept: &KeptReading, label: &str) -> Option<f64> {
    kept.labels.get(label)?.parse().ok()
}

/// The step of a captured value, or one of the last digit that was typed: a number that a person
/// typed without a width is known to half of it.
fn step_of(kept: &KeptReading) -> Option<f64> {
    let typed = || Some(10f64.powi(-kept.labels.get(DECIMALS)?.parse().ok()?));
    number(kept, STEP).or_else(typed)
}

fn flow_parts(own: Quantity, kept: &KeptReading, engine: &Engine) -> FlowParts {
    let part = |role: &str| {
        let part = kept.parts.iter().find(|p| p.role == role)?;
        let unit = part.unit.parse().ok()?;
        let second = part.gauge.as_deref().map(|gauge| channel_gauge(gauge, 1));
        let second = second.filter(|name| role == METERING && engine.gauges.contains_key(name));
        let (u, gauge) = (part.u, second.or_else(|| part.gauge.clone()));
        Some(MeasuredValue {
            u,
            gauge,
            window_u: part.se,
            ..MeasuredValue::from(Quantity {
                value: part.value,
                unit,
            })
        })
    };
    FlowParts {
        test: Some(MeasuredValue {
            u: kept.u,
            gauge: kept.gauge.clone(),
            step: step_of(kept),
            ..MeasuredValue::from(own)
        }),
        metering: part(METERING),
        flow: part("flow"),
        leak: part("leak"),
        lift: part("lift"),
        temperature: part("temperature"),
        plenum_temperature: part("plenum_temperature"),
        orifice: kept.labels.get("orifice").cloned(),
        direction: None,
    }
}

/// A manometer shows a depression as a negative value where its hoses are exchanged; only the size
/// counts. A value that a person wrote stays as it is, so that a slip is refused.
fn magnitudes(parts: &mut FlowParts) {
    for measured in [&mut parts.test, &mut parts.metering].into_iter().flatten() {
        measured.value = measured.value.abs();
    }
}

/// What the blueprint needs to know of one stage of a job.
pub(crate) struct Asked {
    pub(crate) engine: Arc<Engine>,
    readings: Vec<Reading>,
    pub(crate) stage: String,
}

impl Asked {
    /// For a stage; for the present one where none is named. After a cut the parts are other parts,
    /// even before anything of them is measured.
    pub(crate) fn new(view: &JobView, stage: Option<&str>) -> Result<Asked, Refusal> {
        Asked::of(engine(view)?, view, stage)
    }

    /// The same with the engine of the view as it is told.
    pub(crate) fn of(
        engine: Arc<Engine>,
        view: &JobView,
        stage: Option<&str>,
    ) -> Result<Asked, Refusal> {
        let readings = readings(view, &engine)?;
        Ok(Asked {
            engine,
            readings,
            stage: stage.unwrap_or(view.stage()).to_owned(),
        })
    }

    /// The same without those readings of a family that `wanted` does not name by their numbers.
    pub(crate) fn with_only(&self, family: SpotFamily, wanted: impl Fn(u64) -> bool) -> Asked {
        let stays =
            |one: &&Reading| one.spot.family() != family || one.id.parse().is_ok_and(&wanted);
        Asked {
            engine: Arc::clone(&self.engine),
            readings: self.readings.iter().filter(stays).cloned().collect(),
            stage: self.stage.clone(),
        }
    }

    /// The numbers of the readings on which the stage's figures rest; none where there is no such
    /// stage.
    pub(crate) fn holding(&self) -> BTreeSet<u64> {
        let ids = benchhand_blueprint::report::holding(&self.inputs()).unwrap_or_default();
        ids.iter().filter_map(|id| id.parse().ok()).collect()
    }

    /// The same in the form that the blueprint takes.
    pub(crate) fn inputs(&self) -> ReportInputs<'_> {
        ReportInputs {
            engine: &self.engine,
            readings: &self.readings,
            stages: &self.engine.stages,
            stage: Some(&self.stage),
        }
    }
}

/// A row of a CSV as the journal keeps it; `None` for a flow without its test pressure. Where the
/// file names no stages, the row belongs to the job's present stage.
pub(crate) fn imported(reading: &Reading, stages_named: bool) -> Option<fact::Reading> {
    let parts_of = |flow: &FlowParts| {
        let named = [
            (METERING, &flow.metering),
            ("flow", &flow.flow),
            ("leak", &flow.leak),
            ("lift", &flow.lift),
            ("temperature", &flow.temperature),
            ("plenum_temperature", &flow.plenum_temperature),
        ];
        let given = named
            .into_iter()
            .filter_map(|(role, m)| m.as_ref().map(|m| part(role, m)));
        given.collect::<Vec<_>>()
    };
    let (own, parts) = match &reading.value {
        ReadingValue::One(quantity) => (MeasuredValue::from(*quantity), Vec::new()),
        ReadingValue::Flow(flow) => (flow.test.clone()?, parts_of(flow)),
    };
    let unit = own.unit.symbol();
    let mut row = fact::Reading::new(
        reading.spot.to_string(),
        own.value,
        unit,
        ReadingSource::Imported,
    );
    row.u = reading.u.or(own.u);
    row.gauge = reading.gauge.clone().or_else(|| own.gauge.clone());
    row.stage = stages_named.then(|| reading.stage.clone());
    row.note.clone_from(&reading.note);
    row.parts = parts;
    let step = reading.step.or(own.step);
    row.labels
        .extend(step.map(|step| (STEP.to_owned(), step.to_string())));
    let dof = reading.dof.or(own.dof);
    row.labels
        .extend(dof.map(|dof| (DOF.to_owned(), dof.to_string())));
    Some(row)
}

fn part(role: &str, measured: &MeasuredValue) -> ReadingPart {
    ReadingPart {
        u: measured.u,
        gauge: measured.gauge.clone(),
        ..ReadingPart::new(role, measured.value, measured.unit.symbol())
    }
}

/// The round of the next reading at this spot of a stage.
pub(crate) fn next_round(view: &JobView, stage: &str, spot: &Spot) -> u32 {
    let there = view.count_at(stage, &spot.to_string());
    u32::try_from(there).unwrap_or(u32::MAX).saturating_add(1)
}
