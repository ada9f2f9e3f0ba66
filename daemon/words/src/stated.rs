//! A figure with its ± for 95 %, as people see it.

use benchhand_blueprint::{Figure, Unit};

use crate::digits::{decimals_of, rounded, usual_decimals};

/// Half the width of a figure's interval for 95 %, of what is known; `None` where nothing is.
pub fn half_width(figure: &Figure) -> Option<f64> {
    let width = figure.expanded_known()?;
    // Where something is lacking and nothing else is known, the ± is not zero: it is unknown.
    (width > 0.0 || figure.u.is_some()).then_some(width)
}

/// `64.145 ± 0.091`: the ± with two digits, or one where the second is finer than anybody measures;
/// `?` where nothing of it is known. A chosen value has no ±.
pub fn both(figure: &Figure) -> String {
    let decimals = decimals(figure);
    let value = rounded(figure.value, decimals);
    match half_width(figure) {
        None => format!("{value} ± ?"),
        Some(0.0) => value,
        Some(width) => format!("{value} ± {}", width_told(width, decimals)),
    }
}

/// A ± to so many decimals. One that is smaller than the last of them is told as one there: never
/// as zero.
pub fn width_told(width: f64, decimals: i32) -> String {
    let step = 10f64.powi(-decimals);
    let told = match width > 0.0 {
        true => width.max(step),
        false => width,
    };
    rounded(told, decimals)
}

/// The line under a list of figures that explains the numbers after ±.
pub const LEGEND: &str = "Each ± covers 95 %; ± ? where it is not known.";

/// A figure in running text: `64.21 ± 0.10 cc`, or `64.20 cc (± not known)`.
pub fn sentence(figure: &Figure) -> String {
    let unit = unit_after(figure.unit);
    match half_width(figure) {
        Some(_) => format!("{}{unit}", both(figure)),
        None => format!("{}{unit} (± not known)", plain(figure)),
    }
}

/// A chosen value with its unit, without a ±.
pub fn bare(figure: &Figure) -> String {
    format!("{}{}", plain(figure), unit_after(figure.unit))
}

/// The unit behind a number. Empty for a ratio.
pub fn unit_after(unit: Unit) -> String {
    match unit {
        Unit::One => String::new(),
        unit => format!(" {unit}"),
    }
}

fn decimals(figure: &Figure) -> i32 {
    let usual = usual_decimals(figure.unit.symbol());
    match half_width(figure).filter(|width| *width > 0.0) {
        Some(width) => decimals_of(width).min(usual + 1),
        None => usual,
    }
}

/// A number without its ±, with the decimals that are usual for its unit. One that was chosen with a
/// decimal or two more keeps them: a tolerance of 0.00085 in is not 0.0008.
pub fn plain(figure: &Figure) -> String {
    let usual = usual_decimals(figure.unit.symbol());
    let ends_at = |decimals: &i32| {
        let counts = figure.value * 10f64.powi(*decimals);
        (counts - counts.round()).abs() < 1e-6
    };
    let finer = (usual..=usual + 2).find(ends_at);
    let chosen = finer.filter(|_| figure.u == Some(0.0));
    rounded(figure.value, chosen.unwrap_or(usual))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figure(value: f64, u: Option<f64>, unit: Unit) -> Figure {
        Figure::new(value, u, unit)
    }

    /// A crown as the engine file states it without a ±: what is known of its ± is nothing.
    #[test]
    fn a_width_of_which_nothing_is_known_is_told_as_unknown() {
        let mut stated = figure(-4.0, None, Unit::CubicCentimetre);
        assert_eq!(both(&stated), "-4.00 ± ?");
        stated.u_known = Some(0.0);
        assert_eq!(both(&stated), "-4.00 ± ?");
        assert_eq!(sentence(&stated), "-4.00 cc (± not known)");
    }

    #[test]
    fn a_width_smaller_than_the_last_decimal_is_never_told_as_zero() {
        let fine = figure(9.6, Some(0.000_01), Unit::One);
        assert_eq!(both(&fine), "9.600 ± 0.001");
        assert_eq!(width_told(0.000_2, 2), "0.01");
        assert_eq!(width_told(0.026, 2), "0.03");
    }

    #[test]
    fn a_chosen_number_keeps_the_decimals_that_it_was_chosen_with() {
        let chosen = |value| figure(value, Some(0.0), Unit::Inch);
        assert_eq!(plain(&chosen(0.00085)), "0.00085");
        assert_eq!(plain(&chosen(0.002)), "0.0020");
        // Converted from 0.02 mm: nobody chose these digits.
        assert_eq!(plain(&chosen(0.02 / 25.4)), "0.0008");
        assert_eq!(plain(&figure(0.00085, Some(0.0001), Unit::Inch)), "0.0008");
    }

    /// An area that somebody chose: it has no ± to tell.
    #[test]
    fn a_chosen_value_is_told_without_a_width() {
        let chosen = figure(6000.0, Some(0.0), Unit::SquareMillimetre);
        assert_eq!(both(&chosen), "6000.00");
        assert_eq!(sentence(&chosen), "6000.00 mm2");
    }
}
