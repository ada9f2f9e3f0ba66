//! Turns a whole frame into samples.
//!
//! If one field of a frame cannot be read, the frame gives no value at all, because the damage may
//! have reached the other fields too.

use super::field::{Content, DecodedField, Unread, decode_field, shown};
use super::scan::find;
use super::{cells, decimal};
use crate::driver::{DecodeTrouble, Decoded};
use crate::profile::model::{By, Channel, Chooser, Encoding, Form, Layout, Sent};
use crate::profile::status_meaning::StatusMeaning;
use crate::sample::{Sample, SampleStatus};
use crate::unit::Unit;

/// Values that are remembered from frame to frame.
#[derive(Debug, Default, Clone)]
pub(crate) struct Memory {
    cells: Vec<u8>,
    columns: Vec<(usize, usize)>,
    /// The last value of each channel.
    last: Vec<Last>,
}

/// The last value of one channel.
#[derive(Debug, Default, Clone, Copy)]
struct Last {
    /// Unit and size of one count.
    scale: Option<(Unit, f64)>,
    /// The last accepted value, for channels whose jumps are judged.
    value: Option<f64>,
    /// A jump that was held back.
    jumped: Option<f64>,
}

/// The circumstances in which a frame is read.
#[derive(Debug, Clone, Copy)]
pub(crate) struct FrameContext {
    pub(crate) at_us: u64,
    /// The only channel that this frame holds, if the question decided it.
    pub(crate) channel: Option<u8>,
    /// Whether the frame may have lost bytes at its front.
    pub(crate) front_doubtful: bool,
    /// Whether a button on the gauge sent the frame.
    pub(crate) button: bool,
}

/// Reads `frame` and appends its samples or its trouble to `out`. `false` if the frame is to be
/// ignored.
pub(crate) fn read(
    layout: &Layout,
    frame: &[u8],
    context: FrameContext,
    memory: &mut Memory,
    out: &mut Vec<Decoded>,
) -> bool {
    if layout.ignore.iter().any(|start| frame.starts_with(start)) {
        return false;
    }
    let first = out.len();
    if let Err(unread) = read_all(layout, frame, context, memory, out) {
        out.truncate(first);
        out.push(Decoded::Trouble(DecodeTrouble::Unreadable(
            unread.to_string(),
        )));
    }
    true
}

fn read_all(
    layout: &Layout,
    frame: &[u8],
    context: FrameContext,
    memory: &mut Memory,
    out: &mut Vec<Decoded>,
) -> Result<(), Unread> {
    let raw = layout
        .content
        .of(frame)
        .ok_or(Unread::Missing("the content"))?;
    if let Some(wanted) = layout.width
        && raw.len() != wanted
    {
        return Err(Unread::Width {
            found: raw.len(),
            wanted,
        });
    }
    let Memory {
        cells: scratch,
        columns,
        last,
    } = memory;
    let cells = formed(layout.form, raw, scratch)?;
    columns.clear();
    if let Some(rule) = &layout.columns {
        cut(cells, &rule.separator, columns);
        if columns.len() != rule.count {
            return Err(Unread::Columns {
                found: columns.len(),
                wanted: rule.count,
            });
        }
    }
    let nibbles = matches!(
        layout.form,
        Form::HexDigits | Form::HighNibbles | Form::LowNibbles
    );
    let content = Content {
        nibbles,
        cells,
        columns,
        text: layout.form == Form::Text,
    };
    let only = match &layout.identifier {
        Some(chooser) => Some(*content.choose(chooser)?),
        None => context.channel,
    };
    for channel in &layout.channels {
        if only.is_some_and(|only| only != channel.index) {
            continue;
        }
        let field = decode_field(&content, channel)?;
        let mut status = SampleStatus {
            button: context.button,
            ..SampleStatus::default()
        };
        for rule in &layout.statuses {
            if rule.channel.is_none_or(|index| index == channel.index) {
                note(&mut status, *content.choose(&rule.chooser)?);
            }
        }
        if let DecodedField::Value {
            front_sound: false, ..
        } = field
            && context.front_doubtful
            && layout.checksum.is_none()
            && layout.width.is_none()
        {
            return Err(Unread::Front(shown(frame)));
        }
        let decoded = finish(channel, field, status, context.at_us, last)?;
        out.push(decoded);
    }
    Ok(())
}

/// Turns a decoded field into a sample, or into trouble if the value is not believable.
fn finish(
    channel: &Channel,
    field: DecodedField,
    mut status: SampleStatus,
    at_us: u64,
    last: &mut Vec<Last>,
) -> Result<Decoded, Unread> {
    let index = usize::from(channel.index);
    if last.len() <= index {
        last.resize(index + 1, Last::default());
    }
    let last = last
        .get_mut(index)
        .ok_or(Unread::Missing("a channel's value"))?;
    let sample = |value, (unit, resolution), status| {
        Decoded::Sample(Sample {
            at_us,
            channel: channel.index,
            value,
            unit,
            resolution,
            status,
        })
    };
    let (value, unit, resolution) = match field {
        DecodedField::Value {
            value,
            resolution,
            unit,
            ..
        } => (value, unit, resolution),
        DecodedField::Status(meaning, unit) => {
            note(&mut status, meaning);
            let known = last
                .scale
                .filter(|(known, _)| unit.is_none_or(|unit| unit == *known));
            let scale = known
                .or_else(|| first_scale(channel, unit))
                .ok_or(Unread::NoUnit)?;
            return Ok(sample(None, scale, status));
        }
    };
    let scale = (unit, resolution);
    if last.scale.is_some_and(|(before, _)| before != unit) {
        *last = Last::default();
    }
    last.scale = Some(scale);
    if status.overrange || status.fault {
        return Ok(sample(None, scale, status));
    }
    if let Some((low, high)) = channel.range.as_ref().and_then(|range| range.of(unit))
        && !(low..=high).contains(&value)
    {
        return Ok(trouble(format!(
            "{value} {unit} lies outside {low} to {high} {unit}"
        )));
    }
    if let Some(step) = channel.largest_step.as_ref().and_then(|step| step.of(unit))
        && let Some(before) = last.jumped_from(value, step)
    {
        return Ok(trouble(format!(
            "{value} {unit} is more than {step} {unit} from {before} {unit}; held back until a second one agrees"
        )));
    }
    Ok(sample(Some(value), scale, status))
}

impl Last {
    /// The previous value, if this value is a jump that no second value has confirmed yet.
    fn jumped_from(&mut self, value: f64, step: f64) -> Option<f64> {
        let near = |other: f64| (value - other).abs() <= step;
        match self.value {
            Some(before) if !near(before) && !self.jumped.is_some_and(near) => {
                self.jumped = Some(value);
                Some(before)
            }
            _ => {
                (self.value, self.jumped) = (Some(value), None);
                None
            }
        }
    }
}

fn trouble(text: String) -> Decoded {
    Decoded::Trouble(DecodeTrouble::Unreadable(text))
}

/// Unit and size of one count for a status that comes before any value.
fn first_scale(channel: &Channel, unit: Option<Unit>) -> Option<(Unit, f64)> {
    let unit = unit
        .or(channel.unit.default)
        .or_else(|| match &channel.unit.sent {
            Sent::OwnWords(words) => words.first().map(|(_, unit)| *unit),
            Sent::Field(Chooser {
                by: By::Words(words),
                ..
            }) => words.first().map(|(_, unit)| *unit),
            Sent::Field(Chooser {
                by: By::Bit { clear, .. },
                ..
            }) => Some(*clear),
            Sent::Never | Sent::AnySymbol(_) => None,
        })?;
    let declared = channel
        .resolution
        .as_ref()
        .and_then(|resolution| resolution.of(unit));
    let implied = match channel.encoding {
        Encoding::Decimal(rules) => rules.decimals.or(rules.implied).unwrap_or(0),
        _ => channel.scale.decimals,
    };
    Some((
        unit,
        declared.or_else(|| decimal::powered(1.0, i32::from(implied)))?,
    ))
}

fn note(status: &mut SampleStatus, meaning: StatusMeaning) {
    match meaning {
        StatusMeaning::Nothing => {}
        // "Unstable" in one field outweighs "stable" in another.
        StatusMeaning::Stable => status.stable = Some(status.stable.unwrap_or(true)),
        StatusMeaning::Unstable => status.stable = Some(false),
        StatusMeaning::Overrange => status.overrange = true,
        StatusMeaning::Hold => status.hold = true,
        StatusMeaning::LowBattery => status.low_battery = true,
        StatusMeaning::Fault => status.fault = true,
        StatusMeaning::Button => status.button = true,
    }
}

/// Converts bytes to the form's cells. `scratch` holds the cells if they differ from the bytes.
fn formed<'a>(form: Form, raw: &'a [u8], scratch: &'a mut Vec<u8>) -> Result<&'a [u8], Unread> {
    match form {
        Form::Text | Form::Bytes => return Ok(raw),
        Form::HexDigits => {
            cells::nibbles_of_hex(raw, scratch).ok_or_else(|| Unread::Hex(shown(raw)))?;
        }
        Form::HexBytes => {
            cells::bytes_of_hex(raw, scratch).ok_or_else(|| Unread::Hex(shown(raw)))?;
        }
        Form::HighNibbles | Form::LowNibbles => {
            scratch.clear();
            for byte in raw {
                let (high, low) = (byte >> 4, byte & 0x0F);
                scratch.extend(if form == Form::HighNibbles {
                    [high, low]
                } else {
                    [low, high]
                });
            }
        }
    }
    Ok(scratch)
}

/// Splits a text into columns. An empty separator means runs of blanks.
fn cut(text: &[u8], separator: &[u8], columns: &mut Vec<(usize, usize)>) {
    if separator.is_empty() {
        let mut from = 0_usize;
        for word in text.split(u8::is_ascii_whitespace) {
            let to = from.saturating_add(word.len());
            if !word.is_empty() {
                columns.push((from, to));
            }
            from = to.saturating_add(1);
        }
        return;
    }
    let mut from = 0_usize;
    while let Some(length) = text.get(from..).and_then(|rest| find(rest, separator)) {
        let to = from.saturating_add(length);
        columns.push((from, to));
        from = to.saturating_add(separator.len());
    }
    columns.push((from, text.len()));
}
