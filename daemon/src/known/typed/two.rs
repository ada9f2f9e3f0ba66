//! The two values of a flow that a person reads at the same time: `28 and 4.55 inH2O`.

use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Quantity, Spot, Unit};
use benchhand_wire::Refusal;

use crate::known::inputs::METERING;
use crate::known::quantities::bad;
use crate::store::fact::ReadingPart;

/// Stands between the two values.
pub(super) const AND: &str = " and ";

/// The characters of a number.
pub(super) const NUMBER: fn(char) -> bool =
    |c| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | ' ');

/// The two values of a text. A unit that is typed once, behind both pressures, is that of both.
pub(super) fn two(text: &str) -> Option<(String, String)> {
    let (test, along) = text.split_once(AND)?;
    let (test, along) = (test.trim(), along.trim());
    let unit = along.trim_start_matches(NUMBER).trim();
    let plain = test.trim_start_matches(NUMBER).is_empty();
    let pressure = unit
        .parse::<Unit>()
        .is_ok_and(|unit| unit.kind() == QuantityKind::Pressure);
    let test = match plain && pressure {
        true => format!("{test} {unit}"),
        false => test.to_owned(),
    };
    Some((test, along.to_owned()))
}

/// What a flow was read with, as a part of its reading: the metering pressure, or the flow that the
/// bench shows.
///
/// # Errors
/// Where two values were typed for a spot that is no flow's, or one for a flow's.
pub(crate) fn along_with(
    spot: &Spot,
    along: Option<Quantity>,
) -> Result<Option<ReadingPart>, Refusal> {
    let along = match (matches!(spot, Spot::Flow { .. }), along) {
        (false, None) => return Ok(None),
        (true, Some(along)) => along,
        (false, Some(_)) => return Err(bad(format!("two values were typed, and {spot} has one"))),
        (true, None) => {
            let found = format!(
                "{spot} has two values, the test pressure and the metering pressure or the flow; \
                 one was typed"
            );
            return Err(
                bad(found).expected("both: 28 inH2O and 4.55 inH2O, or 28 inH2O and 150 cfm")
            );
        }
    };
    let role = match along.unit.kind() {
        QuantityKind::Flow => "flow",
        _ => METERING,
    };
    if along.value.is_nan() || along.value < 0.0 {
        return Err(bad(format!("{along} beside the test pressure")).expected("0 or more"));
    }
    let unit = along.unit.symbol();
    Ok(Some(ReadingPart::new(role, along.value, unit)))
}
