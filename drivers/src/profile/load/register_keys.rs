//! The keys that say in which Modbus register a value or a status stands.

use super::draft::Register;
use super::field;
use super::frame::Frame;
use crate::profile::document::{Entry, Section};
use crate::profile::error::{Flaw, ProfileFault};
use crate::profile::model::{By, Chooser, FieldPlace};

/// The register keys of a channel or status. `None` if the frame is not Modbus.
pub(super) fn register(
    section: &Section<'_>,
    frame: &Frame<'_>,
    bytes: Option<usize>,
) -> Result<Option<Register>, Flaw> {
    let Some((address, _)) = frame.modbus else {
        return Ok(None);
    };
    let first = section.required("register", "the register's number as sent, counted from 0")?;
    let number = u16::try_from(first.integer(0..=65_535)?).unwrap_or(0);
    let function = section
        .required("table", "\"holding\" or \"input\"")?
        .choice(&[("holding", 3u8), ("input", 4u8)])?;
    let own = section
        .optional("address")
        .map(|e| e.integer(1..=247))
        .transpose()?;
    let bytes = bytes
        .filter(|bytes| bytes.is_multiple_of(2))
        .ok_or_else(|| {
            section.flaw(
                ProfileFault::Contradiction,
                "a type of 16, 32 or 64 bits, since registers have 16",
                "choose a type such as \"i16\" or \"f32\"",
            )
        })?;
    let count = u16::try_from(bytes / 2).unwrap_or(1);
    if u32::from(number).saturating_add(u32::from(count)) > 65_536 {
        return Err(first.flaw(
            ProfileFault::OutsideFrame,
            "a value that ends at register 65535",
            "correct it",
        ));
    }
    let address = own
        .and_then(|own| u8::try_from(own).ok())
        .unwrap_or(address);
    Ok(Some(Register {
        address,
        function,
        first: number,
        count,
    }))
}

/// A status in a register: a bit counted from the lowest, or words for the whole register.
pub(super) fn status<T>(
    section: &Section<'_>,
    frame: &Frame<'_>,
    meaning: impl Fn(&Entry<'_>) -> Result<T, Flaw>,
) -> Result<Chooser<T>, Flaw> {
    let Some(bit) = section.optional("bit") else {
        let words = section.required("words", "what each value of the register means")?;
        let words = field::words(&words, frame, meaning)?;
        return Ok(Chooser {
            place: FieldPlace::At { at: 0, len: 2 },
            by: By::Words(words),
        });
    };
    let number = u8::try_from(bit.integer(0..=15)?).unwrap_or(0);
    let set = meaning(&section.required("set", "what it means when the bit is 1")?)?;
    let clear = meaning(&section.required("clear", "what it means when the bit is 0")?)?;
    let at = usize::from(number < 8);
    Ok(Chooser {
        place: FieldPlace::At { at, len: 1 },
        by: By::Bit {
            bit: number % 8,
            clear,
            set,
        },
    })
}
