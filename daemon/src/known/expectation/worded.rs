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
        ExpectationSource::LoneEarlier { number } => lone_earlier(expectation, number),
        ExpectationSource::Brothers { count: 1 } => "as the other".to_owned(),
        ExpectationSource::Brothers { .. } => "as the others".to_owned(),
        ExpectationSource::OtherPoints => "as the other point of this piston".to_owned(),
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

/// The one value before, which may itself be the slip.
fn lone_earlier(expectation: &Expectation, number: Option<u64>) -> String {
    let unit = expectation.unit;
    // Two digits more than what is expected is told with: a point that was moved shows.
    let value = (1e4 * unit.from_base(expectation.expected.middle)).round() / 1e4;
    let void = match number {
        Some(number) => format!("`benchhand void JOB {number}`"),
        None => "`benchhand void`".to_owned(),
    };
    format!(
        "as in the round before (or was that one, {value} {}, the slip? {void} takes it back)",
        unit.symbol()
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::capture::ExpectedBounds;

    #[test]
    fn what_was_expected_is_told_in_the_unit_of_what_is_shown() {
        let expectation = Expectation {
            expected: ExpectedBounds::around(0.2286, 0.5),
            confirmed: Vec::new(),
            source: ExpectationSource::Parts,
            unit: Unit::Inch,
        };
        let spot: Spot = "deck/1".parse().expect("a spot");
        let told = |unit: Unit| far_off(&spot, "shown", &expectation.clone().told_in(unit));
        assert!(told(Unit::Millimetre).ends_with("expected about 0.23 mm from the parts"));
        assert!(told(Unit::Inch).ends_with("expected about 0.009 in from the parts"));
        // A gauge in a unit of another kind changes nothing.
        assert!(told(Unit::CubicCentimetre).ends_with("expected about 0.009 in from the parts"));
    }
}
