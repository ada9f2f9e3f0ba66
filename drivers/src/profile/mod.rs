//! A text file that describes how one kind of gauge talks, checked and typed.
//!
//! A profile knows lines, frames, fields and units. It does not know which gauge of the shop
//! follows it, nor what is measured with that gauge.

mod capture;
mod document;
mod error;
mod load;
use load::words as load_words;
pub(crate) mod model;
pub(crate) mod number;
mod registry;
pub(crate) mod status_meaning;

use std::sync::Arc;

pub use capture::{ByteCaptureFailure, ExpectedSample};
pub use error::{ProfileError, ProfileFault};
pub use model::TalkMode;
pub use number::{ByteOrder, DecimalMark, DecimalRules, ScaleFactor};
pub use registry::{BUILT_IN, ProfileRegistry};
pub use status_meaning::StatusMeaning;

use crate::decode::ProfileDriver;
use crate::driver::Driver;
use crate::serial_settings::SerialSettings;
use crate::unit::{QuantityKind, Unit};
use capture::ByteCapture;
use model::{Framing, Layout, LineEnd, PollAnswer, PollQuestion, Talk};

/// How one kind of gauge talks. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Profile {
    rules: Arc<Rules>,
}

/// A profile's content.
#[derive(Debug)]
pub(crate) struct Rules {
    pub(crate) name: String,
    pub(crate) title: String,
    pub(crate) file: String,
    pub(crate) text: String,
    pub(crate) line: SerialSettings,
    pub(crate) talk: Talk,
    pub(crate) framing: Framing,
    pub(crate) layout: Layout,
    pub(crate) questions: Vec<PollQuestion>,
    /// The Modbus address of channels that name none.
    pub(crate) address: Option<u8>,
    pub(crate) channels: Vec<ChannelInfo>,
    pub(crate) captures: Vec<ByteCapture>,
}

impl Rules {
    /// The questions. The options may replace the Modbus address.
    pub(crate) fn questions_for(&self, options: DriverOptions) -> Vec<PollQuestion> {
        let mut questions = self.questions.clone();
        let (Some(wanted), Some(own)) = (options.address, self.address) else {
            return questions;
        };
        for question in &mut questions {
            if let PollAnswer::Registers { address, .. } = &mut question.answer
                && *address == own
            {
                *address = wanted;
                let [_, function, a, b, c, d, ..] = question.send[..] else {
                    continue;
                };
                let (first, count) = (u16::from_be_bytes([a, b]), u16::from_be_bytes([c, d]));
                question.send = crate::decode::modbus_request(wanted, function, first, count);
            }
        }
        questions
    }

    /// Whether a frame may end with this byte.
    pub(crate) fn ends_with(&self, byte: u8) -> bool {
        match &self.framing {
            Framing::Line {
                end: LineEnd::Exactly(end),
                ..
            } => end.contains(&byte),
            Framing::Framed { end, .. } => end.contains(&byte),
            _ => false,
        }
    }
}

/// A channel of a profile, as shown to people and checks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChannelInfo {
    /// The name in the profile.
    pub name: String,
    /// The sort of quantity that the channel measures.
    pub kind: QuantityKind,
    /// The unit of a value that names no unit. `None` if every value names its unit.
    pub unit: Option<Unit>,
}

/// Options of a driver besides its profile.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DriverOptions {
    /// Where in the gauge's sending the first byte stands.
    pub joined: JoinPoint,
    /// A Modbus address in place of the profile's.
    pub address: Option<u8>,
}

/// Where in a gauge's sending the first byte stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum JoinPoint {
    /// Anywhere. The first line of a gauge that sends by itself is believed only if it shows that
    /// nothing is missing at its front.
    #[default]
    Midway,
    /// The first byte begins a frame.
    AtStart,
}

impl Profile {
    /// Reads and checks a profile. `file` is only used to name the place of a mistake.
    ///
    /// # Errors
    /// The first mistake, with line and column.
    pub fn parse(text: &str, file: &str) -> Result<Self, ProfileError> {
        load::load(text, file)
            .map(|rules| Self {
                rules: Arc::new(rules),
            })
            .map_err(|flaw| flaw.located(file, text))
    }

    /// The profile's name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.rules.name
    }

    /// The purpose of the profile, in a few words.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.rules.title
    }

    /// The name of the file that the profile was read from, as the loader gave it.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.rules.file
    }

    /// The text of the profile, byte for byte.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.rules.text
    }

    /// The settings of the gauge's line.
    #[must_use]
    pub fn line(&self) -> SerialSettings {
        self.rules.line
    }

    /// How the gauge sends.
    #[must_use]
    pub fn mode(&self) -> TalkMode {
        self.rules.talk.mode
    }

    /// The time between two values in microseconds, if the profile states it.
    #[must_use]
    pub fn period(&self) -> Option<u64> {
        self.rules.talk.period_us
    }

    /// The time without a value after which the gauge is called silent, in microseconds: the
    /// longer of 2 s and three periods. `None` for a gauge that sends when a button is pressed.
    #[must_use]
    pub fn silence_after(&self) -> Option<u64> {
        const LEAST_US: u64 = 2_000_000;
        match self.mode() {
            TalkMode::Button => None,
            _ => Some(self.period().unwrap_or(0).saturating_mul(3).max(LEAST_US)),
        }
    }

    /// The channels. A sample's `channel` is an index into this list.
    #[must_use]
    pub fn channels(&self) -> &[ChannelInfo] {
        &self.rules.channels
    }

    /// A driver that follows this profile.
    #[must_use]
    pub fn driver(&self, options: DriverOptions) -> Box<dyn Driver> {
        Box::new(self.profile_driver(options))
    }

    /// The same driver by its type, for players of recorded streams.
    #[must_use]
    pub fn profile_driver(&self, options: DriverOptions) -> ProfileDriver {
        ProfileDriver::new(Arc::clone(&self.rules), options)
    }

    /// Runs the captures that the profile carries.
    ///
    /// # Errors
    /// Every capture that did not give the expected samples.
    pub fn check_captures(&self) -> Result<usize, Vec<ByteCaptureFailure>> {
        capture::check(self, &self.rules.captures)
    }
}

#[cfg(test)]
mod tests;
