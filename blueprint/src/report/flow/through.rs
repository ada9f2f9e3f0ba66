//! The air that passes the port: by the metering orifice, wherever it stands, or by a flow that the
//! bench shows itself.
//!
//! Air from the blower is warmer than the room. Only a thermometer tells how much. Sources:
//! `docs/formulas.md`, section 10, items 3, 4 and 7.

use super::near_zero::is_near_zero;
use super::parts::Means;
use crate::engine::{FlowBenchEntry, ShownAir, assumed};
use crate::figure::{ErrorSource, Estimate, Scalar, SourceId};
use crate::formula::flow::{
    AirBeforeOrifice, FlowBenchReading, PortFlow, RoomAir, chain, chain_of_mass, density_at,
    plenum_pressure,
};
use crate::readings::FlowDirection;
use crate::units::Unit;

/// The flow of the port, or what is needed to calculate it. Both are `None` where the
/// room's air, the orifice or a pressure is not known.
pub(super) struct Through {
    pub(super) chain: Option<PortFlow<Estimate>>,
    /// A sentence: what is needed, or what was assumed because nobody said it.
    pub(super) needs: Option<String>,
}

impl Through {
    fn needs(words: &str) -> Through {
        Through {
            chain: None,
            needs: Some(words.to_owned()),
        }
    }

    const NOTHING: Through = Through {
        chain: None,
        needs: None,
    };
}

const ORIFICE_BEFORE_PORT: &str = "With orifice_before = \"room\" the air that goes into the bench would pass the orifice before the port, and the pressure before the port is then neither the room's nor measured: nothing is calculated through the air's density. Say \"plenum\" where the orifice stands between plenum and blower, \"blower\" where the blower blows through it into the room.";

const NO_PLACE: &str = "Where the air before the metering orifice comes from is not said: nothing is calculated through the air's density. State orifice_before under [flow]: \"plenum\", \"blower\" or \"room\".";

const NO_SHOWN_AIR: &str = "The bench shows its flow itself, and in which air it counts is not said: nothing is calculated through the air's density. State flow_air under [flow]: \"room\", \"plenum\", or the density of its standard air, such as \"1.2041 kg/m3\".";

const WARM_ORIFICE: &str = "The blower warms the air before the metering orifice, and its temperature there is not measured: the room's is taken, and how far that is off is not known. Measure the `temperature` before the orifice.";

const WARM_PLENUM: &str = "The blower warms the air before the port, and its temperature in the plenum is not measured: the room's is taken, and how far that is off is not known. Measure the `plenum_temperature`.";

/// The flow of a port through the whole chain.
pub(super) fn air_through(
    flow: &FlowBenchEntry,
    room: Option<RoomAir<Estimate>>,
    means: &Means,
    orifice_area: Option<Estimate>,
    direction: FlowDirection,
) -> Through {
    let test = means.test.clone().filter(|test| test.value() > 0.0);
    let (Some(room), Some(test)) = (room, test) else {
        return Through::NOTHING;
    };
    let place = match direction {
        FlowDirection::In => flow.orifice_before,
        FlowDirection::Out => flow.orifice_before_out.or(flow.orifice_before),
    };
    let found = match (orifice_area, &means.metering, place, &means.flow) {
        (Some(area), Some(metering), Some(before), _) if !is_near_zero(metering) => {
            by_orifice(&room, (&test, metering), means, &area, (direction, before))
        }
        (Some(_), Some(_), None, None) => Through::needs(NO_PLACE),
        (_, _, _, Some(shown)) => by_itself(flow, &room, &test, means, shown, direction),
        _ => return Through::NOTHING,
    };
    Through {
        chain: found.chain.filter(|chain| chain.mass.value() > 0.0),
        needs: found.needs,
    }
}

/// The leak of the bench, m³/s of the air in which its flow is counted.
fn leak(means: &Means) -> Estimate {
    let leak = means.leak.clone().unwrap_or_else(|| Estimate::exact(0.0));
    per_second(&leak)
}

fn per_second(flow: &Estimate) -> Estimate {
    flow.scale(1.0 / Unit::CubicMetrePerSecond.factor())
}

/// The room's temperature where the blower warms the air, by what nobody measured.
fn warmed(room: Estimate) -> Estimate {
    let id = SourceId::condition("temperature behind the blower");
    room.with(ErrorSource::lacking(id, assumed::BEHIND_BLOWER), 1.0)
}

fn by_orifice(
    room: &RoomAir<Estimate>,
    (test, metering): (&Estimate, &Estimate),
    means: &Means,
    area: &Estimate,
    (direction, before): (FlowDirection, AirBeforeOrifice),
) -> Through {
    let at_room = || room.temperature.clone();
    let warm = |words: &'static str| (warmed(at_room()), Some(words));
    let measured = |temperature: &Option<Estimate>| temperature.clone().map(|one| (one, None));
    // Air that is throttled on its way keeps its temperature; a blower warms it.
    let behind_blower = match (direction, before) {
        (FlowDirection::In, AirBeforeOrifice::Room) => return Through::needs(ORIFICE_BEFORE_PORT),
        (FlowDirection::In, AirBeforeOrifice::Plenum)
        | (FlowDirection::Out, AirBeforeOrifice::Room) => false,
        (_, AirBeforeOrifice::Blower) | (FlowDirection::Out, AirBeforeOrifice::Plenum) => true,
    };
    let (orifice_temperature, of_orifice) =
        measured(&means.temperature).unwrap_or_else(|| match behind_blower {
            true => warm(WARM_ORIFICE),
            false => (at_room(), None),
        });
    let (plenum_temperature, of_plenum) =
        measured(&means.plenum_temperature).unwrap_or_else(|| match (direction, behind_blower) {
            (FlowDirection::In, _) => (at_room(), None),
            (FlowDirection::Out, true) => (orifice_temperature.clone(), None),
            (FlowDirection::Out, false) => warm(WARM_PLENUM),
        });
    let read = FlowBenchReading {
        test: test.clone(),
        metering: metering.clone(),
        orifice_temperature,
        plenum_temperature,
        leak: leak(means),
    };
    Through {
        chain: Some(chain(room, &read, area, direction, before)),
        needs: of_orifice.or(of_plenum).map(str::to_owned),
    }
}

/// A bench that shows its flow itself, as a volume of the air that its entry names.
fn by_itself(
    flow: &FlowBenchEntry,
    room: &RoomAir<Estimate>,
    test: &Estimate,
    means: &Means,
    shown: &Estimate,
    direction: FlowDirection,
) -> Through {
    let Some(air) = &flow.flow_air else {
        return Through::needs(NO_SHOWN_AIR);
    };
    let own = means
        .plenum_temperature
        .clone()
        .or(means.temperature.clone());
    let (plenum_temperature, needs) = match (own, direction) {
        (Some(own), _) => (own, None),
        (None, FlowDirection::In) => (room.temperature.clone(), None),
        (None, FlowDirection::Out) => (
            warmed(room.temperature.clone()),
            Some(WARM_PLENUM.to_owned()),
        ),
    };
    let density = match air {
        ShownAir::Room => room.density(),
        ShownAir::Plenum => density_at(
            room,
            &plenum_pressure(room, test, direction),
            &plenum_temperature,
        ),
        ShownAir::Standard(stated) => match stated.u {
            Some(_) => stated.estimate("standard air of the bench"),
            None => Estimate::exact(stated.value),
        },
    };
    let mass = (per_second(shown) - leak(means)) * density;
    Through {
        chain: Some(chain_of_mass(
            room,
            test,
            &plenum_temperature,
            mass,
            direction,
        )),
        needs,
    }
}
