//! Readings that a person enters, imports, voids or moves.

use benchhand_blueprint::readings::from_csv;
use benchhand_blueprint::{Engine, Quantity, Spot};
use benchhand_wire::{
    EnterReading, Entered, Event, ImportReadings, Imported, MoveReading, Moved, Reason, Refusal,
    VoidReading, Voided,
};

use super::refusals::{of_csv, of_job};
use super::{Answers, Desk, inputs, shown};
use crate::store::fact::{Fact, Import, Reading, Source, content_hash};
use crate::store::view::JobView;

impl Answers<EnterReading> for Desk {
    fn answer(&self, ask: EnterReading, key: Option<&str>) -> Result<Entered, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let engine = inputs::engine(&view)?;
        let spot = admitted(&engine, &ask.spot)?;
        let measures = inputs::measures(&spot);
        let (value, labels) = match (&ask.value, ask.levels.as_slice()) {
            (Some(text), []) => (quantity(text, measures)?, None),
            (None, levels) if !levels.is_empty() => poured(levels, measures)?,
            _ => {
                return Err(Refusal::new(
                    Reason::BadInput,
                    "a value and burette levels were both given, or neither",
                )
                .expected("either a value with its unit, or levels before and after"));
            }
        };
        let unit = value.unit.symbol();
        let mut reading = Reading::new(spot.to_string(), value.value, unit, Source::Typed);
        if let Some(text) = &ask.u {
            let u = quantity(text, measures)?.to(value.unit).map_err(bad)?;
            if !(u >= 0.0) {
                return Err(Refusal::new(
                    Reason::BadInput,
                    format!("u = {text} is negative"),
                ));
            }
            reading.u = Some(u);
        }
        reading.gauge = ask.gauge;
        reading
            .labels
            .extend(labels.map(|text| ("levels".to_owned(), text)));
        self.remember_gauge(&ask.job, reading.gauge.as_deref())?;
        let ack = self.keeper.with_job(&ask.job, |job| {
            let view = job.view();
            match key.and_then(|key| job.kept_under(key)) {
                // Asked for again: it must come out as the fact that it was.
                Some(id) => reading.round = view.reading(id).and_then(|kept| kept.round),
                None => {
                    doubted(view, &spot, value, ask.sure)?;
                    reading.round = Some(inputs::next_round(view, &spot));
                }
            }
            job.append(Fact::Final(reading), key)
                .map_err(|e| of_job(&e))
        })?;
        let (view, _) = self.keeper.view(&ask.job)?;
        self.announce_reading(&ask.job, &view, ack.seq);
        let kept = view.reading(ack.seq);
        let stage = kept.map_or_else(|| view.stage(), |kept| kept.stage.as_str());
        Ok(Entered {
            id: ack.seq,
            spot: spot.to_string(),
            value: value.value,
            unit: unit.to_owned(),
            stage: stage.to_owned(),
        })
    }
}

/// Refuses a value that looks like a slip, unless the user is sure of it.
fn doubted(view: &JobView, spot: &Spot, value: Quantity, sure: bool) -> Result<(), Refusal> {
    match inputs::looks_like_a_slip(view, spot, value) {
        Some(doubt) if !sure => Err(Refusal::new(Reason::Conflict, doubt)
            .todo("look again; if it is right, enter it once more with --sure")),
        _ => Ok(()),
    }
}

impl Answers<ImportReadings> for Desk {
    fn answer(&self, ask: ImportReadings, key: Option<&str>) -> Result<Imported, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let engine = inputs::engine(&view)?;
        let read = from_csv(&ask.csv, &engine).map_err(|e| of_csv(&e, &ask.file))?;
        let header = ask
            .csv
            .lines()
            .find(|line| !line.starts_with('#'))
            .unwrap_or_default();
        let stages_named = header
            .split(',')
            .any(|name| name.trim().eq_ignore_ascii_case("stage"));
        let rows: Vec<Reading> = read
            .iter()
            .filter_map(|reading| inputs::imported(reading, stages_named))
            .collect();
        if rows.len() < read.len() {
            return Err(bad("a flow reading has no test pressure; nothing was kept"));
        }
        for gauge in rows.iter().filter_map(|row| row.gauge.as_deref()) {
            self.remember_gauge(&ask.job, Some(gauge))?;
        }
        let hash = content_hash(ask.csv.as_bytes());
        let readings = rows.len();
        let import = Import {
            file: ask.file,
            hash,
            rows,
        };
        let ack = self.keeper.append(&ask.job, Fact::Import(import), key)?;
        let (view, _) = self.keeper.view(&ask.job)?;
        for id in ack.touched {
            self.announce_reading(&ask.job, &view, id);
        }
        Ok(Imported {
            id: ack.seq,
            readings,
        })
    }
}

impl Answers<VoidReading> for Desk {
    fn answer(&self, ask: VoidReading, key: Option<&str>) -> Result<Voided, Refusal> {
        if ask.reason.trim().is_empty() {
            return Err(Refusal::new(Reason::BadInput, "no reason was given")
                .todo("say why in a few words; the reading stays in the journal beside it"));
        }
        let fact = Fact::Voided {
            of: ask.id,
            reason: ask.reason,
        };
        let ack = self.keeper.append(&ask.job, fact, key)?;
        let (view, _) = self.keeper.view(&ask.job)?;
        self.announce_reading(&ask.job, &view, ask.id);
        let (spot, stage) = view
            .reading(ask.id)
            .map(|r| (r.spot.clone(), r.stage.clone()))
            .unwrap_or_default();
        let left = view
            .at_spot(&stage, &spot)
            .filter(|r| r.state.is_live())
            .count();
        Ok(Voided {
            id: ack.seq,
            spot,
            left,
        })
    }
}

impl Answers<MoveReading> for Desk {
    fn answer(&self, ask: MoveReading, key: Option<&str>) -> Result<Moved, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let engine = inputs::engine(&view)?;
        let to = admitted(&engine, &ask.to)?;
        let Some(reading) = view.reading(ask.id) else {
            return Err(no_reading(&ask.job, ask.id));
        };
        let mut from = reading.spot.clone();
        if inputs::measures(&admitted(&engine, &from)?) != inputs::measures(&to) {
            return Err(Refusal::new(
                Reason::BadInput,
                format!("{from} and {to} are different quantities"),
            )
            .todo("void the reading and enter it again at the spot where it belongs"));
        }
        let ack = self.keeper.with_job(&ask.job, |job| {
            let before = key.and_then(|key| job.kept_under(key));
            // Asked for again: it must come out as the fact that it was.
            let moved = reading.moves.iter().find(|moved| Some(moved.seq) == before);
            if let Some(moved) = moved {
                from.clone_from(&moved.from);
            }
            let fact = Fact::Moved {
                of: ask.id,
                from: from.clone(),
                to: to.to_string(),
                reason: ask.reason,
            };
            job.append(fact, key).map_err(|e| of_job(&e))
        })?;
        let (view, _) = self.keeper.view(&ask.job)?;
        self.announce_reading(&ask.job, &view, ask.id);
        Ok(Moved {
            id: ack.seq,
            from,
            to: to.to_string(),
        })
    }
}

impl Desk {
    fn announce_reading(&self, job: &str, view: &JobView, id: u64) {
        if let Some(kept) = view.reading(id) {
            let reading = shown::reading(kept);
            self.hub.announce(Event::Reading {
                job: job.to_owned(),
                reading,
            });
        }
    }
}

fn no_reading(job: &str, id: u64) -> Refusal {
    Refusal::new(Reason::NotFound, format!("job {job} has no reading {id}"))
        .todo("`job show` lists the readings with their numbers")
}

/// A spot that this engine has.
pub(super) fn admitted(engine: &Engine, text: &str) -> Result<Spot, Refusal> {
    let spot: Spot = text.parse().map_err(bad)?;
    engine.admit(&spot).map_err(bad)?;
    Ok(spot)
}

pub(super) fn bad(error: impl std::fmt::Display) -> Refusal {
    Refusal::new(Reason::BadInput, error.to_string())
}

/// A number with a unit of the right kind.
pub(super) fn quantity(
    text: &str,
    kind: benchhand_blueprint::units::Kind,
) -> Result<Quantity, Refusal> {
    text.parse::<Quantity>()
        .and_then(|q| q.expect(kind))
        .map_err(bad)
}

/// What a burette delivered, from its levels; whichever way it counts.
fn poured(
    levels: &[benchhand_wire::Levels],
    kind: benchhand_blueprint::units::Kind,
) -> Result<(Quantity, Option<String>), Refusal> {
    let mut total: Option<Quantity> = None;
    let mut texts = Vec::new();
    for pair in levels {
        let (from, to) = (quantity(&pair.from, kind)?, quantity(&pair.to, kind)?);
        let unit = total.map_or(from.unit, |t| t.unit);
        let delivered = (to.to(unit).map_err(bad)? - from.to(unit).map_err(bad)?).abs();
        let sum = total.map_or(0.0, |t| t.value) + delivered;
        // The levels are decimals; their binary difference carries noise beyond them.
        let value = (sum * 1e9).round() / 1e9;
        total = Some(Quantity { value, unit });
        texts.push(format!("{} to {}", pair.from, pair.to));
    }
    let total = total.ok_or_else(|| bad("no burette levels were given"))?;
    Ok((total, Some(texts.join(", "))))
}
