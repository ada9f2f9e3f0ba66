//! `[frame.checksum]`, and stretches of a frame.

use std::num::NonZeroU32;

use super::order;
use crate::decode::checksum::{self, ChecksumKind};
use crate::profile::document::Entry;
use crate::profile::error::{Flaw, ProfileFault};
use crate::profile::model::{Checksum, Framing, Stretch, Written};
use crate::profile::number::ByteOrder;

/// The longest frame that may be declared, in bytes.
pub(super) const LONGEST: i64 = 4096;

pub(super) fn declared_checksum(entry: &Entry<'_>, framing: &Framing) -> Result<Checksum, Flaw> {
    let table = entry.section("[frame.checksum]")?;
    let kind = table.required("kind", "how it is computed")?;
    let sum = if kind.is_text() && kind.text()? == "sum-modulo" {
        let divided_by = table.required("modulus", "what the sum is divided by")?;
        let modulus = u32::try_from(divided_by.integer(2..=65_536)?).ok();
        let modulus = modulus.and_then(NonZeroU32::new).ok_or_else(|| {
            divided_by.flaw(ProfileFault::WrongValue, "a number above 1", "correct it")
        })?;
        ChecksumKind::Modulo(modulus)
    } else {
        kind.choice(checksum::NAMED)?
    };
    #[derive(Clone, Copy)]
    enum As {
        Raw,
        Hex,
        Decimal,
    }
    let written = match table.optional("as") {
        Some(entry) => {
            entry.choice(&[("raw", As::Raw), ("hex", As::Hex), ("decimal", As::Decimal)])?
        }
        None => As::Raw,
    };
    let order = table
        .optional("order")
        .map_or(Ok(ByteOrder::BIG), |e| order::order(&e))?;
    let written = match written {
        As::Raw => Written::Raw(order),
        As::Hex => Written::Hex,
        As::Decimal => Written::Decimal {
            digits: table
                .required("digits", "how many digits it has")?
                .count(1..=10)?,
        },
    };
    let at_entry = table.required(
        "at",
        "its position; negative ones count from the frame's end",
    )?;
    let at = i32::try_from(at_entry.integer(-LONGEST..=LONGEST)?).unwrap_or(0);
    let over = match table.optional("over") {
        Some(entry) => stretch(&entry)?,
        None => Stretch { from: 0, to: at },
    };
    table.finish()?;
    let sum = Checksum {
        sum,
        over,
        at,
        written,
    };
    let length = i64::try_from(sum.len()).unwrap_or(0);
    let outside = match framing {
        Framing::Fixed { length: frame, .. } => {
            let frame = i64::try_from(*frame).unwrap_or(0);
            let from = if at < 0 {
                frame.saturating_add(i64::from(at))
            } else {
                i64::from(at)
            };
            from < 0 || from.saturating_add(length) > frame
        }
        _ => at < 0 && i64::from(at).saturating_neg() < length,
    };
    if outside {
        return Err(at_entry.flaw(
            ProfileFault::OutsideFrame,
            format!("a position with room for the checksum's {length} bytes"),
            "correct `at`, or how the checksum is written",
        ));
    }
    Ok(sum)
}

/// `[from, to]`, both counted as in [`Stretch`].
pub(super) fn stretch(entry: &Entry<'_>) -> Result<Stretch, Flaw> {
    let ends = entry.list()?;
    let [from, to] = &ends[..] else {
        return Err(entry.flaw(
            ProfileFault::WrongValue,
            "two positions, [from, to], of which negative ones count from the end",
            "write a list such as [1, -3]",
        ));
    };
    let position = |e: &Entry<'_>| Ok(i32::try_from(e.integer(-LONGEST..=LONGEST)?).unwrap_or(0));
    Ok(Stretch {
        from: position(from)?,
        to: position(to)?,
    })
}
