//! A figure with its ± for 95 %, as people see it.

use benchhand_blueprint::{Figure, Unit};

use crate::digits::{decimals_of, rounded, usual_decimals};

/// Half the width of a figure's interval for 95 %, of what is known; `None` where nothing is.
pub fn half_width(figure: &Figure) -> Option<f64> {
    figure.expanded_known()
}

/// `64.145 ± 0.091`: the ± with two digits, or one where the second is finer than anybody measures;
/// `?` where nothing of it is known.
pub fn both(figure: &Figure) -> String {
    let width = half_width(figure);
    let decimals = decimals(figure);
    let width = width.map_or("?".to_owned(), |width| rounded(width, decimals));
    format!("{} ± {width}", rounded(figure.value, decimals))
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

/// A number that was chosen, with the decimals that are usual for its unit.
pub fn plain(figure: &Figure) -> String {
    rounded(figure.value, usual_decimals(figure.unit.symbol()))
}
