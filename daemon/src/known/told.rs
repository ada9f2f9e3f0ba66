//! In which units a person is told what a job measured: as its engine file says; where that says
//! nothing of pressures and flow, as the shop's text says.

use std::sync::Arc;

use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Spot, Unit};
use benchhand_wire::{Figure, Refusal, ShownReading};
use benchhand_words::digits::{rounded, usual_decimals};
use benchhand_words::spoken::in_unit;

use super::inputs::{self, Asked};
use super::keeper::Keeper;
use super::shop_name::{self, ShopUsual};
use super::{shown as as_kept, words};
use crate::store::view::{JobView, KeptReading};

/// The engine of a job as it was last loaded, in the units in which it is told.
///
/// # Errors
/// Where the engine file cannot be used.
pub(crate) fn engine(keeper: &Keeper, view: &JobView) -> Result<Arc<Engine>, Refusal> {
    let engine = inputs::engine(view)?;
    Ok(in_shop_units(engine, || shop_name::usual(keeper)))
}

/// What the blueprint needs to know of one stage of a job, in those units; as [`Asked::of`].
///
/// # Errors
/// As [`Asked::of`].
pub(crate) fn asked(
    keeper: &Keeper,
    view: &JobView,
    stage: Option<&str>,
) -> Result<Asked, Refusal> {
    Asked::of(engine(keeper, view)?, view, stage)
}

/// The shop is asked only where the engine file leaves something open.
fn in_shop_units(mut engine: Arc<Engine>, shop: impl FnOnce() -> ShopUsual) -> Arc<Engine> {
    let stated = &engine.flow;
    if stated.pressure_unit.is_some() && stated.flow_unit.is_some() {
        return engine;
    }
    let usual = shop();
    let pressure = stated.pressure_unit.or(usual.pressure_unit);
    let flow = stated.flow_unit.or(usual.flow_unit);
    if (pressure, flow) != (stated.pressure_unit, stated.flow_unit) {
        let told = &mut Arc::make_mut(&mut engine).flow;
        (told.pressure_unit, told.flow_unit) = (pressure, flow);
    }
    engine
}

/// The unit in which a person reads and types a value of a spot; `None` for a plain number.
pub(crate) fn unit_of(engine: &Engine, spot: &Spot) -> Option<Unit> {
    if let Some(free) = spot.free_name().and_then(|name| engine.free.get(name)) {
        return Some(free.unit);
    }
    unit(engine, engine.kind_of(spot))
}

/// The unit in which a person reads a value of a kind.
fn unit(engine: &Engine, kind: QuantityKind) -> Option<Unit> {
    match kind {
        QuantityKind::Length => Some(engine.units.length()),
        QuantityKind::Pressure => Some(engine.pressure_unit()),
        QuantityKind::Flow => Some(engine.flow_unit()),
        QuantityKind::Volume => Some(Unit::CubicCentimetre),
        QuantityKind::Mass => Some(Unit::Gram),
        _ => None,
    }
}

/// The symbol of [`unit_of`]; empty for a plain number.
pub(crate) fn symbol_of(engine: &Engine, spot: &Spot) -> &'static str {
    unit_of(engine, spot).map_or("", Unit::symbol)
}

/// A kept reading's value as a person is told it: "64.21 cc"; in the unit it is kept in where the engine
/// cannot be used.
pub(crate) fn shown(engine: Option<&Engine>, kept: &KeptReading) -> String {
    let told = engine.zip(kept.spot.parse().ok());
    words::shown_in(kept, told.and_then(|(engine, spot)| unit_of(engine, &spot)))
}

/// A reading as it is shown, told in the units of the engine, where that can be used.
pub(crate) fn reading(engine: Option<&Engine>, kept: &KeptReading) -> ShownReading {
    let shown = as_kept::reading(kept);
    let Some(engine) = engine else { return shown };
    let step = words::step_of(&kept.labels);
    let spot = kept.spot.parse().ok();
    let wanted = spot.and_then(|spot| unit_of(engine, &spot));
    let (_, _, digits) = in_unit(shown.figure.value, &shown.figure.unit, step, wanted);
    let mut told = in_one(shown.figure.clone(), wanted);
    if let (Some(figure), Some(step)) = (&mut told, digits) {
        figure.value = (figure.value / step).round() * step;
    }
    let parts = || {
        let parts = shown.parts.iter();
        parts
            .map(|(role, part)| (role.clone(), part_told(engine, part)))
            .collect::<Vec<_>>()
    };
    let told_parts = Some(parts()).filter(|told| *told != shown.parts);
    ShownReading {
        told,
        told_parts: told_parts.unwrap_or_default(),
        ..shown
    }
}

/// A further part of a reading, to the digits that are usual for its unit where it is told in another
/// one than it was taken in.
fn part_told(engine: &Engine, part: &Figure) -> Figure {
    let told = figure(engine, part.clone());
    let decimals = usual_decimals(&told.unit);
    match told.unit == part.unit {
        true => told,
        false => Figure {
            value: rounded(told.value, decimals).parse().unwrap_or(told.value),
            ..told
        },
    }
}

/// A pressure, a flow or another figure that was measured, in the unit of its kind.
pub(crate) fn figure(engine: &Engine, figure: Figure) -> Figure {
    let from = figure.unit.parse::<Unit>().ok();
    let wanted = from.and_then(|from| unit(engine, from.kind()));
    in_one(figure.clone(), wanted).unwrap_or(figure)
}

/// A figure in another unit of its kind; `None` where it is in that unit, or none is wanted.
fn in_one(figure: Figure, wanted: Option<Unit>) -> Option<Figure> {
    let (from, wanted) = (figure.unit.parse::<Unit>().ok()?, wanted?);
    (from != wanted && from.kind() == wanted.kind()).then(|| Figure {
        value: wanted.from_base(from.to_base(figure.value)),
        u: figure
            .u
            .map(|u| wanted.difference_from_base(from.difference_to_base(u))),
        unit: wanted.symbol().to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn engine(text: &str) -> Arc<Engine> {
        let text = format!("name = \"Invented\"\nunits = \"metric\"\ncylinders = 4\n{text}");
        Arc::new(Engine::from_toml(&text).expect("an engine file"))
    }

    fn shop() -> ShopUsual {
        ShopUsual {
            pressure_unit: Some(Unit::InchWater),
            flow_unit: Some(Unit::CubicFootPerMinute),
            ..ShopUsual::default()
        }
    }

    #[test]
    fn the_shop_says_the_units_of_pressure_and_flow_where_the_engine_file_says_none() {
        let told = in_shop_units(engine(""), shop);
        let units = (told.pressure_unit(), told.flow_unit());
        assert_eq!(units, (Unit::InchWater, Unit::CubicFootPerMinute));
        let own = "[flow]\npressure_unit = \"hPa\"\n";
        let told = in_shop_units(engine(own), shop);
        let units = (told.pressure_unit(), told.flow_unit());
        assert_eq!(units, (Unit::Hectopascal, Unit::CubicFootPerMinute));
        // A shop that says nothing leaves what goes with the engine's lengths.
        let told = in_shop_units(engine(""), ShopUsual::default);
        let units = (told.pressure_unit(), told.flow_unit());
        assert_eq!(units, (Unit::MillimetreWater, Unit::LitrePerMinute));
    }

    #[test]
    fn a_pressure_of_a_gauge_in_pascal_is_told_with_its_width_in_the_shops_unit() {
        let told = in_shop_units(engine(""), shop);
        let shown = figure(
            &told,
            Figure {
                value: 6_974.489_48,
                u: Some(24.908_891),
                unit: "Pa".to_owned(),
            },
        );
        assert_eq!(shown.unit, "inH2O");
        assert!((shown.value - 28.0).abs() < 1e-6, "{shown:?}");
        assert!(
            (shown.u.unwrap_or_default() - 0.1).abs() < 1e-6,
            "{shown:?}"
        );
    }
}
