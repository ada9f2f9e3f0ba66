//! Readings that a person enters, voids or moves.

mod remarks;

use std::collections::BTreeSet;

use benchhand_blueprint::known_word::meant;
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Quantity, Spot};
use benchhand_wire::{
    EnterReading, Entered, Event, MoveReading, Moved, ReadingNumber, Reason, Refusal, Typed,
    VoidReading, Voided,
};

use super::{Answers, Desk};
use crate::known::correcting::corrections;
use crate::known::expectation::{self, ExpectedAt};
use crate::known::initials::by;
use crate::known::inputs;
use crate::known::orders;
use crate::known::quantities::{bad, quantity};
use crate::known::shown;
use crate::known::slips::Written;
use crate::known::told;
use crate::known::typed::{self, ReadOff};
use crate::store::fact::{ASKED, Fact, Reading, ReadingSource};
use crate::store::gauges::RegisterEntry;
use crate::store::view::JobView;
use remarks::{earlier_in_doubt, rounds_differ};

impl Answers<EnterReading> for Desk {
    fn answer(&self, ask: EnterReading, key: Option<&str>) -> Result<Entered, Refusal> {
        let by = by(&self.keeper, ask.by)?;
        let (view, _) = self.keeper.view(&ask.job)?;
        let engine = told::engine(&self.keeper, &view)?;
        let spot = admitted(&engine, &ask.spot)?;
        let measures = engine.kind_of(&spot);
        let read_off = Typed {
            value: ask.value,
            levels: ask.levels,
            dial: None,
            sure: ask.sure,
        };
        let read = typed::read_off(
            &read_off,
            measures,
            engine.takes(measures, QuantityKind::Mass),
        )?;
        typed::can_be(&spot, read.value)?;
        let along = typed::along_with(&spot, read.along)?;
        let ReadOff {
            value,
            along: read_along,
            labels,
        } = read;
        let unit = value.unit.symbol();
        let shown = value.value;
        let gauge = ask.gauge.as_deref();
        let value = Quantity {
            value: shown + self.added_to_typed(gauge, 0, value, &view),
            unit: value.unit,
        };
        let mut reading = Reading::new(spot.to_string(), value.value, unit, ReadingSource::Typed);
        if value.value != shown {
            (reading.raw, reading.raw_unit) = (Some(shown), Some(unit.to_owned()));
        }
        if let Some(text) = &ask.u {
            let u = quantity(text, value.unit.kind())?
                .to(value.unit)
                .map_err(bad)?;
            if u.is_nan() || u < 0.0 {
                return Err(Refusal::new(
                    Reason::BadInput,
                    format!("u = {text} is negative"),
                ));
            }
            reading.u = Some(u);
        }
        if let (Some(mut part), Some(along)) = (along, read_along) {
            let added = self.added_to_typed(gauge, 1, along, &view);
            if added != 0.0 {
                (part.raw, part.raw_unit) = (Some(part.value), Some(part.unit.clone()));
                part.value += added;
            }
            part.gauge = ask.gauge.clone();
            reading.parts.push(part);
        }
        reading.stage = stage_meant(&view, ask.stage)?;
        let unknown = self.unknown_gauges(&engine, gauge)?;
        reading.gauge = ask.gauge;
        reading.by = by;
        reading.labels.extend(labels);
        let gauges: Vec<String> = reading.gauge.iter().cloned().collect();
        let gauges = gauges.iter().map(String::as_str);
        let ack = self.keep_with_gauges(&ask.job, gauges, key, |job| {
            let (view, mut reading) = (job.view(), reading.clone());
            match key.and_then(|key| job.kept_under(key)) {
                // A repeated request must give the same fact as before.
                Some(id) => reading.round = view.reading(id).and_then(|kept| kept.round),
                None => {
                    let stage = reading.stage.clone();
                    let stage = stage.as_deref().unwrap_or(view.stage());
                    let round = inputs::next_round(view, stage, &spot);
                    reading.round = Some(round);
                    let at = ExpectedAt {
                        stage,
                        spot: &spot,
                        round,
                        kind: value.unit.kind(),
                    };
                    let written = Written::of(reading.value, reading.raw, &reading.labels);
                    let typed = (value, &written);
                    let asked = match typed::ask_about(&engine, view, at, typed, read_off.sure)? {
                        Some(asked) => Some(asked),
                        None => {
                            let odd =
                                expectation::row_doubt(&engine, view, (&spot, round), &reading);
                            typed::unless_sure(odd, read_off.sure)?
                        }
                    };
                    let asked = asked.map(|asked| (ASKED.to_owned(), asked));
                    reading.labels.extend(asked);
                }
            }
            Ok(Fact::Final(reading))
        })?;
        let (view, _) = self.keeper.view(&ask.job)?;
        self.announce_readings(&ask.job, &view, [ack.seq]);
        let kept = view.reading(ack.seq);
        let stage = kept.map_or_else(|| view.stage(), |kept| kept.stage.as_str());
        Ok(Entered {
            id: ack.seq,
            number: kept.map_or(0, |kept| kept.number),
            station: kept.map_or(String::new(), |kept| kept.station.to_string()),
            spot: spot.to_string(),
            value: value.value,
            unit: unit.to_owned(),
            told: kept.and_then(|kept| told::reading(Some(&engine), kept).told),
            stage: stage.to_owned(),
            remark: [
                kept.and_then(shown::corrected)
                    .map_or(String::new(), |how| format!("It was {how}.")),
                match stage == view.stage() {
                    true => rounds_differ(&engine, &view, &spot),
                    false => String::new(),
                },
                earlier_in_doubt(&engine, &view, &spot),
                unknown,
                orders::beside_the_old(&view, &spot, stage, ack.seq),
            ]
            .into_iter()
            .filter(|text| !text.is_empty())
            .collect::<Vec<_>>()
            .join(" "),
        })
    }
}

/// The stage that a person named, where it is none other than the present one.
///
/// # Errors
/// Where the job has no stage of that name.
fn stage_meant(view: &JobView, said: Option<String>) -> Result<Option<String>, Refusal> {
    let Some(said) = said.filter(|said| said != view.stage()) else {
        return Ok(None);
    };
    let names: Vec<&str> = view
        .stages()
        .iter()
        .map(|stage| stage.name.as_str())
        .collect();
    if names.contains(&said.as_str()) {
        return Ok(Some(said));
    }
    let found = format!("job {} has no stage {said:?}", view.name());
    Err(Refusal::new(Reason::NotFound, found).expected(format!("one of {}", names.join(", "))))
}

impl Desk {
    /// The correction of a gauge's last check for a value that a person read off the gauge and
    /// typed. A typed length is the figure itself, since the gauge's check counted from a zero: no
    /// correction.
    fn added_to_typed(
        &self,
        gauge: Option<&str>,
        channel: usize,
        typed: Quantity,
        view: &JobView,
    ) -> f64 {
        let kind = typed.unit.kind();
        let known = gauge.and_then(|name| self.shop.gauge(name).ok());
        let Some(known) = known else {
            return 0.0;
        };
        let entry: Option<RegisterEntry> = toml::from_str(&known.text).ok();
        let correction = entry.and_then(|entry| {
            let all = corrections(&entry, &known.setup.name, view);
            all.get(channel).copied().flatten()
        });
        match correction {
            Some(correction) if kind != QuantityKind::Length => {
                correction.at(typed.value, typed.unit, kind == QuantityKind::Volume)
            }
            _ => 0.0,
        }
    }
}

impl Desk {
    /// What is said of gauges that neither the register nor the engine file knows; empty where all
    /// are known. Each name is told once.
    pub(super) fn unknown_gauges<'a>(
        &self,
        engine: &Engine,
        named: impl IntoIterator<Item = &'a str>,
    ) -> Result<String, Refusal> {
        let named: BTreeSet<&str> = named.into_iter().collect();
        let unknown: Vec<&str> = named
            .into_iter()
            .filter(|name| !engine.gauges.contains_key(*name) && self.shop.gauge(name).is_err())
            .collect();
        if unknown.is_empty() {
            return Ok(String::new());
        }
        let mut known: Vec<String> = engine.gauges.keys().cloned().collect();
        let (registered, _) = self.shop.gauges()?;
        known.extend(registered.into_iter().map(|gauge| gauge.setup.name));
        let of = |name: &&str| {
            let near = meant(name, known.iter().map(String::as_str));
            match near.err().flatten() {
                Some(near) => format!("No gauge is called {name}; is {near} meant?"),
                None => format!("No gauge is called {name}."),
            }
        };
        let mut said: Vec<String> = unknown.iter().map(of).collect();
        said.push(
            "Its errors are not known: set it up with `benchhand gauge set`, or void and enter anew."
                .to_owned(),
        );
        Ok(said.join(" "))
    }
}

impl Answers<VoidReading> for Desk {
    fn answer(&self, ask: VoidReading, key: Option<&str>) -> Result<Voided, Refusal> {
        if ask.reason.trim().is_empty() {
            return Err(Refusal::new(Reason::BadInput, "no reason was given")
                .todo("say why in a few words; the reading stays in the journal beside it"));
        }
        let (view, _) = self.keeper.view(&ask.job)?;
        let id = reading_meant(&view, ask.id, ask.number.as_ref())?;
        let fact = Fact::Voided {
            of: id,
            reason: ask.reason,
            by: by(&self.keeper, ask.by)?,
        };
        let ack = self.keeper.append(&ask.job, fact, key)?;
        self.tell_route(&ask.job, id)?;
        let (view, _) = self.keeper.view(&ask.job)?;
        self.announce_readings(&ask.job, &view, [id]);
        let (spot, stage) = view
            .reading(id)
            .map(|r| (r.spot.clone(), r.stage.clone()))
            .unwrap_or_default();
        let left = view.count_at(&stage, &spot);
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
        let engine = told::engine(&self.keeper, &view)?;
        let to = admitted(&engine, &ask.to)?;
        let id = reading_meant(&view, ask.id, ask.number.as_ref())?;
        let Some(reading) = view.reading(id) else {
            return Err(no_reading(&view, &id.to_string()));
        };
        let from = reading.spot.clone();
        if engine.kind_of(&admitted(&engine, &from)?) != engine.kind_of(&to) {
            return Err(Refusal::new(
                Reason::BadInput,
                format!("{from} and {to} are different quantities"),
            )
            .todo("void the reading and enter it again at the spot where it belongs"));
        }
        let before = self
            .keeper
            .with_job(&ask.job, |job| Ok(key.and_then(|key| job.kept_under(key))))?;
        // A repeated request must give the same fact as before.
        let moved = reading.moves.iter().find(|moved| Some(moved.seq) == before);
        let from = moved.map_or(from, |moved| moved.from.clone());
        let fact = Fact::Moved {
            of: id,
            from: from.clone(),
            to: to.to_string(),
            reason: ask.reason,
            by: by(&self.keeper, ask.by)?,
        };
        let ack = self.keeper.append(&ask.job, fact, key)?;
        self.tell_route(&ask.job, id)?;
        let (view, _) = self.keeper.view(&ask.job)?;
        self.announce_readings(&ask.job, &view, [id]);
        Ok(Moved {
            id: ack.seq,
            from,
            to: to.to_string(),
        })
    }
}

impl Desk {
    /// Tells a route that runs on the job that a reading was moved or voided.
    fn tell_route(&self, job: &str, id: u64) -> Result<(), Refusal> {
        let Some(station) = &self.station else {
            return Ok(());
        };
        let job = job.to_owned();
        station.with(move |station| station.reading_changed(&job, id))
    }

    /// Announces readings that came or have changed, told in the units of the job's engine.
    pub(super) fn announce_readings(
        &self,
        job: &str,
        view: &JobView,
        ids: impl IntoIterator<Item = u64>,
    ) {
        let engine = told::engine(&self.keeper, view).ok();
        for kept in ids.into_iter().filter_map(|id| view.reading(id)) {
            self.hub.announce(Event::Reading {
                job: job.to_owned(),
                reading: told::reading(engine.as_deref(), kept),
            });
        }
    }
}

/// The entry of the reading that a request means, by that entry or by the number for people.
///
/// # Errors
/// Where neither or both are given, or no reading has the number.
pub(super) fn reading_meant(
    view: &JobView,
    id: Option<u64>,
    number: Option<&ReadingNumber>,
) -> Result<u64, Refusal> {
    match (id, number) {
        (Some(id), None) => Ok(id),
        (None, Some(number)) => {
            let said = number.said();
            if let (true, Ok(plain)) = (view.several_measure(), said.parse()) {
                return Err(of_which_station(view, plain));
            }
            let found = view.said(&said).map(|reading| reading.id);
            found.ok_or_else(|| no_reading(view, &said))
        }
        _ => Err(bad("expected either the entry of a reading or its number")),
    }
}

/// Why a number without a station is not taken where several measure.
fn of_which_station(view: &JobView, number: u64) -> Refusal {
    let stations = view.parts().map(|part| part.label());
    let stations = stations.filter(|label| !label.is_empty());
    let all = stations.map(|station| benchhand_wire::said_number(station, number));
    let found = format!("several stations measure job {}", view.name());
    let todo = format!("say whose reading: {}", all.collect::<Vec<_>>().join(", "));
    Refusal::new(Reason::BadInput, found).todo(todo)
}

fn no_reading(view: &JobView, number: &str) -> Refusal {
    let found = format!("job {} has no reading {number}", view.name());
    Refusal::new(Reason::NotFound, found).todo("`job show` lists the readings with their numbers")
}

/// A spot of this engine, as a person types it.
pub(super) fn admitted(engine: &Engine, text: &str) -> Result<Spot, Refusal> {
    let spot = engine.typed_spot(text).map_err(bad)?;
    engine.admit(&spot).map_err(bad)?;
    Ok(spot)
}
