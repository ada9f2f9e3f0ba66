//! Collects the bytes of an expected Modbus reply.

use super::driver::{LONGEST_REPLY, ProfileDriver};
use super::modbus::{self, ExpectedReply, ModbusReply};
use super::record::{self, FrameContext};
use crate::driver::{DecodeTrouble, Decoded};
use crate::profile::model::PollAnswer;

impl ProfileDriver {
    /// Takes bytes of a Modbus reply. Gives the bytes that were not taken.
    pub(super) fn registers<'a>(
        &mut self,
        at_us: u64,
        received: &'a [u8],
        question: usize,
        out: &mut Vec<Decoded>,
    ) -> &'a [u8] {
        let asked = self.conversation.question(question);
        let Some(PollAnswer::Registers {
            address,
            function,
            bytes,
            layout,
        }) = asked.map(|asked| &asked.answer)
        else {
            return &[];
        };
        let expected = ExpectedReply {
            address: *address,
            function: *function,
            bytes: *bytes,
        };
        let (taken, rest) = received
            .split_at_checked(modbus::step(&self.reply, expected))
            .unwrap_or((received, &[]));
        self.reply.extend_from_slice(taken);
        if self.reply.len() > LONGEST_REPLY {
            self.reply.drain(..LONGEST_REPLY / 2);
        }
        let first = out.len();
        match modbus::find(&self.reply, expected) {
            ModbusReply::NeedMore => return rest,
            ModbusReply::Registers { at, noise } => {
                if noise > 0 {
                    out.push(Decoded::Trouble(DecodeTrouble::Skipped { bytes: noise }));
                }
                let context = FrameContext {
                    at_us,
                    channel: None,
                    front_doubtful: false,
                    button: false,
                };
                let registers = self.reply.get(at).unwrap_or_default();
                record::read(layout, registers, context, &mut self.memory, out);
                self.finish(at_us, first, out);
            }
            ModbusReply::Exception { code } => {
                out.push(Decoded::Trouble(DecodeTrouble::Refused(modbus::exception(
                    code,
                ))));
                self.conversation.answered_badly(at_us);
            }
            ModbusReply::Corrupt { computed, stated } => {
                out.push(Decoded::Trouble(DecodeTrouble::Checksum {
                    computed: u32::from(computed),
                    stated: u32::from(stated),
                }));
                self.conversation.answered_badly(at_us);
            }
            ModbusReply::Other { taken: of_other } => {
                // The other reply may have begun in an earlier read, so its length is not the
                // number of bytes taken from this read.
                out.push(Decoded::Trouble(DecodeTrouble::LateAnswer));
                self.reply.drain(..of_other.min(self.reply.len()));
                return rest;
            }
        }
        self.reply.clear();
        rest
    }
}
