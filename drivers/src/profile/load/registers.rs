//! Modbus registers: where values stand, and which of them one request can fetch together.

use super::channel::{Draft, Register};
use super::field;
use super::frame::Frame;
use super::overlap;
use super::status::StatusDraft;
use crate::decode::modbus_request;
use crate::profile::document::{Entry, Section};
use crate::profile::error::{Fault, Flaw};
use crate::profile::model::{
    Answer, By, Channel, Chooser, Form, Framing, Layout, Mode, Place, Question, Stretch, Talk,
};
use crate::profile::{ChannelInfo, model};

/// Most registers that one request may ask for ("MODBUS Application Protocol V1.1b3", 6.3).
const MOST_REGISTERS: u16 = 125;

/// A profile's frame with its fields.
pub(super) struct Loaded {
    pub(super) framing: Framing,
    pub(super) layout: Layout,
    pub(super) questions: Vec<Question>,
    pub(super) address: Option<u8>,
    pub(super) infos: Vec<ChannelInfo>,
}

/// The register keys of a channel or status; `None` where the frame is no Modbus.
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
                Fault::Contradiction,
                "a type of 16, 32 or 64 bits, since registers have 16",
                "choose a type such as \"i16\" or \"f32\"",
            )
        })?;
    let count = u16::try_from(bytes / 2).unwrap_or(1);
    if u32::from(number) + u32::from(count) > 65_536 {
        return Err(first.flaw(
            Fault::OutsideFrame,
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
            place: Place::At { at: 0, len: 2 },
            by: By::Words(words),
        });
    };
    let number = u8::try_from(bit.integer(0..=15)?).unwrap_or(0);
    let set = meaning(&section.required("set", "what it means when the bit is 1")?)?;
    let clear = meaning(&section.required("clear", "what it means when the bit is 0")?)?;
    let at = usize::from(number < 8);
    Ok(Chooser {
        place: Place::At { at, len: 1 },
        by: By::Bit {
            bit: number % 8,
            clear,
            set,
        },
    })
}

impl Frame<'_> {
    /// Puts frame, channels and questions together.
    pub(super) fn complete(
        self,
        top: &Section<'_>,
        talk: &Talk,
        channels: Vec<Draft>,
        statuses: Vec<StatusDraft>,
    ) -> Result<Loaded, Flaw> {
        let infos: Vec<ChannelInfo> = channels.iter().map(|draft| draft.info.clone()).collect();
        if let Some((address, largest_gap)) = self.modbus {
            overlap::registers(&channels)?;
            let questions = groups(&channels, &statuses, largest_gap);
            let layout = empty_layout();
            return Ok(Loaded {
                framing: self.framing,
                layout,
                questions,
                address: Some(address),
                infos,
            });
        }
        overlap::fields(&self, &channels, &statuses)?;
        let identifier = identifier(&self, &channels)?;
        let questions = questions(top, talk, &channels)?;
        let layout = Layout {
            checksum: self.checksum,
            content: self.content,
            form: self.form,
            columns: self.columns,
            width: self.width,
            ignore: self.ignore,
            identifier,
            statuses: statuses.into_iter().map(|draft| draft.rule).collect(),
            channels: channels.into_iter().map(|draft| draft.channel).collect(),
        };
        Ok(Loaded {
            framing: self.framing,
            layout,
            questions,
            address: None,
            infos,
        })
    }
}

fn empty_layout() -> Layout {
    Layout {
        checksum: None,
        content: Stretch::ALL,
        form: Form::Bytes,
        columns: None,
        width: None,
        ignore: Vec::new(),
        identifier: None,
        statuses: Vec::new(),
        channels: Vec::new(),
    }
}

/// Which channel a frame is about, where the frame says so.
fn identifier(frame: &Frame<'_>, channels: &[Draft]) -> Result<Option<Chooser<u8>>, Flaw> {
    let Some(entry) = &frame.identifier else {
        return match channels.iter().find_map(|draft| draft.id.as_ref()) {
            Some((_, span)) => Err(Flaw::new(
                Fault::Contradiction,
                span.clone(),
                "`id`",
                "`identifier` in [frame], which says where the identifier stands",
                "add `identifier = { at = … }` or the like",
            )),
            None => Ok(None),
        };
    };
    let table = entry.section("identifier")?;
    let implied = if table.optional("len").is_some() {
        None
    } else {
        Some(1)
    };
    let place = field::place(&table, frame, implied)?.unwrap_or(Place::Whole);
    table.finish()?;
    let mut words: Vec<(model::Word, u8)> = Vec::new();
    for draft in channels {
        let Some((id, span)) = &draft.id else {
            return Err(Flaw::new(
                Fault::Missing,
                draft.span.clone(),
                "[[channel]] without `id`",
                "`id`, since [frame] has an `identifier`",
                "add `id = …` to each channel",
            ));
        };
        let word = if frame.is_text() {
            model::Word::Text(id.clone())
        } else {
            model::Word::Number(id.iter().fold(0, |n, byte| n << 8 | u64::from(*byte)))
        };
        if words.iter().any(|(other, _)| *other == word) {
            return Err(Flaw::new(
                Fault::Duplicate,
                span.clone(),
                "`id`",
                "an identifier that no other channel has",
                "correct one of them",
            ));
        }
        words.push((word, draft.channel.index));
    }
    Ok(Some(Chooser {
        place,
        by: By::Words(words),
    }))
}

/// The questions of a gauge that is not Modbus: one for all channels, or one for each.
fn questions(top: &Section<'_>, talk: &Talk, channels: &[Draft]) -> Result<Vec<Question>, Flaw> {
    let own: Vec<Question> = channels
        .iter()
        .filter_map(|draft| {
            let send = draft.command.clone()?;
            Some(Question {
                send,
                answer: Answer::Frame {
                    channel: Some(draft.channel.index),
                },
            })
        })
        .collect();
    let contradiction = |expected: &str| {
        Err(top.flaw(
            Fault::Contradiction,
            expected,
            "correct `command` in [talk] and [[channel]]",
        ))
    };
    match &talk.command {
        None if talk.mode != Mode::Poll && !own.is_empty() => {
            contradiction("no `command`, since only a gauge of mode \"poll\" is asked")
        }
        None if !own.is_empty() && own.len() != channels.len() => {
            contradiction("a `command` for each channel, or one in [talk] for all")
        }
        None => Ok(own),
        Some(_) if !own.is_empty() => {
            contradiction("`command` either in [talk] for all channels or in each [[channel]]")
        }
        Some(send) => Ok(vec![Question {
            send: send.clone(),
            answer: Answer::Frame { channel: None },
        }]),
    }
}

/// Gathers registers that can be fetched by one request.
fn groups(channels: &[Draft], statuses: &[StatusDraft], largest_gap: u16) -> Vec<Question> {
    let mut wanted: Vec<Register> = channels.iter().filter_map(|draft| draft.register).collect();
    wanted.extend(statuses.iter().filter_map(|draft| draft.register));
    wanted.sort_by_key(|r| (r.address, r.function, r.first, r.count));
    let mut groups: Vec<Register> = Vec::new();
    for register in wanted {
        let end = register.first + (register.count - 1);
        match groups.last_mut() {
            Some(group)
                if (group.address, group.function) == (register.address, register.function)
                    && u32::from(register.first)
                        <= u32::from(group.first)
                            + u32::from(group.count)
                            + u32::from(largest_gap)
                    && end - group.first < MOST_REGISTERS =>
            {
                group.count = group.count.max(end - group.first + 1);
            }
            _ => groups.push(register),
        }
    }
    groups
        .into_iter()
        .map(|group| question(group, channels, statuses))
        .collect()
}

fn question(group: Register, channels: &[Draft], statuses: &[StatusDraft]) -> Question {
    let offset = |register: Register| {
        let inside = (register.address, register.function) == (group.address, group.function)
            && register.first >= group.first
            && register.first - group.first < group.count;
        inside.then(|| usize::from(register.first - group.first) * 2)
    };
    let channels: Vec<Channel> = channels
        .iter()
        .filter_map(|draft| {
            let register = draft.register?;
            let place = Place::At {
                at: offset(register)?,
                len: usize::from(register.count) * 2,
            };
            Some(Channel {
                place,
                ..draft.channel.clone()
            })
        })
        .collect();
    let statuses = statuses
        .iter()
        .filter_map(|draft| {
            let offset = offset(draft.register?)?;
            let mut rule = draft.rule.clone();
            if let Place::At { at, .. } = &mut rule.chooser.place {
                *at += offset;
            }
            Some(rule)
        })
        .collect();
    let bytes = u8::try_from(group.count * 2).unwrap_or(u8::MAX);
    Question {
        send: modbus_request(group.address, group.function, group.first, group.count),
        answer: Answer::Registers {
            address: group.address,
            function: group.function,
            bytes,
            layout: Box::new(Layout {
                channels,
                statuses,
                ..empty_layout()
            }),
        },
    }
}
