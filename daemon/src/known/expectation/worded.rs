//! A value that lies far from what was expected, in words.

use benchhand_blueprint::{Spot, Unit};

use super::{Expectation, Source};
use crate::known::words::called;

/// A value that lies far from what was expected.
pub fn far_off(spot: &Spot, shown: &str, expectation: &Expectation) -> String {
    format!(
        "{}: {shown}, expected {}",
        called(spot),
        expected(expectation)
    )
}

/// What was expected, and why: "about 46.0 cc as the others".
fn expected(expectation: &Expectation) -> String {
    let why = match expectation.source {
        Source::EarlierRound => "as in the round before".to_owned(),
        Source::Fellows { count: 1 } => "as the other".to_owned(),
        Source::Fellows { .. } => "as the others".to_owned(),
        Source::Parts => "from the parts".to_owned(),
        Source::BeforeCut => "from before the cut".to_owned(),
        Source::Nominal => "as the engine file says".to_owned(),
    };
    let unit = expectation.unit;
    let middle = unit.from_base(expectation.expected.middle);
    let decimals = match unit {
        Unit::Inch => 3,
        Unit::Millimetre => 2,
        _ => 1,
    };
    format!("about {middle:.decimals$} {} {why}", unit.symbol())
}
