//! Sizes in two units beside each other, so that nobody has to convert or to guess the unit.

use benchhand_blueprint::engine::StatedValue;
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Figure, Unit};
use benchhand_words::digits::{decimals_of, rounded, rounded_like_u, usual_decimals};
use benchhand_words::stated::{half_width, plain};

/// A size in both units; the first is the one in which it is stated.
pub(crate) struct TwoUnits {
    pub(crate) stated: String,
    pub(crate) also: String,
}

/// A size with its ±, in its own unit and in the other one. A length is in inch and millimetre, a
/// volume in cc and cubic inch.
pub(crate) fn in_two(figure: &Figure) -> TwoUnits {
    // A chosen size has no ±; one of which nothing is known has `?`.
    let chosen = figure.u == Some(0.0);
    let told = |unit: Unit| {
        let value = unit.from_base(figure.unit.to_base(figure.value));
        let decimals = decimals(unit);
        let width = match half_width(figure) {
            _ if chosen => String::new(),
            None => " ± ?".to_owned(),
            Some(width) => {
                let width = unit.difference_from_base(figure.unit.difference_to_base(width));
                format!(" ± {}", width_in(width, decimals))
            }
        };
        format!("{}{width} {}", rounded(value, decimals), name(unit))
    };
    TwoUnits {
        stated: told(figure.unit),
        also: other(figure.unit).map_or(String::new(), told),
    }
}

/// So many decimals at the most, and no digit that a ± swallows.
pub(crate) fn told_to(width: Option<f64>, most: i32) -> i32 {
    let own = width.filter(|width| *width > 0.0).map(decimals_of);
    own.map_or(most, |own| own.min(most))
}

/// A width to so many decimals, and to more where nothing would be left of it.
pub(crate) fn width_in(width: f64, decimals: i32) -> String {
    match width > 0.0 && width < 0.5 * 10f64.powi(-decimals) {
        true => rounded_like_u(width),
        false => rounded(width, decimals),
    }
}

/// A size to make, without its ±, to the decimals that are usual.
pub(crate) fn nominal(figure: &Figure) -> TwoUnits {
    in_two(&Figure::new(figure.value, Some(0.0), figure.unit))
}

/// A chosen size, without ±, in both units.
pub(crate) fn chosen_in_two(figure: &Figure) -> TwoUnits {
    let bare = Figure::new(figure.value, Some(0.0), figure.unit);
    let two = in_two(&bare);
    TwoUnits {
        stated: format!("{} {}", plain(&bare), name(figure.unit)),
        also: two.also,
    }
}

/// What an engine file states, with the ± that it states.
pub(crate) fn of_stated(value: &StatedValue) -> Figure {
    let unit = value.written.unit;
    let u = value.u.map(|u| unit.difference_from_base(u));
    Figure::new(value.written.value, u, unit)
}

fn other(unit: Unit) -> Option<Unit> {
    match (unit.kind(), unit) {
        (QuantityKind::Length, Unit::Inch) => Some(Unit::Millimetre),
        (QuantityKind::Length, _) => Some(Unit::Inch),
        (QuantityKind::Volume, Unit::CubicInch) => Some(Unit::CubicCentimetre),
        (QuantityKind::Volume, _) => Some(Unit::CubicInch),
        _ => None,
    }
}

/// A unit as a builder writes it.
fn name(unit: Unit) -> &'static str {
    match unit {
        Unit::CubicInch => "cu in",
        unit => unit.symbol(),
    }
}

fn decimals(unit: Unit) -> i32 {
    match unit {
        Unit::CubicInch => 3,
        unit => usual_decimals(unit.symbol()),
    }
}

/// A dome or a dish by its word: nobody has to know which of them has which sign.
pub(crate) fn shape(cc: f64) -> &'static str {
    match cc {
        dish if dish < 0.0 => "dish",
        dome if dome > 0.0 => "dome",
        _ => "flat top",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_is_told_in_inch_and_millimetre() {
        let two = in_two(&Figure::new(1.203, Some(0.0005), Unit::Inch));
        assert_eq!(two.stated, "1.2030 ± 0.0010 in");
        assert_eq!(two.also, "30.556 ± 0.025 mm");
        assert_eq!(width_in(0.00041, 3), "0.00041");
        assert_eq!(width_in(0.0006, 3), "0.001");
        let volume = chosen_in_two(&Figure::bare(12.35, Unit::CubicCentimetre));
        assert_eq!(
            (volume.stated.as_str(), volume.also.as_str()),
            ("12.35 cc", "0.754 cu in")
        );
    }
}
