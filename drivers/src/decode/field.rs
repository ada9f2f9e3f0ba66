//! Finds fields in a frame's content and reads them.
//!
//! This module knows places, encodings, words and units. It does not judge whether a value is
//! believable.

use super::cells::{self, RawCount};
use super::scan::find;
use super::{decimal, phrase};
use crate::profile::model::{By, Channel, Chooser, Encoding, FieldPlace, Sent, Sentinel, Word};
use crate::profile::status_meaning::StatusMeaning;
use crate::unit::Unit;

/// The content of one frame, ready for fields to be looked up.
pub(super) struct Content<'a> {
    pub(super) cells: &'a [u8],
    pub(super) columns: &'a [(usize, usize)],
    pub(super) text: bool,
    /// Whether a cell is a nibble. A word of several cells then counts in sixteens.
    pub(super) nibbles: bool,
}

impl<'a> Content<'a> {
    /// The field at this place. Blanks around a column of text are removed.
    pub(super) fn field(&self, place: &FieldPlace) -> Option<&'a [u8]> {
        match place {
            FieldPlace::Whole => Some(self.cells.trim_ascii()),
            FieldPlace::At { at, len } => self.cells.get(*at..at.checked_add(*len)?),
            FieldPlace::Column(column) => {
                let (from, to) = self.columns.get(*column)?;
                Some(self.cells.get(*from..*to)?.trim_ascii())
            }
            FieldPlace::Label(label) => {
                let (before, rest) = self.cells.split_at_checked(find(self.cells, label)?)?;
                let behind = rest.strip_prefix(&label[..])?;
                // The label's first letter must not be the end of a longer word.
                let preceded = [before.last(), label.first()]
                    .into_iter()
                    .all(|byte| byte.is_some_and(u8::is_ascii_alphanumeric));
                (!preceded).then(|| behind.trim_ascii_start())
            }
        }
    }

    pub(super) fn choose<'r, T>(&self, chooser: &'r Chooser<T>) -> Result<&'r T, Unread> {
        let field = self
            .field(&chooser.place)
            .ok_or(Unread::Missing("a status or unit field"))?;
        match &chooser.by {
            By::Bit { bit, clear, set } => {
                let cell = field
                    .first()
                    .ok_or(Unread::Missing("a status or unit field"))?;
                Ok(if cell >> bit & 1 == 1 { set } else { clear })
            }
            By::Words(words) => words
                .iter()
                .find(|(word, _)| self.is(field, word, &chooser.place))
                .map(|(_, meaning)| meaning)
                .ok_or_else(|| Unread::Word(shown(field))),
        }
    }

    fn is(&self, field: &[u8], word: &Word, place: &FieldPlace) -> bool {
        match word {
            Word::Text(text) if matches!(place, FieldPlace::Label(_)) => field.starts_with(text),
            Word::Text(text) => field.trim_ascii() == text.trim_ascii(),
            Word::Number(number) => {
                let (bits, most) = if self.nibbles { (4, 16) } else { (8, 8) };
                let found = field
                    .iter()
                    .fold(0u64, |n, cell| n << bits | u64::from(*cell));
                field.len() <= most && found == *number
            }
        }
    }
}

/// Why a frame could not be read.
#[derive(Debug, thiserror::Error)]
pub(super) enum Unread {
    #[error("the frame holds no such field: {0}")]
    Missing(&'static str),
    #[error("unknown word {0} in a status, unit or identifier field")]
    Word(String),
    #[error("no number in {0}")]
    Number(String),
    #[error("unknown unit {0}")]
    Unit(String),
    #[error("no unit was sent and the profile names none")]
    NoUnit,
    #[error("{found} characters instead of {wanted}")]
    Width { found: usize, wanted: usize },
    #[error("{found} columns instead of {wanted}")]
    Columns { found: usize, wanted: usize },
    #[error("not hex digits: {0}")]
    Hex(String),
    #[error("the frame may have been cut at its front and is passed over: {0}")]
    Front(String),
}

/// The decoded field of one channel.
pub(super) enum DecodedField {
    Value {
        value: f64,
        resolution: f64,
        unit: Unit,
        front_sound: bool,
    },
    /// A status in place of a value. The unit is there if a separate field gives it.
    Status(StatusMeaning, Option<Unit>),
}

/// Decodes the field of one channel, independent of the rest of the frame.
pub(super) fn decode_field(
    content: &Content<'_>,
    channel: &Channel,
) -> Result<DecodedField, Unread> {
    let field = content
        .field(&channel.place)
        .ok_or(Unread::Missing("a channel's value"))?;
    let unit_beside = || match &channel.unit.sent {
        Sent::Field(chooser) => content.choose(chooser).ok().copied(),
        _ => None,
    };
    if let Some(meaning) = sentinel(content, field, channel) {
        return Ok(DecodedField::Status(meaning, unit_beside()));
    }
    let number = number(field, channel).ok_or_else(|| Unread::Number(shown(field)))?;
    if let Some(meaning) = counted_sentinel(&number, channel) {
        return Ok(DecodedField::Status(meaning, unit_beside()));
    }
    let unit = unit(content, &number, channel)?;
    let extra = match &channel.point {
        None => 0,
        Some(place) => {
            let cell = content.field(place).and_then(<[u8]>::first).copied();
            let digit = cell.and_then(cells::digit).filter(|digit| *digit <= 9);
            i32::from(digit.ok_or_else(|| Unread::Number(shown(content.cells)))?)
        }
    };
    let negative = match &channel.sign {
        Some(sign) => *content.choose(sign)?,
        None => false,
    };
    let scaled = match number.size {
        Size::Decimal(decimal) => decimal::Decimal {
            decimals: decimal.decimals.saturating_add(extra),
            ..decimal
        }
        .scaled(channel.scale),
        Size::Count(count) => count.scaled(channel.scale, extra),
        Size::Float(float) => Some((float, 1.0))
            .filter(|(value, _)| value.is_finite())
            .and_then(|(value, count)| {
                let scaled = value * f64::from(channel.scale.mantissa);
                Some((
                    decimal::powered(scaled, i32::from(channel.scale.decimals))?,
                    count,
                ))
            }),
    };
    let (value, count) = scaled.ok_or_else(|| Unread::Number(shown(field)))?;
    let resolution = channel
        .resolution
        .as_ref()
        .map_or(Some(count), |table| table.of(unit));
    // Adding zero turns a negative zero into a plain one.
    let value = if negative { -value } else { value } + 0.0;
    Ok(DecodedField::Value {
        value,
        unit,
        resolution: resolution.ok_or_else(|| Unread::Unit(unit.symbol().to_owned()))?,
        front_sound: number.front_sound,
    })
}

enum Size {
    Decimal(decimal::Decimal),
    Count(RawCount),
    Float(f64),
}

struct Number<'a> {
    size: Size,
    /// The text behind the number, where a unit may stand.
    tail: &'a [u8],
    /// Whether a cut at the frame's front would have been noticed.
    front_sound: bool,
}

fn number<'a>(field: &'a [u8], channel: &Channel) -> Option<Number<'a>> {
    // A column further right has a separator before it, so its front is whole.
    let front = !matches!(channel.place, FieldPlace::Column(0) | FieldPlace::At { .. });
    let plain = |size| Number {
        size,
        tail: &[],
        front_sound: front,
    };
    Some(match (channel.encoding, &channel.place) {
        (Encoding::Decimal(rules), FieldPlace::Whole) => {
            let phrase = phrase::read(field, rules)?;
            Number {
                size: Size::Decimal(phrase.number),
                tail: if phrase.tail.is_empty() {
                    unit_before(phrase.label, channel)
                } else {
                    phrase.tail
                },
                front_sound: !phrase.label.is_empty() || phrase.number.signed && !rules.exponent,
            }
        }
        (Encoding::Decimal(rules), FieldPlace::Label(_)) => {
            let mut rest = field;
            let found = decimal::read(&mut rest, rules)?;
            // The unit ends where the next label begins.
            let tail = rest.trim_ascii_start();
            let end = tail
                .iter()
                .position(|byte| byte.is_ascii_whitespace() || matches!(byte, b',' | b';'));
            let (tail, _) = tail.split_at_checked(end.unwrap_or(tail.len()))?;
            let tail = if tail.iter().any(|b| matches!(b, b':' | b'=')) {
                &[]
            } else {
                tail
            };
            Number {
                size: Size::Decimal(found),
                tail,
                front_sound: true,
            }
        }
        (Encoding::Decimal(rules), _) => {
            if matches!(channel.unit.sent, Sent::AnySymbol(_) | Sent::OwnWords(_)) {
                let (found, tail) = phrase::number_and_tail(field.trim_ascii(), rules)?;
                Number {
                    size: Size::Decimal(found),
                    tail,
                    front_sound: front || found.signed,
                }
            } else {
                let found = decimal::read_whole(field, rules)?;
                let signed = found.signed && !rules.exponent;
                Number {
                    size: Size::Decimal(found),
                    tail: &[],
                    front_sound: front || signed,
                }
            }
        }
        (Encoding::Hex { signed }, _) => {
            plain(Size::Count(cells::hex(field.trim_ascii(), signed)?))
        }
        (Encoding::Digits, _) => plain(Size::Count(cells::digits(field)?)),
        (Encoding::Bcd(order), _) => plain(Size::Count(cells::bcd(field, order)?)),
        (Encoding::Unsigned(order), _) => plain(Size::Count(cells::unsigned(field, order)?)),
        (Encoding::Signed(order), _) => plain(Size::Count(cells::signed(field, order)?)),
        (Encoding::SignMagnitude(order), _) => {
            plain(Size::Count(cells::sign_magnitude(field, order)?))
        }
        (Encoding::Float(order), _) => plain(Size::Float(cells::float(field, order)?)),
    })
}

/// The unit in a label such as `mm` in "mm 12.5". A unit of another sort of quantity is a label.
fn unit_before<'a>(label: &'a [u8], channel: &Channel) -> &'a [u8] {
    let kind = channel.unit.default.map(Unit::kind);
    let own = matches!(&channel.unit.sent, Sent::OwnWords(words) if words.iter().any(|(word, _)| word == label));
    let symbol = std::str::from_utf8(label).ok().and_then(crate::unit::sent);
    let is_unit = own || symbol.is_some_and(|unit| Some(unit.kind()) == kind);
    if is_unit { label } else { &[] }
}

/// The meaning of a sentinel that is a text, or a float that is not a number.
fn sentinel(content: &Content<'_>, field: &[u8], channel: &Channel) -> Option<StatusMeaning> {
    let found = |sentinel: &Sentinel| match sentinel {
        Sentinel::Text(text) if channel.place == FieldPlace::Whole => phrase::has_word(field, text),
        Sentinel::Text(text) if matches!(channel.place, FieldPlace::Label(_)) => {
            field
                .split(|b| b.is_ascii_whitespace() || *b == b',')
                .next()
                == Some(text)
        }
        Sentinel::Text(text) => content.text && field.trim_ascii() == &text[..],
        Sentinel::NotANumber => match channel.encoding {
            Encoding::Float(order) => cells::float(field, order).is_some_and(|f| !f.is_finite()),
            _ => false,
        },
        Sentinel::Count(_) => false,
    };
    channel
        .sentinels
        .iter()
        .find(|(sentinel, _)| found(sentinel))
        .map(|(_, meaning)| *meaning)
}

/// The meaning of a sentinel that is a number before scaling.
fn counted_sentinel(number: &Number<'_>, channel: &Channel) -> Option<StatusMeaning> {
    #[expect(clippy::cast_precision_loss, reason = "sentinels are small integers")]
    let is = |wanted: i64| match number.size {
        Size::Count(RawCount(count)) => count == wanted,
        Size::Decimal(decimal) => decimal.count() == wanted,
        Size::Float(float) => float == wanted as f64,
    };
    let found = |sentinel: &Sentinel| matches!(sentinel, Sentinel::Count(count) if is(*count));
    channel
        .sentinels
        .iter()
        .find(|(sentinel, _)| found(sentinel))
        .map(|(_, meaning)| *meaning)
}

fn unit(content: &Content<'_>, number: &Number<'_>, channel: &Channel) -> Result<Unit, Unread> {
    let tail = number.tail.trim_ascii();
    let default = || channel.unit.default.ok_or(Unread::NoUnit);
    let symbol = || std::str::from_utf8(tail).ok().and_then(crate::unit::sent);
    match &channel.unit.sent {
        Sent::Field(chooser) if tail.is_empty() => content.choose(chooser).copied(),
        // The gauge may send its only unit, but no other.
        Sent::Never if tail.is_empty() || symbol() == channel.unit.default => default(),
        Sent::AnySymbol(_) | Sent::OwnWords(_) if tail.is_empty() => default(),
        Sent::AnySymbol(kind) => symbol()
            .filter(|unit| unit.kind() == *kind)
            .ok_or_else(|| Unread::Unit(shown(tail))),
        Sent::OwnWords(words) => words
            .iter()
            .find(|(word, _)| word == tail)
            .map(|(_, unit)| *unit)
            .ok_or_else(|| Unread::Unit(shown(tail))),
        Sent::Never | Sent::Field(_) => Err(Unread::Unit(shown(tail))),
    }
}

/// Bytes as readable text, shortened.
pub(super) fn shown(bytes: &[u8]) -> String {
    let cut = bytes.get(..40).unwrap_or(bytes);
    format!(
        "\"{}{}\"",
        cut.escape_ascii(),
        if cut.len() < bytes.len() { "…" } else { "" }
    )
}
