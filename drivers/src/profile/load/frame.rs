//! `[frame]`: where frames begin and end, their checksum, and the form of their content.

use super::checksum::{self, LONGEST, stretch};
use super::order;
use crate::profile::document::{Entry, Section};
use crate::profile::error::{Flaw, ProfileFault};
use crate::profile::model::{
    Checksum, Columns, Escape, Form, Framing, LengthField, LineEnd, Stretch,
};
use crate::profile::number::ByteOrder;

/// A frame as declared, before its fields are known.
pub(super) struct Frame<'a> {
    pub(super) section: Section<'a>,
    pub(super) framing: Framing,
    pub(super) checksum: Option<Checksum>,
    pub(super) content: Stretch,
    pub(super) form: Form,
    pub(super) columns: Option<Columns>,
    pub(super) width: Option<usize>,
    pub(super) ignore: Vec<Vec<u8>>,
    pub(super) identifier: Option<Entry<'a>>,
    /// For Modbus: the address, and how many unwanted registers may be read between wanted ones.
    pub(super) modbus: Option<(u8, u16)>,
}

impl Frame<'_> {
    pub(super) fn is_text(&self) -> bool {
        self.form == Form::Text
    }

    /// The number of positions in the content, if it is always the same.
    pub(super) fn positions(&self) -> Option<usize> {
        let bytes = match (&self.framing, self.width) {
            (_, Some(width)) => width,
            (Framing::Fixed { length, .. }, None) => self.content.range(*length)?.len(),
            _ => return None,
        };
        Some(match self.form {
            Form::Text | Form::Bytes | Form::HexDigits => bytes,
            Form::HexBytes => bytes / 2,
            Form::HighNibbles | Form::LowNibbles => bytes.saturating_mul(2),
        })
    }
}

#[derive(Clone, Copy, PartialEq)]
enum QuantityKind {
    Line,
    Framed,
    Fixed,
    Counted,
    Modbus,
}

pub(super) fn frame<'a>(top: &Section<'a>) -> Result<Frame<'a>, Flaw> {
    let section = top
        .required("frame", "where a frame begins and ends")?
        .section("[frame]")?;
    let kind = section
        .required(
            "kind",
            "\"line\", \"framed\", \"fixed\", \"counted\" or \"modbus-rtu\"",
        )?
        .choice(&[
            ("line", QuantityKind::Line),
            ("framed", QuantityKind::Framed),
            ("fixed", QuantityKind::Fixed),
            ("counted", QuantityKind::Counted),
            ("modbus-rtu", QuantityKind::Modbus),
        ])?;
    if kind == QuantityKind::Modbus {
        return modbus(section);
    }
    let framing = framing(&section, kind)?;
    let checksum = match section.optional("checksum") {
        Some(entry) => Some(checksum::declared_checksum(&entry, &framing)?),
        None => None,
    };
    let content = content(&section, &framing, checksum.as_ref())?;
    let form = form(&section)?;
    let columns = columns(&section, form)?;
    let width = section
        .optional("width")
        .map(|e| e.count(1..=LONGEST))
        .transpose()?;
    let ignore = match section.optional("ignore") {
        Some(entry) => entry
            .list()?
            .iter()
            .map(Entry::some_bytes)
            .collect::<Result<_, _>>()?,
        None => Vec::new(),
    };
    let identifier = section.optional("identifier");
    section.finish()?;
    let alone = matches!(&framing, Framing::Fixed { sync, .. } if sync.is_empty());
    if alone && checksum.is_none() {
        return Err(section.flaw(
            ProfileFault::Missing,
            "a way to find where a fixed frame begins: `sync` or `checksum`",
            "add `sync = [{ at = 0, is = … }]`",
        ));
    }
    Ok(Frame {
        section,
        framing,
        checksum,
        content,
        form,
        columns,
        width,
        ignore,
        identifier,
        modbus: None,
    })
}

fn modbus(section: Section<'_>) -> Result<Frame<'_>, Flaw> {
    let address = section.required("address", "the gauge's Modbus address, 1 to 247")?;
    let address = u8::try_from(address.integer(1..=247)?).unwrap_or(1);
    let gap = section
        .optional("largest_gap")
        .map(|e| e.integer(0..=100))
        .transpose()?;
    section.finish()?;
    Ok(Frame {
        section,
        framing: Framing::Replies,
        checksum: None,
        content: Stretch::ALL,
        form: Form::Bytes,
        columns: None,
        width: None,
        ignore: Vec::new(),
        identifier: None,
        modbus: Some((address, u16::try_from(gap.unwrap_or(0)).unwrap_or(0))),
    })
}

fn framing(section: &Section<'_>, kind: QuantityKind) -> Result<Framing, Flaw> {
    let longest = |default| {
        section
            .optional("longest")
            .map_or(Ok(default), |entry| entry.count(1..=LONGEST))
    };
    Ok(match kind {
        QuantityKind::Line => {
            let end = match section.optional("end") {
                Some(entry) if entry.is_text() && entry.text()? == "any" => LineEnd::Any,
                Some(entry) => LineEnd::Exactly(entry.some_bytes()?),
                None => LineEnd::Any,
            };
            Framing::Line {
                end,
                longest: longest(256)?,
            }
        }
        QuantityKind::Framed => Framing::Framed {
            start: section
                .required("start", "the bytes that open a frame")?
                .some_bytes()?,
            end: section
                .required("end", "the bytes that close a frame")?
                .some_bytes()?,
            escape: section.optional("escape").map(|e| escape(&e)).transpose()?,
            trailer: section
                .optional("trailer")
                .map_or(Ok(0), |e| e.count(0..=16))?,
            longest: longest(256)?,
        },
        QuantityKind::Fixed => {
            let entry = section.required("length", "the number of bytes in a frame")?;
            let length = entry.count(1..=LONGEST)?;
            let sync = sync(section, Some(length))?;
            Framing::Fixed { length, sync }
        }
        QuantityKind::Counted | QuantityKind::Modbus => {
            let longest = longest(256)?;
            let sync = sync(section, None)?;
            let entry = section.required("count", "where the frame states its length")?;
            let table = entry.section("count")?;
            let at = table
                .required("at", "the position of the length")?
                .count(0..=255)?;
            let len = table.optional("len").map_or(Ok(1), |e| e.count(1..=4))?;
            let order = table
                .optional("order")
                .map_or(Ok(ByteOrder::BIG), |e| order::order(&e))?;
            let adds = table
                .optional("adds")
                .map_or(Ok(0), |e| e.integer(-64..=256))?;
            table.finish()?;
            if sync.is_empty() {
                return Err(section.flaw(
                    ProfileFault::Missing,
                    "bytes that show where a counted frame begins",
                    "add `sync = [{ at = 0, is = … }]`",
                ));
            }
            Framing::Counted {
                sync,
                count: LengthField {
                    at,
                    len,
                    order,
                    adds,
                },
                longest,
            }
        }
    })
}

fn escape(entry: &Entry<'_>) -> Result<Escape, Flaw> {
    let table = entry.section("escape")?;
    let byte = table.required("byte", "the byte that escapes the next one")?;
    let bytes = byte.some_bytes()?;
    let [single] = bytes[..] else {
        return Err(byte.flaw(
            ProfileFault::WrongValue,
            "a single byte",
            "write one character or two hex digits",
        ));
    };
    let xor = table
        .optional("xor")
        .map_or(Ok(0), |e| e.integer(0..=255))?;
    table.finish()?;
    Ok(Escape {
        byte: single,
        xor: u8::try_from(xor).unwrap_or(0),
    })
}

fn sync(section: &Section<'_>, length: Option<usize>) -> Result<Vec<(usize, Vec<u8>)>, Flaw> {
    let Some(entry) = section.optional("sync") else {
        return Ok(Vec::new());
    };
    let list = if entry.is_list() {
        entry.list()?
    } else {
        vec![entry]
    };
    let mut all: Vec<(usize, Vec<u8>)> = Vec::new();
    for entry in list {
        let (at, bytes) = if entry.is_text() {
            (0, entry.some_bytes()?)
        } else {
            let table = entry.section("sync")?;
            let at = table
                .optional("at")
                .map_or(Ok(0), |e| e.count(0..=LONGEST))?;
            let bytes = table
                .required("is", "the bytes that always stand there")?
                .some_bytes()?;
            table.finish()?;
            (at, bytes)
        };
        let end = at.saturating_add(bytes.len());
        if length.is_some_and(|length| end > length) {
            return Err(entry.flaw(
                ProfileFault::OutsideFrame,
                format!("a place within the frame's {} bytes", length.unwrap_or(0)),
                "correct `at`, `is` or `length`",
            ));
        }
        let overlaps =
            |(other, is): &(usize, Vec<u8>)| at < other.saturating_add(is.len()) && *other < end;
        if all.iter().any(overlaps) {
            return Err(entry.flaw(
                ProfileFault::Overlap,
                "places that do not overlap",
                "correct `at`",
            ));
        }
        all.push((at, bytes));
    }
    Ok(all)
}

/// The part of the frame without its ends and without a checksum at its tail.
fn content(
    section: &Section<'_>,
    framing: &Framing,
    checksum: Option<&Checksum>,
) -> Result<Stretch, Flaw> {
    if let Some(entry) = section.optional("content") {
        return stretch(&entry);
    }
    let size = |n: usize| i32::try_from(n).unwrap_or(0);
    // A checksum right before this place, which is counted from the frame's end, is not content.
    let before_checksum = |end: i32| {
        checksum
            .filter(|sum| sum.at < end && sum.at.saturating_add(size(sum.len())) == end)
            .map_or(end, |sum| sum.at)
    };
    Ok(match framing {
        Framing::Line { .. } => Stretch {
            from: 0,
            to: before_checksum(0),
        },
        Framing::Framed {
            start,
            end,
            trailer,
            ..
        } => {
            let around = size(end.len()).saturating_add(size(*trailer));
            Stretch {
                from: size(start.len()),
                to: before_checksum(around.saturating_neg()),
            }
        }
        Framing::Fixed { .. } | Framing::Counted { .. } | Framing::Replies => Stretch::ALL,
    })
}

fn form(section: &Section<'_>) -> Result<Form, Flaw> {
    section.optional("as").map_or(Ok(Form::Text), |entry| {
        entry.choice(&[
            ("text", Form::Text),
            ("bytes", Form::Bytes),
            ("hex-bytes", Form::HexBytes),
            ("hex-digits", Form::HexDigits),
            ("high-nibbles", Form::HighNibbles),
            ("low-nibbles", Form::LowNibbles),
        ])
    })
}

fn columns(section: &Section<'_>, form: Form) -> Result<Option<Columns>, Flaw> {
    let Some(entry) = section.optional("separator") else {
        return Ok(None);
    };
    if form != Form::Text {
        return Err(entry.flaw(
            ProfileFault::Contradiction,
            "no separator, since only text has columns",
            "remove it, or write `as = \"text\"`",
        ));
    }
    let separator = if entry.text()? == "blanks" {
        Vec::new()
    } else {
        entry.some_bytes()?
    };
    let count = section
        .required("columns", "how many columns a frame has")?
        .count(1..=64)?;
    Ok(Some(Columns { separator, count }))
}
