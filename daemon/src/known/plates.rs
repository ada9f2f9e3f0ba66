//! What the checks of a flow bench mean for its readings: the orifice as a plate calibrated it, and
//! the leak that is subtracted.
//!
//! A check holds for readings after it, until the next check.

use benchhand_blueprint::check::{AIR_AT_ORIFICE, MeasuredLeak, leak_at};
use benchhand_blueprint::engine::{OrificeEntry, OrificeKnown, StatedValue};
use benchhand_blueprint::readings::{FlowParts, MeasuredValue};
use benchhand_blueprint::{Engine, Quantity, Unit};

use crate::store::checked::{CheckedLeak, CheckedPlate};
use crate::store::fact::ReadingId;
use crate::store::view::{JobView, Stamped, StationPart};

/// The name of an orifice in the engine after its check by a plate.
fn checked_name(plate: &Stamped<CheckedPlate>) -> String {
    format!("{} (plate, check {})", plate.what.orifice, plate.seq)
}

/// The orifice as the plate calibrated it. The plate's flow is taken to hold in the same air as
/// before: the air of the orifice's calibration, or, for an orifice stated by its diameter, the air
/// for which the bench states all orifices.
fn calibrated(plate: &CheckedPlate, before: Option<&OrificeKnown>) -> Option<OrificeKnown> {
    let air = match before? {
        OrificeKnown::Calibrated { air, .. } => *air,
        OrificeKnown::Diameter { .. } => stated(AIR_AT_ORIFICE, Unit::KilogramPerCubicMetre, None),
    };
    Some(OrificeKnown::Calibrated {
        flow: stated(plate.flow, plate.unit.parse().ok()?, plate.u)?,
        at: stated(plate.pressure, plate.pressure_unit.parse().ok()?, None)?,
        air,
    })
}

fn stated(value: f64, unit: Unit, u: Option<f64>) -> Option<StatedValue> {
    let stated = StatedValue::new(Quantity { value, unit }, unit.kind()).ok()?;
    match u {
        Some(value) => stated.with_u(Quantity { value, unit }).ok(),
        None => Some(stated),
    }
}

/// Puts every checked orifice into the engine, each under a name of its own.
pub(crate) fn into_engine(view: &JobView, engine: &mut Engine) {
    for plate in view.parts().flat_map(StationPart::plates) {
        let before = engine.flow.orifices.get(&plate.what.orifice);
        if let Some(known) = calibrated(&plate.what, before.map(|o| &o.known)) {
            let orifice = OrificeEntry {
                known,
                plate: Some(plate.seq.to_string()),
            };
            engine.flow.orifices.insert(checked_name(plate), orifice);
        }
    }
}

/// What is known of an orifice now: from its last plate, or from the engine file.
pub(crate) fn known_now<'a>(
    view: &JobView,
    engine: &'a Engine,
    orifice: &str,
) -> Option<&'a OrificeKnown> {
    let checked = last_plate(view, orifice, ReadingId::MAX).map(checked_name);
    let name = checked.as_deref().unwrap_or(orifice);
    engine.flow.orifices.get(name).map(|orifice| &orifice.known)
}

/// The last check of an orifice before this reading, at the reading's station.
pub(crate) fn last_plate<'a>(
    view: &'a JobView,
    orifice: &str,
    before: ReadingId,
) -> Option<&'a Stamped<CheckedPlate>> {
    let of_it =
        |plate: &&Stamped<CheckedPlate>| plate.what.orifice == orifice && plate.seq < before;
    view.part_of(before).plates().iter().rfind(of_it)
}

/// The last leak check before this reading, at the reading's station.
pub(crate) fn last_leak(view: &JobView, before: ReadingId) -> Option<&Stamped<CheckedLeak>> {
    view.part_of(before)
        .leaks()
        .iter()
        .rfind(|leak| leak.seq < before)
}

/// Gives a flow reading the orifice and the leak that held when it was taken.
pub(crate) fn into_reading(view: &JobView, engine: &Engine, id: ReadingId, parts: &mut FlowParts) {
    let orifice = parts.orifice.as_ref().or(engine.flow.orifice.as_ref());
    if let Some(plate) = orifice.and_then(|name| last_plate(view, name, id)) {
        parts.orifice = Some(checked_name(plate));
    }
    if parts.leak.is_none()
        && let (Some(leak), Some(test)) = (last_leak(view, id), &parts.test)
    {
        let shared = Some(leak.seq.to_string());
        parts.leak = leak_of(&leak.what, test).map(|leak| MeasuredValue { shared, ..leak });
    }
}

/// The leak at a reading's test pressure.
pub(crate) fn leak_of(leak: &CheckedLeak, test: &MeasuredValue) -> Option<MeasuredValue> {
    let at_unit: Unit = leak.pressure_unit.parse().ok()?;
    let unit: Unit = leak.unit.parse().ok()?;
    let known = MeasuredLeak {
        flow: leak.flow,
        u: leak.u,
        at: leak.pressure,
    };
    let test = Quantity {
        value: test.value,
        unit: test.unit,
    };
    let (value, u) = leak_at(&known, test.to(at_unit).ok()?);
    Some(MeasuredValue {
        u,
        ..MeasuredValue::from(Quantity { value, unit })
    })
}
