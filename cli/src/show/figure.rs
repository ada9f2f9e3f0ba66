//! Figures with the half width that covers 95 %, rounded by it.
//!
//! The half width is given to two significant digits and the value to the same place
//! (JCGM 100:2008, 7.2.6). Rounding is for people; JSON carries the figures unrounded, with their
//! standard uncertainty.

use benchhand_blueprint::figure::coverage;
use benchhand_wire::Figure;
use benchhand_words::digits::decimals_of;
pub(crate) use benchhand_words::digits::{rounded, rounded_like_u, usual_decimals};

/// A figure in a table whose heading carries the unit: `64.21 ± 0.10`, or `64.20 ± ?`.
pub(crate) fn cell(figure: &Figure) -> String {
    let usual = usual_decimals(&figure.unit);
    match figure.u {
        Some(u) if u.is_finite() && u > 0.0 => {
            let width = coverage(f64::INFINITY) * u;
            let decimals = decimals_of(width);
            format!(
                "{} ± {}",
                rounded(figure.value, decimals),
                rounded(width, decimals)
            )
        }
        Some(u) => format!("{} ± {u}", rounded(figure.value, usual)),
        None => format!("{} ± ?", rounded(figure.value, usual)),
    }
}

/// A reading with its unit and all its digits, and with its own uncertainty if it has one.
pub(crate) fn as_taken(figure: &Figure) -> String {
    let Figure { value, u, unit } = figure;
    let shown = match u {
        Some(_) => cell(figure),
        None => digits(*value, unit),
    };
    format!("{shown}{}", unit_after(unit))
}

/// A measured number without its unit and with all its digits.
pub(crate) fn digits(value: f64, unit: &str) -> String {
    rounded(value, decimals_kept(value, unit))
}

/// The number of decimals to show: those of the value, at least the usual number for its unit, and
/// at most two more. Decimals beyond that come from arithmetic, not from the gauge.
fn decimals_kept(value: f64, unit: &str) -> i32 {
    let usual = usual_decimals(unit);
    let written = format!("{value:.9}");
    let own = written
        .trim_end_matches('0')
        .split_once('.')
        .map_or(0, |(_, own)| own.len());
    i32::try_from(own)
        .unwrap_or(i32::MAX)
        .clamp(usual, usual + 2)
}

/// A value without its unit, with the usual decimals of the unit.
pub(crate) fn plain(value: f64, unit: &str) -> String {
    format!(
        "{}{}",
        rounded(value, usual_decimals(unit)),
        unit_after(unit)
    )
}

/// An error and what is allowed. One that is more than that is told with digits enough to see it; one
/// that keeps to it was judged by no more digits than the usual ones.
pub(crate) fn plain_apart(passed: bool, error: f64, allow: f64, unit: &str) -> [String; 2] {
    let usual = usual_decimals(unit);
    let shown = |decimals: i32| [error.abs(), allow].map(|value| rounded(value, decimals));
    let alike = |decimals: i32| {
        let [error, allow] = shown(decimals);
        error == allow
    };
    let differ = (error.abs() - allow).abs() > 1e-9 * allow.abs();
    let decimals = (usual..usual + 5).find(|&one| passed || !(differ && alike(one)));
    let decimals = decimals.unwrap_or(usual);
    [error, allow].map(|value| format!("{}{}", rounded(value, decimals), unit_after(unit)))
}

/// The unit behind a number. Empty for a ratio.
pub(crate) fn unit_after(unit: &str) -> String {
    if unit == "1" || unit.is_empty() {
        String::new()
    } else {
        format!(" {unit}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figure(value: f64, u: impl Into<Option<f64>>, unit: &str) -> Figure {
        Figure {
            value,
            u: u.into(),
            unit: unit.into(),
        }
    }

    #[test]
    fn two_numbers_that_decide_are_told_apart() {
        let told = |error, allow| plain_apart(false, error, allow, "in").join(" of ");
        assert_eq!(told(0.001_04, 0.000_98), "0.00104 in of 0.00098 in");
        assert_eq!(told(-0.001_04, 0.000_98), "-0.00104 in of 0.00098 in");
        let kept = plain_apart(true, 0.001, 0.000_984, "in");
        assert_eq!(kept.join(" of "), "0.0010 in of 0.0010 in");
        assert_eq!(told(0.001, 0.001), "0.0010 in of 0.0010 in");
        assert_eq!(told(0.0012, 0.0005), "0.0012 in of 0.0005 in");
    }

    #[test]
    fn the_value_is_rounded_to_the_place_of_two_digits_of_u() {
        // JCGM 100:2008, 7.2.6: 10.057 62 ohm with u = 27 mohm is given as 10.058 ohm; here with the
        // half width that covers 95 %.
        assert_eq!(cell(&figure(10.057_62, 0.027, "ohm")), "10.058 ± 0.054");
        assert_eq!(cell(&figure(64.2104, 0.0519, "cc")), "64.21 ± 0.10");
        assert_eq!(
            cell(&figure(-0.005_04, 0.000_25, "in")),
            "-0.00504 ± 0.00050"
        );
    }

    #[test]
    fn digits_of_u_are_counted_after_rounding() {
        assert_eq!(cell(&figure(1.234_56, 0.0996, "cc")), "1.23 ± 0.20");
        assert_eq!(cell(&figure(1.234_56, 0.0994, "cc")), "1.23 ± 0.20");
        assert_eq!(cell(&figure(1234.5, 123.0, "cc")), "1230 ± 250");
        assert_eq!(cell(&figure(1234.5, 9.96, "cc")), "1234 ± 20");
    }

    #[test]
    fn an_unknown_u_is_said_and_never_zero() {
        assert_eq!(cell(&figure(64.2, None, "cc")), "64.20 ± ?");
    }

    #[test]
    fn a_reading_keeps_its_digits() {
        assert_eq!(as_taken(&figure(0.55, None, "inH2O")), "0.55 inH2O");
        assert_eq!(as_taken(&figure(64.2, None, "cc")), "64.20 cc");
        assert_eq!(as_taken(&figure(0.012_35, None, "in")), "0.01235 in");
        assert_eq!(as_taken(&figure(0.1 + 0.2, None, "cc")), "0.30 cc");
        assert_eq!(
            as_taken(&figure(64.1 + 1.0 / 3.0, None, "cc")),
            "64.4333 cc"
        );
        assert_eq!(
            as_taken(&figure(28.02, 0.05, "inH2O")),
            "28.02 ± 0.10 inH2O"
        );
    }

    #[test]
    fn zero_has_no_sign() {
        assert_eq!(cell(&figure(-0.000_01, 0.01, "in")), "0.000 ± 0.020");
        assert_eq!(plain(-0.000_000_1, "in"), "0.0000 in");
    }
}
