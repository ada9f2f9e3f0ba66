//! A measured value told in another unit than its gauge's.

use benchhand_blueprint::Unit;

use super::decimals_of;

/// A value with its unit and the smallest step worth showing, told in the unit `wanted`; as it is
/// where no unit is wanted, or one of another kind. The step becomes the decimals that the page shows of
/// a live value: never coarser than the gauge by more than its half, seldom finer. A difference of two
/// values is told by [`difference_in_unit`].
pub fn in_unit(
    value: f64,
    unit: &str,
    step: Option<f64>,
    wanted: Option<Unit>,
) -> (f64, &str, Option<f64>) {
    match apart(unit, wanted) {
        Some((from, wanted)) => {
            let step = step.map(|step| step_in(step, by(from, wanted)));
            (wanted.from_base(from.to_base(value)), wanted.symbol(), step)
        }
        None => (value, unit, step),
    }
}

/// The same of a difference of two values. A unit that counts from another zero, as degF does, leaves a
/// difference alone.
pub fn difference_in_unit(
    difference: f64,
    unit: &str,
    step: Option<f64>,
    wanted: Option<Unit>,
) -> (f64, &str, Option<f64>) {
    match apart(unit, wanted) {
        Some((from, wanted)) => {
            let by = by(from, wanted);
            let step = step.map(|step| step_in(step, by));
            (by * difference, wanted.symbol(), step)
        }
        None => (difference, unit, step),
    }
}

/// A unit and the one that is wanted, where they differ and are of one kind.
fn apart(unit: &str, wanted: Option<Unit>) -> Option<(Unit, Unit)> {
    let (from, wanted) = (unit.parse::<Unit>().ok()?, wanted?);
    (from != wanted && from.kind() == wanted.kind()).then_some((from, wanted))
}

/// How many of the wanted unit a difference of one is.
fn by(from: Unit, wanted: Unit) -> f64 {
    wanted.difference_from_base(from.difference_to_base(1.0))
}

/// A step after its unit became one that is `by` times as many.
fn step_in(step: f64, by: f64) -> f64 {
    let decimals = (decimals_of(step) as f64 - by.log10() - 0.3).ceil();
    10f64.powi(-(decimals.clamp(0.0, 6.0) as i32))
}

#[cfg(test)]
mod tests {
    use super::super::number;
    use super::*;

    #[test]
    fn a_value_keeps_as_many_digits_as_its_gauge_gives() {
        let told = |value, unit, step, wanted| {
            let (value, unit, step) = in_unit(value, unit, Some(step), Some(wanted));
            format!("{} {unit}", number(value, step))
        };
        assert_eq!(told(0.216, "mm", 0.001, Unit::Inch), "0.00850 in");
        assert_eq!(told(0.22, "mm", 0.01, Unit::Inch), "0.0087 in");
        assert_eq!(told(0.0085, "in", 0.0005, Unit::Millimetre), "0.216 mm");
        assert_eq!(told(6974.0, "Pa", 1.0, Unit::InchWater), "27.998 inH2O");
        assert_eq!(
            told(6974.0, "Pa", 1.0, Unit::MillimetreWater),
            "711.2 mmH2O"
        );
        // Of another kind, in its own unit.
        assert_eq!(told(64.2, "g", 0.01, Unit::CubicCentimetre), "64.20 g");
        assert_eq!(told(64.2, "cc", 0.01, Unit::CubicCentimetre), "64.20 cc");
    }

    #[test]
    fn a_difference_of_degrees_knows_no_zero() {
        let (over, unit, _) = difference_in_unit(2.0, "degC", None, Some(Unit::Fahrenheit));
        assert!((over - 3.6).abs() < 1e-9 && unit == "degF", "{over} {unit}");
        let (thou, unit, step) = difference_in_unit(0.216, "mm", Some(0.001), Some(Unit::Inch));
        assert_eq!(format!("{} {unit}", number(thou, step)), "0.00850 in");
    }

    #[test]
    fn a_value_without_a_step_or_a_wanted_unit_stays() {
        assert_eq!(
            in_unit(1.0, "in", None, Some(Unit::Millimetre)),
            (25.4, "mm", None)
        );
        assert_eq!(in_unit(1.0, "in", Some(0.1), None), (1.0, "in", Some(0.1)));
    }
}
