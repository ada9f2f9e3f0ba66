//! Verdicts on the tolerances of the engine file: within, outside, or cannot be told.

use benchhand_blueprint as blueprint;
use blueprint::decide::VerdictAnswer;
use blueprint::report::ToleranceVerdict;

/// The verdicts: first those outside, then those that cannot be told. `None` if the engine file
/// states no tolerance.
pub(super) fn section(all: &[ToleranceVerdict]) -> Option<String> {
    if all.is_empty() {
        return None;
    }
    let mut text = "Tolerances\n".to_owned();
    for (answer, words) in [
        (VerdictAnswer::Outside, "OUTSIDE"),
        (VerdictAnswer::CannotTell, "cannot be told"),
        (VerdictAnswer::Within, "within"),
    ] {
        for one in all.iter().filter(|one| one.answer == answer) {
            text += &format!("  {words}: {}: {}\n", about(one), one.text);
            if !one.measure_again.is_empty() {
                text += &format!(
                    "    measure again first: {}\n",
                    one.measure_again.join(", ")
                );
            }
        }
    }
    Some(text)
}

/// `chamber spread`, `quench of cylinder 3`.
fn about(one: &ToleranceVerdict) -> String {
    let about = one.about.name().replace('_', " ");
    match one.cylinder {
        Some(cylinder) => format!("{about} of cylinder {cylinder}"),
        None => about,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use blueprint::report::ToleranceName;

    fn judged(
        about: ToleranceName,
        cylinder: Option<u32>,
        answer: VerdictAnswer,
        again: &[&str],
    ) -> ToleranceVerdict {
        ToleranceVerdict {
            about,
            cylinder,
            answer,
            text: "in words".into(),
            not_repeated: false,
            unless_off_by: None,
            assumed: Vec::new(),
            measure_again: again.iter().map(|spot| (*spot).to_owned()).collect(),
        }
    }

    #[test]
    fn what_is_outside_comes_first_and_what_cannot_be_told_says_how_to_settle_it() {
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
            text.expect("a section"),
            "Tolerances\n  OUTSIDE: quench of cylinder 3: in words\n  \
             cannot be told: chamber spread: in words\n    \
             measure again first: chamber/6, chamber/3\n  \
             within: deck spread: in words\n"
        );
        assert_eq!(section(&[]), None);
    }
}
