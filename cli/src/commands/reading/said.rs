//! Separates a spot from its value in `enter v8 chamber 3 64.2cc`.

use benchhand_blueprint::engine::LengthUnits;
use benchhand_blueprint::spot::SpotFamily;
use benchhand_blueprint::units::{QuantityError, number};
use benchhand_blueprint::{Quantity, Spot};
use benchhand_wire::{Reason, Refusal};

/// The spot and the value, as typed. The value is `None` if a burette's levels stand for it.
///
/// # Errors
/// The words have two meanings, or there are both a value and levels, or neither.
pub(super) fn spot_and_value(
    words: &[String],
    levels: bool,
) -> Result<(String, Option<String>), Refusal> {
    // The unit of a plain lift does not matter here: the spot ends at the same word.
    let is_spot = |text: &str| Spot::typed(text, LengthUnits::Metric).is_ok();
    let parted = |at: usize| (words[..at].join(" "), words[at..].join(" "));
    let splits_of = |is_one: &dyn Fn(&str) -> bool| -> Vec<(String, String)> {
        let all = (1..=words.len()).map(parted);
        all.filter(|(spot, _)| is_one(spot)).collect()
    };
    let mut splits = splits_of(&is_spot);
    if splits.is_empty() {
        // A free spot may be typed by its name alone, which only the job's engine file knows.
        let mut free = splits_of(&|text| is_spot(&format!("{}/{text}", SpotFamily::Free)));
        free.retain(|(_, value)| match value.is_empty() {
            true => levels,
            false => is_value(value),
        });
        splits = free;
    }
    let whole: Vec<&(String, String)> = splits
        .iter()
        .filter(|(_, value)| match value.is_empty() {
            true => levels,
            false => is_value(value),
        })
        .collect();
    let (spot, value) = match whole.as_slice() {
        [one] => (*one).clone(),
        [] => match splits.last() {
            // The words that follow are not a quantity. The code that keeps the value says what is
            // wrong with it.
            Some(longest) => longest.clone(),
            None => parted(words.len() - usize::from(words.len() > 1)),
        },
        several => {
            let ways: Vec<String> = several
                .iter()
                .map(|(spot, value)| format!("{value:?} at {spot:?}"))
                .collect();
            let found = format!("this can mean {}", ways.join(" or as "));
            return Err(Refusal::new(Reason::BadInput, found)
                .todo("write the spot with slashes, such as chamber/3; nothing was kept"));
        }
    };
    match (value.is_empty(), levels) {
        (false, true) => Err(Refusal::new(
            Reason::BadInput,
            format!("both a value, {value:?}, and the levels of a burette were given"),
        )
        .expected("one of the two")),
        (true, false) if is_spot(&spot) => Err(Refusal::new(
            Reason::BadInput,
            format!("there is no value for {spot}"),
        )
        .expected("a value with its unit, such as 64.2 cc, or levels with --from and --to")),
        (no_value, _) => Ok((spot, (!no_value).then_some(value))),
    }
}

/// Whether the words are a value, or the two values of a flow.
fn is_value(text: &str) -> bool {
    let Some((first, last)) = text.split_once(" and ") else {
        return quantity(text);
    };
    // The unit of both pressures may be typed once.
    let first = first.trim();
    let plain = || number(first).is_ok();
    quantity(last) && (plain() || quantity(first))
}

/// Whether the words are a number with its unit, if with a comma of which nobody knows what it means:
/// the value is refused then, and no spot is looked for.
fn quantity(text: &str) -> bool {
    matches!(
        text.parse::<Quantity>(),
        Ok(_) | Err(QuantityError::Comma(_))
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> Result<(String, Option<String>), Refusal> {
        let words: Vec<String> = text.split('|').map(str::to_owned).collect();
        spot_and_value(&words, false)
    }

    #[test]
    fn the_spot_ends_where_the_value_begins() {
        for (typed, spot, value) in [
            ("chamber/3|64.2|cc", "chamber/3", "64.2 cc"),
            ("chamber|3|64.2cc", "chamber 3", "64.2cc"),
            (
                "spring_height|3|intake|1.803|in",
                "spring_height 3 intake",
                "1.803 in",
            ),
            ("end_play|6.0|thou", "end_play", "6.0 thou"),
            ("end_play|6|thou", "end_play", "6 thou"),
            ("chamber 3|64.2 cc", "chamber 3", "64.2 cc"),
            ("Chambers|3|64.2|cc", "Chambers 3", "64.2 cc"),
            ("deck|1|front|-0.005|in", "deck 1 front", "-0.005 in"),
            ("deck|5|0.3in", "deck 5", "0.3in"),
            ("gasket|thickness|3|mm", "gasket thickness", "3 mm"),
            ("gasket|bore|3|102mm", "gasket bore 3", "102mm"),
            ("gap|3|intake|10|2.1|mm", "gap 3 intake 10", "2.1 mm"),
            (
                "flow|4|intake|0.3|28|inH2O",
                "flow 4 intake 0.3",
                "28 inH2O",
            ),
            (
                "flow|4|intake|0.3|in|28|inH2O",
                "flow 4 intake 0.3 in",
                "28 inH2O",
            ),
            (
                "flow|1|intake|0.3|28.0|and|4.55|inH2O",
                "flow 1 intake 0.3",
                "28.0 and 4.55 inH2O",
            ),
            // A number without a unit is not a value yet. The refusal names it.
            ("chamber|3|64.2", "chamber 3", "64.2"),
            ("piston|3|2cc", "piston 3", "2cc"),
        ] {
            let found = said(typed).unwrap_or_else(|refusal| panic!("{typed}: {refusal}"));
            assert_eq!(found, (spot.to_owned(), Some(value.to_owned())), "{typed}");
        }
        assert!(said("chamber|3").is_err(), "no value");
    }

    #[test]
    fn levels_stand_for_the_value_and_both_are_one_too_many() {
        let words = ["chamber", "3"].map(str::to_owned);
        let found = spot_and_value(&words, true).unwrap();
        assert_eq!(found, ("chamber 3".to_owned(), None));
        let words = ["chamber", "3", "64 cc"].map(str::to_owned);
        assert!(spot_and_value(&words, true).is_err());
    }
}
