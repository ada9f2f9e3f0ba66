//! Units against `unit_conversions.csv` and `pressure_units.csv`.
//!
//! Tolerances: a printed value is met to half a unit of its own last figure; values that follow
//! from a definition, to the twelve figures to which they are written. Not checked: the columns
//! `…_pint` of `pressure_units.csv`, which rest on that library's approximate densities.

mod common;

use benchhand_blueprint::{Quantity, Unit};
use common::{TWELVE, close, rows};

/// Half a unit of the last figure of a number as printed, relative to it.
fn last_figure(text: &str) -> f64 {
    let (mantissa, exponent) = text.split_once('e').unwrap_or((text, "0"));
    let decimals = mantissa
        .split_once('.')
        .map_or(0, |(_, digits)| digits.len()) as i32;
    let exponent: i32 = exponent.parse().expect("an exponent");
    let value: f64 = text.parse().expect("a number");
    0.5001 * 10f64.powi(exponent - decimals) / value
}

#[test]
fn conversions_agree_to_their_own_figures() {
    for row in rows("unit_conversions.csv") {
        let conversion = row.text("conversion");
        let (from, to) = conversion.split_once(" to ").expect("from … to …");
        let one: Quantity = format!("1 {from}").parse().expect(conversion);
        let unit: Unit = to.parse().expect(conversion);
        let found = one.to(unit).expect(conversion);
        // An exact factor is met to rounding, a rounded one to half of its last figure.
        let exact = [
            "in3 to cc",
            "ft/s to m/s",
            "thou to mm",
            "US fl oz to mL",
            "cSt to m2/s",
        ];
        let tolerance = match conversion {
            _ if exact.contains(&conversion) => 3e-16,
            // The file's factors for cfm are rounded up where they should be rounded down.
            "cfm to m3/s" | "cfm to L/s" => 2.0 * last_figure(row.text("factor")),
            _ => last_figure(row.text("factor")),
        };
        close(found, row.number("factor"), tolerance, conversion);
        // The second column is another library's, to at most twelve figures.
        close(
            found,
            row.number("factor_pint"),
            last_figure(row.text("factor_pint")).max(TWELVE),
            conversion,
        );
    }
}

#[test]
fn pressures_of_columns_agree_with_their_definitions() {
    let symbols = [
        ("inH2O conventional", "inH2O"),
        ("inH2O 4 C (39.2 F)", "inH2O_4C"),
        ("inH2O 60 F", "inH2O_60F"),
        ("inH2O 68 F (20 C)", "inH2O_20C"),
        ("inH2O 77 F (25 C)", "inH2O_25C"),
        ("inH2O 86 F (30 C)", "inH2O_30C"),
        ("inHg conventional", "inHg"),
        ("inHg 60 F", "inHg_60F"),
        ("mmH2O conventional", "mmH2O"),
        ("psi", "psi"),
    ];
    let mut checked = 0;
    for row in rows("pressure_units.csv") {
        let name = row.text("unit");
        let (count, name) = match name.split_once(' ') {
            Some((count, rest)) if count.parse::<f64>().is_ok() => (count, rest),
            _ => ("1", name),
        };
        let (_, symbol) = symbols
            .iter()
            .find(|(start, _)| start == &name || start.starts_with(&format!("{name} (")))
            .unwrap_or_else(|| panic!("no unit for {name}"));
        let found = format!("{count} {symbol}")
            .parse::<Quantity>()
            .expect(symbol)
            .base();
        close(found, row.number("Pa"), TWELVE, name);
        if let Some(printed) = row.maybe("Pa_nist_sp811") {
            // At 4 C the table rests on 999.972 kg/m3 instead of Tanaka's density: 2.7e-6 lower.
            let tolerance = if *symbol == "inH2O_4C" {
                3e-6
            } else if *symbol == "inH2O_60F" {
                2e-5 // printed to five figures
            } else {
                last_figure(row.text("Pa_nist_sp811"))
            };
            close(found, printed, tolerance, name);
        }
        checked += 1;
    }
    assert_eq!(checked, 17);
}
