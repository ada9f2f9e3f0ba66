//! Bytes of a Modbus reply while one is waited for.

use super::driver::{LONGEST_REPLY, ProfileDriver};
use super::modbus::{self, Expected, Reply};
use super::record::{self, Context};
use crate::driver::{Decoded, Trouble};
use crate::profile::model::Answer;

impl ProfileDriver {
    /// How many of the bytes were taken.
    pub(super) fn registers(
        &mut self,
        at_us: u64,
        received: &[u8],
        question: usize,
        out: &mut Vec<Decoded>,
    ) -> usize {
        let Answer::Registers {
            address,
            function,
            bytes,
            layout,
        } = &self.conversation.question(question).answer
        else {
            return received.len();
        };
        let expected = Expected {
            address: *address,
            function: *function,
            bytes: *bytes,
        };
        let taken = modbus::step(&self.reply, expected).min(received.len());
        self.reply.extend_from_slice(&received[..taken]);
        if self.reply.len() > LONGEST_REPLY {
            self.reply.drain(..LONGEST_REPLY / 2);
        }
        let first = out.len();
        match modbus::find(&self.reply, expected) {
            Reply::NeedMore => return taken,
            Reply::Registers { at, noise } => {
                if noise > 0 {
                    out.push(Decoded::Trouble(Trouble::Skipped { bytes: noise }));
                }
                let context = Context {
                    at_us,
                    channel: None,
                    front_doubtful: false,
                    button: false,
                };
                record::read(layout, &self.reply[at], context, &mut self.memory, out);
                self.finish(at_us, first, out);
            }
            Reply::Exception { code } => {
                out.push(Decoded::Trouble(Trouble::Refused(modbus::exception(code))));
                self.conversation.answered_badly(at_us);
            }
            Reply::Corrupt { computed, stated } => {
                out.push(Decoded::Trouble(Trouble::Checksum {
                    computed: u32::from(computed),
                    stated: u32::from(stated),
                }));
                self.conversation.answered_badly(at_us);
            }
            Reply::Other { taken: of_other } => {
                // It may have begun in an earlier read: how much of this one was taken is
                // another number.
                out.push(Decoded::Trouble(Trouble::LateAnswer));
                self.reply.drain(..of_other);
                return taken;
            }
        }
        self.reply.clear();
        taken
    }
}
