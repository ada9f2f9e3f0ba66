//! Verdicts on the tolerances of the engine file: OK, NOT OK, or too close to call.

use benchhand_blueprint as blueprint;
use blueprint::decide::VerdictAnswer;
use blueprint::report::{ToleranceName, ToleranceVerdict};

use crate::spots;
use crate::told::ToldText;

/// The verdicts: first what is NOT OK, then what is too close to call. `None` if the engine file
/// states no tolerance.
pub(super) fn section(all: &[ToleranceVerdict]) -> Option<ToldText> {
    if all.is_empty() {
        return None;
    }
    let mut told = ToldText::titled("Tolerances");
    for (answer, words) in [
        (VerdictAnswer::Outside, "NOT OK"),
        (VerdictAnswer::CannotTell, "too close to call"),
        (VerdictAnswer::Within, "OK"),
    ] {
        for one in all.iter().filter(|one| one.answer == answer) {
            told += format!("  {words}: {}: {}\n", about(one), one.text);
            if !one.measure_again.is_empty() {
                told += format!(
                    "    measure again first: {}\n",
                    one.measure_again.join(", ")
                );
            }
        }
    }
    Some(told)
}

/// `chamber spread`, `quench of cylinder 3`, `spring height 3 intake`.
fn about(one: &ToleranceVerdict) -> String {
    if let Some(spot) = &one.spot {
        let said = spots::said(&spot.to_string());
        return match one.about {
            ToleranceName::FreeSpread => format!("{said} spread"),
            _ => said,
        };
    }
    let about = one.about.name().replace('_', " ");
    match one.cylinder {
        Some(cylinder) => format!("{about} of cylinder {cylinder}"),
        None => about,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn judged(
        about: ToleranceName,
        cylinder: Option<u32>,
        answer: VerdictAnswer,
        again: &[&str],
    ) -> ToleranceVerdict {
        ToleranceVerdict {
            about,
            cylinder,
            spot: None,
            answer,
            text: "in words".into(),
            not_repeated: false,
            unless_off_by: None,
            assumed: Vec::new(),
            measure_again: again.iter().map(|spot| (*spot).to_owned()).collect(),
        }
    }

    #[test]
    fn what_is_not_ok_comes_first_and_what_is_too_close_says_how_to_settle_it() {
        let text = section(&[
            judged(ToleranceName::DeckSpread, None, VerdictAnswer::Within, &[]),
            judged(
                ToleranceName::ChamberSpread,
                None,
                VerdictAnswer::CannotTell,
                &["chamber/6", "chamber/3"],
            ),
            judged(ToleranceName::Quench, Some(3), VerdictAnswer::Outside, &[]),
        ]);
        assert_eq!(
            text.expect("a section").text(),
            "Tolerances\n  NOT OK: quench of cylinder 3: in words\n  \
             too close to call: chamber spread: in words\n    \
             measure again first: chamber/6, chamber/3\n  \
             OK: deck spread: in words\n"
        );
        assert_eq!(section(&[]), None);
    }
}
