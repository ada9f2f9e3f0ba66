//! Initials of who does something, as they were typed.

use benchhand_wire::{Reason, Refusal};

use super::keeper::Keeper;
use super::shop_name;
use crate::store::fact::are_initials;

/// The initials of who does something: as they were said, else those of the shop's settings.
///
/// # Errors
/// [`Reason::BadInput`] where what was said are none.
pub(crate) fn by(keeper: &Keeper, said: Option<String>) -> Result<Option<String>, Refusal> {
    Ok(initials(said)?.or_else(|| shop_name::usual(keeper).initials))
}

/// The initials that were said; none where nothing but blanks was.
///
/// # Errors
/// [`Reason::BadInput`] where they are not a few letters or digits.
fn initials(said: Option<String>) -> Result<Option<String>, Refusal> {
    let said = said.map(|said| said.trim().to_owned());
    let said = said.filter(|said| !said.is_empty());
    match said {
        Some(text) if !are_initials(&text) => Err(Refusal::new(
            Reason::BadInput,
            format!("{text:?} are no initials"),
        )
        .expected("at most 8 letters or digits")),
        said => Ok(said),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn initials_are_a_few_letters_or_digits_and_may_be_left_out() {
        let read = |said: &str| initials(Some(said.to_owned()));
        assert_eq!(read(" AB "), Ok(Some("AB".to_owned())));
        assert_eq!(read("Ö2"), Ok(Some("Ö2".to_owned())));
        assert_eq!((read("  "), initials(None)), (Ok(None), Ok(None)));
        for bad in ["ABCDEFGHI", "A B", "A\u{1b}", "A\u{202e}", "<b>", "a.b"] {
            assert!(read(bad).is_err(), "{bad:?}");
        }
    }
}
