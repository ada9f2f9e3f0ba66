//! Modbus registers: where values stand, and which of them one request can fetch together.

use super::draft::{Draft, Register, StatusDraft};
use super::field;
use super::frame::Frame;
use super::overlap;
use crate::decode::modbus_request;
use crate::profile::document::Section;
use crate::profile::error::{Flaw, ProfileFault};
use crate::profile::model::{
    By, Channel, Chooser, FieldPlace, Form, Framing, Layout, PollAnswer, PollQuestion, Stretch,
    Talk, TalkMode,
};
use crate::profile::{ChannelInfo, model};

/// Most registers that one request may ask for ("MODBUS Application Protocol V1.1b3", 6.3).
const MOST_REGISTERS: u32 = 125;

/// A profile's frame with its fields.
pub(super) struct Loaded {
    pub(super) framing: Framing,
    pub(super) layout: Layout,
    pub(super) questions: Vec<PollQuestion>,
    pub(super) address: Option<u8>,
    pub(super) infos: Vec<ChannelInfo>,
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

/// The field that tells which channel a frame holds, if there is one.
fn identifier(frame: &Frame<'_>, channels: &[Draft]) -> Result<Option<Chooser<u8>>, Flaw> {
    let Some(entry) = &frame.identifier else {
        return match channels.iter().find_map(|draft| draft.id.as_ref()) {
            Some((_, span)) => Err(Flaw::new(
                ProfileFault::Contradiction,
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
    let place = field::place(&table, frame, implied)?.unwrap_or(FieldPlace::Whole);
    table.finish()?;
    let mut words: Vec<(model::Word, u8)> = Vec::new();
    for draft in channels {
        let Some((id, span)) = &draft.id else {
            return Err(Flaw::new(
                ProfileFault::Missing,
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
                ProfileFault::Duplicate,
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
fn questions(
    top: &Section<'_>,
    talk: &Talk,
    channels: &[Draft],
) -> Result<Vec<PollQuestion>, Flaw> {
    let own: Vec<PollQuestion> = channels
        .iter()
        .filter_map(|draft| {
            let send = draft.command.clone()?;
            Some(PollQuestion {
                send,
                answer: PollAnswer::Frame {
                    channel: Some(draft.channel.index),
                },
            })
        })
        .collect();
    let contradiction = |expected: &str| {
        Err(top.flaw(
            ProfileFault::Contradiction,
            expected,
            "correct `command` in [talk] and [[channel]]",
        ))
    };
    match &talk.command {
        None if talk.mode != TalkMode::Poll && !own.is_empty() => {
            contradiction("no `command`, since only a gauge of mode \"poll\" is asked")
        }
        None if !own.is_empty() && own.len() != channels.len() => {
            contradiction("a `command` for each channel, or one in [talk] for all")
        }
        None => Ok(own),
        Some(_) if !own.is_empty() => {
            contradiction("`command` either in [talk] for all channels or in each [[channel]]")
        }
        Some(send) => Ok(vec![PollQuestion {
            send: send.clone(),
            answer: PollAnswer::Frame { channel: None },
        }]),
    }
}

/// Groups registers that one request can fetch.
fn groups(channels: &[Draft], statuses: &[StatusDraft], largest_gap: u16) -> Vec<PollQuestion> {
    let mut wanted: Vec<Register> = channels.iter().filter_map(|draft| draft.register).collect();
    wanted.extend(statuses.iter().filter_map(|draft| draft.register));
    wanted.sort_by_key(|r| (r.address, r.function, r.first, r.count));
    let mut groups: Vec<Register> = Vec::new();
    for register in wanted {
        let end = register.end();
        match groups.last_mut() {
            Some(group)
                if (group.address, group.function) == (register.address, register.function)
                    && u32::from(register.first)
                        <= group.end().saturating_add(u32::from(largest_gap))
                    && end <= u32::from(group.first).saturating_add(MOST_REGISTERS) =>
            {
                let count = end.saturating_sub(u32::from(group.first));
                group.count = group.count.max(u16::try_from(count).unwrap_or(u16::MAX));
            }
            _ => groups.push(register),
        }
    }
    groups
        .into_iter()
        .map(|group| question(group, channels, statuses))
        .collect()
}

fn question(group: Register, channels: &[Draft], statuses: &[StatusDraft]) -> PollQuestion {
    let offset = |register: Register| {
        let own = (register.address, register.function) == (group.address, group.function);
        let before = register.first.checked_sub(group.first)?;
        (own && before < group.count).then(|| usize::from(before) * 2)
    };
    let channels: Vec<Channel> = channels
        .iter()
        .filter_map(|draft| {
            let register = draft.register?;
            let place = FieldPlace::At {
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
            if let FieldPlace::At { at, .. } = &mut rule.chooser.place {
                *at = at.saturating_add(offset);
            }
            Some(rule)
        })
        .collect();
    let bytes = u8::try_from(group.count.saturating_mul(2)).unwrap_or(u8::MAX);
    PollQuestion {
        send: modbus_request(group.address, group.function, group.first, group.count),
        answer: PollAnswer::Registers {
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
