//! `[[channel]]`: a name, a place, a type of number, a unit.

use super::draft::{Draft, TYPES, Type};
use super::field;
use super::frame::Frame;
use super::order;
use super::register_keys;
use super::status::sentinels;
use super::unit::{per_unit, range, unit_rule, units_of};
use crate::decode::decimal;
use crate::profile::ChannelInfo;
use crate::profile::document::{Entry, Section};
use crate::profile::error::{Flaw, ProfileFault};
use crate::profile::model::{By, Channel, Chooser, Encoding, FieldPlace};
use crate::profile::number::{ByteOrder, DecimalMark, DecimalRules, ScaleFactor};
use crate::unit::{QuantityKind, Unit};

pub(super) fn channels(top: &Section<'_>, frame: &Frame<'_>) -> Result<Vec<Draft>, Flaw> {
    let list = top.required("channel", "the values that the gauge sends, as [[channel]]")?;
    let entries = list.list()?;
    if entries.is_empty() || entries.len() > 64 {
        return Err(list.flaw(
            ProfileFault::WrongValue,
            "1 to 64 channels",
            "write one [[channel]] for each value",
        ));
    }
    let mut drafts: Vec<Draft> = Vec::new();
    for (entry, index) in entries.iter().zip(0u8..) {
        let section = entry.section("[[channel]]")?;
        let draft = channel(&section, frame, index)?;
        if drafts
            .iter()
            .any(|other| other.info.name == draft.info.name)
        {
            return Err(section.required("name", "its name")?.flaw(
                ProfileFault::Duplicate,
                "a name that no other channel has",
                "rename one of them",
            ));
        }
        drafts.push(draft);
    }
    Ok(drafts)
}

fn channel(section: &Section<'_>, frame: &Frame<'_>, index: u8) -> Result<Draft, Flaw> {
    let name = section
        .required("name", "what the channel is called")?
        .text()?
        .to_owned();
    let default_type = if frame.is_text() {
        Type::Decimal
    } else {
        Type::Unsigned(2)
    };
    let type_entry = if frame.is_text() {
        section.optional("type")
    } else {
        Some(section.required(
            "type",
            "how the number is written, such as \"i16\" or \"bcd\"",
        )?)
    };
    let kind = type_entry
        .as_ref()
        .map_or(Ok(default_type), |e| e.choice(TYPES))?;
    let numeric_in_text = frame.is_text() && !kind.is_text() && kind != Type::Digits;
    if let Some(entry) = &type_entry
        && (numeric_in_text || !frame.is_text() && kind.is_text())
    {
        return Err(entry.flaw(
            ProfileFault::Contradiction,
            if numeric_in_text {
                "a type that is written as text"
            } else {
                "a type that is not text"
            },
            "change the type, or `as` in [frame]",
        ));
    }
    let order = section
        .optional("order")
        .map_or(Ok(ByteOrder::BIG), |e| order::order(&e))?;
    let register = register_keys::register(section, frame, kind.bytes())?;
    let place = match register {
        Some(register) => FieldPlace::At {
            at: 0,
            len: usize::from(register.count) * 2,
        },
        None => place(section, frame, kind)?,
    };
    let scale = scale(section, kind)?;
    let encoding = encoding(section, kind, order)?;
    let unit = unit_rule(section, frame, kind)?;
    let units = units_of(&unit);
    let resolution = per_unit(section, "resolution", &units, |e| e.positive())?;
    if matches!(kind, Type::Float(_)) && resolution.is_none() {
        section.required(
            "resolution",
            "the size of one count, which a float does not show",
        )?;
    }
    let sentinels = sentinels(section, kind)?;
    let range = per_unit(section, "range", &units, range)?;
    let largest_step = per_unit(section, "largest_step", &units, |e| e.positive())?;
    let sign = match section.optional("sign") {
        Some(entry) => Some(sign(&entry, frame)?),
        None => None,
    };
    let point = match section.optional("point") {
        Some(entry) => {
            let table = entry.section("point")?;
            let place = field::place(&table, frame, Some(1))?;
            table.finish()?;
            Some(place.ok_or_else(|| {
                entry.flaw(
                    ProfileFault::Missing,
                    "a place: `at`",
                    "say where it stands",
                )
            })?)
        }
        None => None,
    };
    let id = match section.optional("id") {
        Some(entry) => Some((entry.some_bytes()?, entry.span.clone())),
        None => None,
    };
    let command = section
        .optional("command")
        .map(|e| e.some_bytes())
        .transpose()?;
    section.finish()?;
    let quantity = unit
        .default
        .or(units.first().copied())
        .map_or(QuantityKind::Number, Unit::kind);
    Ok(Draft {
        info: ChannelInfo {
            name,
            kind: quantity,
            unit: unit.default,
        },
        channel: Channel {
            index,
            place,
            encoding,
            scale,
            sign,
            point,
            unit,
            resolution,
            sentinels,
            range,
            largest_step,
        },
        span: section.span.clone(),
        id,
        command,
        register,
    })
}

fn place(section: &Section<'_>, frame: &Frame<'_>, kind: Type) -> Result<FieldPlace, Flaw> {
    if let Some(place) = field::place(section, frame, kind.bytes())? {
        return Ok(place);
    }
    if frame.is_text() && frame.columns.is_none() {
        return Ok(FieldPlace::Whole);
    }
    Err(section.flaw(
        ProfileFault::Missing,
        if frame.is_text() {
            "`column`: where the value stands"
        } else {
            "`at`: where the value stands"
        },
        "say where the value stands",
    ))
}

fn encoding(section: &Section<'_>, kind: Type, order: ByteOrder) -> Result<Encoding, Flaw> {
    Ok(match kind {
        Type::Decimal => {
            let mark = section
                .optional("decimal_mark")
                .map_or(Ok(DecimalMark::Point), |e| {
                    e.choice(&[
                        (".", DecimalMark::Point),
                        (",", DecimalMark::Comma),
                        ("either", DecimalMark::Either),
                    ])
                })?;
            let small = |key| {
                let entry = section.optional(key);
                entry
                    .map(|e| Ok(u8::try_from(e.integer(0..=15)?).unwrap_or(0)))
                    .transpose()
            };
            if let (Some(_), Some(entry)) = (
                section.optional("decimals"),
                section.optional("implied_decimals"),
            ) {
                return Err(entry.flaw(
                    ProfileFault::Contradiction,
                    "`decimals`, behind a mark, or `implied_decimals`, without one",
                    "remove one of them",
                ));
            }
            let flag = |key| {
                section
                    .optional(key)
                    .map_or(Ok(false), |entry| entry.flag())
            };
            Encoding::Decimal(DecimalRules {
                mark,
                decimals: small("decimals")?,
                implied: small("implied_decimals")?,
                digits: small("digits")?,
                exponent: flag("exponent")?,
                blanks: flag("blanks")?,
                grouping: grouping(section, mark)?,
            })
        }
        Type::Hex => Encoding::Hex { signed: false },
        Type::HexSigned => Encoding::Hex { signed: true },
        Type::Digits => Encoding::Digits,
        Type::Bcd => Encoding::Bcd(order),
        Type::Unsigned(_) => Encoding::Unsigned(order),
        Type::Signed(_) => Encoding::Signed(order),
        Type::SignMagnitude(_) => Encoding::SignMagnitude(order),
        Type::Float(_) => Encoding::Float(order),
    })
}

/// The character that parts thousands.
fn grouping(section: &Section<'_>, mark: DecimalMark) -> Result<Option<u8>, Flaw> {
    let choices = [(",", b','), ("'", b'\''), (".", b'.')];
    let Some(entry) = section.optional("grouping") else {
        return Ok(None);
    };
    let byte = entry.choice(&choices)?;
    if mark.is(byte) {
        return Err(entry.flaw(
            ProfileFault::Contradiction,
            "another character than the decimal mark",
            "correct `grouping` or `decimal_mark`",
        ));
    }
    Ok(Some(byte))
}

fn scale(section: &Section<'_>, kind: Type) -> Result<ScaleFactor, Flaw> {
    let decimals = match kind {
        Type::Decimal => None,
        _ => section.optional("decimals"),
    };
    let scale = section.optional("scale");
    if let (Some(_), Some(entry)) = (&decimals, &scale) {
        return Err(entry.flaw(
            ProfileFault::Contradiction,
            "`decimals` or `scale`",
            "remove one of them",
        ));
    }
    if let Some(entry) = decimals {
        return Ok(ScaleFactor {
            mantissa: 1,
            decimals: u8::try_from(entry.integer(0..=15)?).unwrap_or(0),
        });
    }
    let Some(entry) = scale else {
        return Ok(ScaleFactor::ONE);
    };
    let number = entry.positive()?;
    let rules = DecimalRules {
        mark: DecimalMark::Point,
        decimals: None,
        implied: None,
        digits: None,
        exponent: false,
        blanks: false,
        grouping: None,
    };
    let exact = decimal::read_whole(number.to_string().as_bytes(), rules);
    exact
        .and_then(|exact| {
            Some(ScaleFactor {
                mantissa: u32::try_from(exact.mantissa).ok().filter(|m| *m > 0)?,
                decimals: u8::try_from(exact.decimals).ok()?,
            })
        })
        .ok_or_else(|| {
            entry.flaw(
                ProfileFault::WrongValue,
                "a factor of at most nine digits",
                "write a factor such as 0.005",
            )
        })
}

/// `sign = { at = 4, minus = …, plus = … }` or `sign = { at = 0, bit = 7 }`.
fn sign(entry: &Entry<'_>, frame: &Frame<'_>) -> Result<Chooser<bool>, Flaw> {
    let table = entry.section("sign")?;
    let implied = if table.optional("len").is_some() {
        None
    } else {
        Some(1)
    };
    let place = field::place(&table, frame, implied)?.ok_or_else(|| {
        entry.flaw(
            ProfileFault::Missing,
            "a place: `at` or `column`",
            "say where the sign stands",
        )
    })?;
    let by = if let Some(bit) = table.optional("bit") {
        let bit = u8::try_from(bit.integer(0..=7)?).unwrap_or(0);
        By::Bit {
            bit,
            clear: false,
            set: true,
        }
    } else {
        let sent = table.required("sent", "the words for \"minus\" and \"plus\"")?;
        By::Words(field::words(&sent, frame, |entry| {
            entry.choice(&[("minus", true), ("plus", false)])
        })?)
    };
    table.finish()?;
    Ok(Chooser { place, by })
}
