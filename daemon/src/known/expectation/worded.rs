//! A value that lies far from what was expected, in words.

use benchhand_blueprint::{Spot, Unit};

use super::{Expectation, ExpectationSource};
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
        ExpectationSource::EarlierRound => "as in the round before".to_owned(),
        ExpectationSource::Fellows { count: 1 } => "as the other".to_owned(),
        ExpectationSource::Fellows { .. } => "as the others".to_owned(),
        ExpectationSource::Parts => "from the parts".to_owned(),
        ExpectationSource::BeforeCut => "from before the cut".to_owned(),
        ExpectationSource::Nominal => "as the engine file says".to_owned(),
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
