//! The driver that follows a profile.
//!
//! It joins framing, fields and conversation. It opens nothing and reads no clock.

use std::sync::Arc;

use super::conversation::Conversation;
use super::framer::{Found, Framer};
use super::modbus::{self, ExpectedReply, ModbusReply};
use super::parity::ParityMasking;
use super::phase::BytesMeaning;
use super::record::{self, FrameContext, Memory};
use crate::driver::{DecodeTrouble, Decoded, Driver, NextAction};
use crate::profile::model::{Framing, PollAnswer, TalkMode};
use crate::profile::{DriverOptions, JoinPoint, Rules};

/// Most bytes that a reply can have.
pub(super) const LONGEST_REPLY: usize = 512;

/// A [`Driver`] that follows a profile.
#[derive(Debug)]
pub struct ProfileDriver {
    rules: Arc<Rules>,
    options: DriverOptions,
    masking: ParityMasking,
    framer: Framer,
    pub(super) memory: Memory,
    pub(super) conversation: Conversation,
    /// The first frame may have lost its front.
    front_doubtful: bool,
    /// Bytes that must still come before the answer itself: the echo, then the acknowledgement.
    prefix: Vec<u8>,
    /// Bytes of the answer held until it is clear whether they are a refusal.
    held: Vec<u8>,
    /// Bytes of a Modbus reply.
    pub(super) reply: Vec<u8>,
}

impl ProfileDriver {
    pub(crate) fn new(rules: Arc<Rules>, options: DriverOptions) -> Self {
        let gap_us = rules.line.byte_us().saturating_mul(4).max(2_000);
        let mut driver = Self {
            masking: ParityMasking::new(rules.line.format),
            framer: Framer::new(rules.framing.clone(), rules.layout.checksum.clone()),
            memory: Memory::default(),
            conversation: Conversation::new(&rules.talk, rules.questions_for(options), gap_us),
            front_doubtful: false,
            prefix: Vec::new(),
            held: Vec::new(),
            reply: Vec::new(),
            rules,
            options,
        };
        driver.doubt_front();
        driver
    }

    /// Doubts the first line of a gauge that sends by itself. The port may have been opened in the
    /// middle of a line, and the rest of that line can look like a plausible but wrong number.
    fn doubt_front(&mut self) {
        self.front_doubtful = self.options.joined == JoinPoint::Midway
            && self.rules.talk.mode == TalkMode::Stream
            && matches!(self.rules.framing, Framing::Line { .. });
    }

    /// Notes that these bytes were sent at `at_us`. A player of a recorded stream calls this
    /// instead of [`Driver::next`], because it follows the recorded questions.
    pub fn sent(&mut self, at_us: u64, bytes: &[u8]) {
        if self.masking.is_plain() {
            self.conversation.sent(at_us, bytes);
            return self.expect_answer(bytes);
        }
        let bytes: Vec<u8> = bytes.iter().map(|b| b & 0x7F).collect();
        self.conversation.sent(at_us, &bytes);
        self.expect_answer(&bytes);
    }

    fn expect_answer(&mut self, question: &[u8]) {
        if self.rules.talk.mode == TalkMode::Poll {
            self.framer.clear();
        }
        self.reply.clear();
        self.held.clear();
        self.prefix.clear();
        let rules = self.conversation.rules();
        if rules.echo {
            self.prefix.extend_from_slice(question);
        }
        self.prefix.extend_from_slice(&rules.acknowledge);
    }

    fn take(&mut self, at_us: u64, mut bytes: &[u8], out: &mut Vec<Decoded>) {
        while let Some((first, rest)) = bytes.split_first() {
            match self.conversation.meaning() {
                BytesMeaning::Stream => {
                    self.stream(at_us, bytes, out);
                    return;
                }
                BytesMeaning::Late { first } => {
                    if first {
                        out.push(Decoded::Trouble(DecodeTrouble::LateAnswer));
                    }
                    return;
                }
                BytesMeaning::StartUp => {
                    if self.conversation.start_up(at_us, &[*first]) == Some(false) {
                        let text = "the answer to a start-up command is not the expected one";
                        out.push(Decoded::Trouble(DecodeTrouble::Refused(text.to_owned())));
                    }
                }
                BytesMeaning::Answer { question } => {
                    bytes = self.answer(at_us, bytes, question, out);
                    continue;
                }
                BytesMeaning::Unasked => self.unasked(at_us, *first, out),
            }
            bytes = rest;
        }
    }

    /// Takes bytes of a gauge that sends by itself.
    fn stream(&mut self, at_us: u64, bytes: &[u8], out: &mut Vec<Decoded>) {
        let Self {
            framer,
            rules,
            memory,
            front_doubtful,
            ..
        } = self;
        let button = rules.talk.mode == TalkMode::Button;
        framer.push(bytes, &mut |found| match found {
            Found::Frame(frame) => {
                let front_doubtful = std::mem::take(front_doubtful);
                let context = FrameContext {
                    at_us,
                    channel: None,
                    front_doubtful,
                    button,
                };
                record::read(&rules.layout, frame, context, memory, out);
            }
            other => out.extend(as_trouble(&other).map(Decoded::Trouble)),
        });
    }

    /// Takes bytes while an answer is expected. Gives the bytes that were not taken.
    fn answer<'a>(
        &mut self,
        at_us: u64,
        bytes: &'a [u8],
        question: usize,
        out: &mut Vec<Decoded>,
    ) -> &'a [u8] {
        let asked = self.conversation.question(question);
        if asked.is_some_and(|asked| matches!(asked.answer, PollAnswer::Registers { .. })) {
            return self.registers(at_us, bytes, question, out);
        }
        let Some((first, rest)) = bytes.split_first() else {
            return bytes;
        };
        self.answer_byte(at_us, *first, question, out);
        rest
    }

    fn answer_byte(&mut self, at_us: u64, byte: u8, question: usize, out: &mut Vec<Decoded>) {
        self.held.push(byte);
        let refusal = &self.conversation.rules().refusal;
        let acknowledge = self.conversation.rules().acknowledge.len();
        let behind_echo = self.prefix.len() <= acknowledge;
        if behind_echo && !refusal.is_empty() && refusal.starts_with(&self.held) {
            if self.held.len() == refusal.len() {
                let shown = refusal.escape_ascii().to_string();
                out.push(Decoded::Trouble(DecodeTrouble::Refused(format!(
                    "it answered \"{shown}\""
                ))));
                self.conversation.answered_badly(at_us);
            }
            return;
        }
        for byte in std::mem::take(&mut self.held) {
            self.answer_proper(at_us, byte, question, out);
        }
    }

    fn answer_proper(&mut self, at_us: u64, byte: u8, question: usize, out: &mut Vec<Decoded>) {
        if self.prefix.first() == Some(&byte) {
            self.prefix.remove(0);
            return;
        }
        if !self.prefix.is_empty() {
            // Noise before the echo or acknowledgement is ignored. The timeout ends the wait.
            return;
        }
        let mut whole = None;
        let Self {
            framer,
            rules,
            memory,
            conversation,
            ..
        } = self;
        let asked = conversation.question(question).map(|asked| &asked.answer);
        let Some(PollAnswer::Frame { channel }) = asked.cloned() else {
            return;
        };
        let first = out.len();
        framer.push(&[byte], &mut |found| match found {
            Found::Frame(frame) => {
                let context = FrameContext {
                    at_us,
                    channel,
                    front_doubtful: false,
                    button: false,
                };
                if record::read(&rules.layout, frame, context, memory, out) {
                    whole = Some(true);
                }
            }
            other => {
                if matches!(other, Found::Mismatch { .. }) {
                    whole = Some(false);
                }
                out.extend(as_trouble(&other).map(Decoded::Trouble));
            }
        });
        match whole {
            Some(true) => self.finish(at_us, first, out),
            Some(false) => self.conversation.answered_badly(at_us),
            None => {}
        }
    }

    /// Ends an answer. Its values are withheld if they may belong to an earlier question.
    pub(super) fn finish(&mut self, at_us: u64, first: usize, out: &mut Vec<Decoded>) {
        if !self.conversation.answered(at_us) {
            out.truncate(first);
            out.push(Decoded::Trouble(DecodeTrouble::Withheld));
        }
    }

    /// Takes one byte that nobody asked for. A whole answer, or any part of an answer without a
    /// checksum, shows that question and answer are out of step.
    fn unasked(&mut self, at_us: u64, byte: u8, out: &mut Vec<Decoded>) {
        if self.rules.talk.mode != TalkMode::Poll {
            return;
        }
        let late = if matches!(self.rules.framing, Framing::Replies) {
            self.reply.push(byte);
            if self.reply.len() > LONGEST_REPLY {
                self.reply.drain(..LONGEST_REPLY / 2);
            }
            let nobody = ExpectedReply {
                address: 0,
                function: 0,
                bytes: 0,
            };
            modbus::find(&self.reply, nobody) != ModbusReply::NeedMore
        } else if self.rules.layout.checksum.is_some() {
            let mut whole = false;
            self.framer.push(&[byte], &mut |found| {
                whole |= matches!(found, Found::Frame(_))
            });
            whole
        } else {
            !byte.is_ascii_whitespace() && !self.rules.ends_with(byte)
        };
        if late {
            out.push(Decoded::Trouble(DecodeTrouble::LateAnswer));
            self.reply.clear();
            self.framer.clear();
            self.conversation.surplus(at_us);
        }
    }
}

fn as_trouble(found: &Found<'_>) -> Option<DecodeTrouble> {
    match found {
        Found::Frame(_) => None,
        Found::Skipped(bytes) => Some(DecodeTrouble::Skipped { bytes: *bytes }),
        Found::Mismatch {
            computed,
            stated: Some(stated),
        } => Some(DecodeTrouble::Checksum {
            computed: *computed,
            stated: *stated,
        }),
        Found::Mismatch {
            computed,
            stated: None,
        } => Some(DecodeTrouble::Unreadable(format!(
            "there is no checksum at its place; {computed:#X} was expected"
        ))),
    }
}

impl Driver for ProfileDriver {
    fn next(&mut self, now_us: u64) -> NextAction {
        match self.conversation.next(now_us) {
            NextAction::Send(bytes) => {
                self.expect_answer(&bytes);
                NextAction::Send(bytes.iter().map(|byte| self.masking.dress(*byte)).collect())
            }
            other => other,
        }
    }

    fn receive(&mut self, at_us: u64, bytes: &[u8], out: &mut Vec<Decoded>) {
        self.conversation.pass(at_us);
        if self.conversation.take_unanswered() {
            out.push(Decoded::Trouble(DecodeTrouble::NoAnswer));
        }
        if self.masking.is_plain() {
            return self.take(at_us, bytes, out);
        }
        let mut bad = 0_usize;
        for byte in bytes {
            match self.masking.judge(*byte) {
                Some(data) => self.take(at_us, &[data], out),
                None => {
                    bad = bad.saturating_add(1);
                    self.framer.spoil(&mut |found| {
                        out.extend(as_trouble(&found).map(Decoded::Trouble));
                    });
                }
            }
        }
        if bad > 0 {
            out.push(Decoded::Trouble(DecodeTrouble::Parity { bytes: bad }));
        }
    }

    fn restart(&mut self) {
        self.conversation.restart();
        self.framer.clear();
        self.memory = Memory::default();
        self.expect_answer(&[]);
        self.prefix.clear();
        self.doubt_front();
    }
}
