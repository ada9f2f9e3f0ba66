//! The captures in a profile, and the samples that they must give.
//!
//! Each capture is played through the driver that also reads the gauge.

use super::document::{Entry, Section};
use super::error::{Flaw, ProfileFault};
use super::model::TalkMode;
use super::status_meaning::{STATUS_WORDS, StatusMeaning};
use super::{ChannelInfo, DriverOptions, JoinPoint, Profile};
use crate::driver::{DecodeTrouble, Decoded, Driver, NextAction};
use crate::sample::{Sample, SampleStatus};
use crate::unit::Unit;

/// A short exchange of bytes, and the samples that it must give.
#[derive(Debug, Clone)]
pub(crate) struct ByteCapture {
    note: String,
    steps: Vec<Step>,
    gives: Vec<ExpectedSample>,
    troubles: usize,
}

#[derive(Debug, Clone, Default)]
struct Step {
    /// The question that the driver must have asked. `None` if any question will do.
    sent: Option<Vec<u8>>,
    received: Vec<u8>,
}

/// A sample that a capture must give.
#[derive(Debug, Clone, PartialEq)]
pub struct ExpectedSample {
    /// The channel, counted from 0.
    pub channel: u8,
    /// The value, or `None` if the gauge sent a status in its place.
    pub value: Option<f64>,
    /// The unit of the value.
    pub unit: Unit,
    /// The size of one count, if the capture states it.
    pub resolution: Option<f64>,
    /// The gauge's status.
    pub status: SampleStatus,
}

impl ExpectedSample {
    fn fits(&self, sample: &Sample) -> bool {
        self.channel == sample.channel
            && self.value == sample.value
            && self.unit == sample.unit
            && self.status
                == SampleStatus {
                    button: false,
                    ..sample.status
                }
            && self
                .resolution
                .is_none_or(|resolution| resolution == sample.resolution)
    }
}

/// A capture that did not give the expected samples.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("capture {number} ({note}): {what}")]
pub struct ByteCaptureFailure {
    /// Number of the capture, counted from 1.
    pub number: usize,
    /// The note of the capture.
    pub note: String,
    /// The difference between found and expected.
    pub what: String,
}

pub(super) fn load(top: &Section<'_>, channels: &[ChannelInfo]) -> Result<Vec<ByteCapture>, Flaw> {
    let Some(list) = top.optional("capture") else {
        return Ok(Vec::new());
    };
    list.list()?
        .iter()
        .map(|entry| capture(entry, channels))
        .collect()
}

fn capture(entry: &Entry<'_>, channels: &[ChannelInfo]) -> Result<ByteCapture, Flaw> {
    let section = entry.section("[[capture]]")?;
    let note = section
        .optional("note")
        .map(|e| e.text())
        .transpose()?
        .unwrap_or("without a note");
    let steps = if let Some(exchange) = section.optional("exchange") {
        exchange
            .list()?
            .iter()
            .map(|entry| {
                let table = entry.section("an exchange")?;
                let sent = table.optional("sent").map(|e| e.bytes()).transpose()?;
                let received = table.required("received", "what the gauge sent")?.bytes()?;
                table.finish()?;
                Ok(Step { sent, received })
            })
            .collect::<Result<_, Flaw>>()?
    } else {
        let received = section
            .required("received", "what the gauge sent")?
            .bytes()?;
        vec![Step {
            sent: None,
            received,
        }]
    };
    let gives = section
        .required("gives", "the samples that it must give, as a list")?
        .list()?
        .iter()
        .map(|entry| expectation(entry, channels))
        .collect::<Result<_, _>>()?;
    let troubles = section
        .optional("troubles")
        .map_or(Ok(0), |e| e.count(0..=1000))?;
    section.finish()?;
    Ok(ByteCapture {
        note: note.to_owned(),
        steps,
        gives,
        troubles,
    })
}

fn expectation(entry: &Entry<'_>, channels: &[ChannelInfo]) -> Result<ExpectedSample, Flaw> {
    let table = entry.section("a sample")?;
    let channel = match table.optional("channel") {
        None => 0,
        Some(entry) => {
            let name = entry.text()?;
            let index = channels
                .iter()
                .position(|channel| channel.name == name)
                .ok_or_else(|| {
                    entry.flaw(
                        ProfileFault::WrongValue,
                        "the name of a channel",
                        "correct the name",
                    )
                })?;
            u8::try_from(index).unwrap_or(0)
        }
    };
    let own_unit = channels
        .get(usize::from(channel))
        .and_then(|channel| channel.unit);
    let value = table.optional("value").map(|e| e.number()).transpose()?;
    let unit = match table.optional("unit") {
        Some(entry) => super::load_words::unit(&entry)?,
        None => own_unit.ok_or_else(|| {
            table.flaw(
                ProfileFault::Missing,
                "`unit`, since the channel has no fixed one",
                "add `unit = …`",
            )
        })?,
    };
    let resolution = table
        .optional("resolution")
        .map(|e| e.positive())
        .transpose()?;
    let mut status = SampleStatus::default();
    if let Some(list) = table.optional("says") {
        for entry in list.list()? {
            match entry.choice(STATUS_WORDS)? {
                StatusMeaning::Nothing | StatusMeaning::Button => {}
                StatusMeaning::Stable => status.stable = Some(true),
                StatusMeaning::Unstable => status.stable = Some(false),
                StatusMeaning::Overrange => status.overrange = true,
                StatusMeaning::Hold => status.hold = true,
                StatusMeaning::LowBattery => status.low_battery = true,
                StatusMeaning::Fault => status.fault = true,
            }
        }
    }
    table.finish()?;
    if value.is_none() && status == SampleStatus::default() {
        return Err(table.flaw(
            ProfileFault::Missing,
            "`value`, or what the gauge says in place of one",
            "add `value = …` or `says = [\"overrange\"]`",
        ));
    }
    Ok(ExpectedSample {
        channel,
        value,
        unit,
        resolution,
        status,
    })
}

/// Plays every capture through the profile's own driver.
pub(super) fn check(
    profile: &Profile,
    captures: &[ByteCapture],
) -> Result<usize, Vec<ByteCaptureFailure>> {
    let failures: Vec<ByteCaptureFailure> = captures
        .iter()
        .zip(1..)
        .filter_map(|(capture, number)| {
            let what = failure(profile, capture)?;
            Some(ByteCaptureFailure {
                number,
                note: capture.note.clone(),
                what,
            })
        })
        .collect();
    if failures.is_empty() {
        Ok(captures.len())
    } else {
        Err(failures)
    }
}

fn failure(profile: &Profile, capture: &ByteCapture) -> Option<String> {
    let options = DriverOptions {
        joined: JoinPoint::AtStart,
        address: None,
    };
    let mut driver = profile.profile_driver(options);
    let mut out = Vec::new();
    let mut now = 0_u64;
    for step in &capture.steps {
        let asked = asked(&mut driver, &mut now);
        if profile.mode() == TalkMode::Poll && asked.is_none() {
            return Some("the driver asked nothing before this answer".to_owned());
        }
        if let (Some(wanted), asked) = (&step.sent, asked.unwrap_or_default())
            && *wanted != asked
        {
            return Some(format!(
                "the driver asked \"{}\" instead of \"{}\"",
                asked.escape_ascii(),
                wanted.escape_ascii()
            ));
        }
        now = now.saturating_add(1000);
        driver.receive(now, &step.received, &mut out);
    }
    compare(capture, &out)
}

/// The driver's next question. Lets time pass until it comes.
fn asked(driver: &mut impl Driver, now: &mut u64) -> Option<Vec<u8>> {
    const MOST_TURNS: usize = 16;
    for _ in 0..MOST_TURNS {
        match driver.next(*now) {
            NextAction::Send(bytes) => return Some(bytes),
            NextAction::Wait { until_us } => *now = until_us,
            NextAction::Drain => {}
            NextAction::Listen => break,
        }
    }
    None
}

fn compare(capture: &ByteCapture, out: &[Decoded]) -> Option<String> {
    let samples: Vec<&Sample> = out
        .iter()
        .filter_map(|decoded| match decoded {
            Decoded::Sample(sample) => Some(sample),
            Decoded::Trouble(_) => None,
        })
        .collect();
    let troubles: Vec<&DecodeTrouble> = out
        .iter()
        .filter_map(|decoded| match decoded {
            Decoded::Sample(_) => None,
            Decoded::Trouble(trouble) => Some(trouble),
        })
        .collect();
    for (number, pair) in (1..).zip(capture.gives.iter().zip(&samples)) {
        let (expected, sample) = pair;
        if !expected.fits(sample) {
            return Some(format!(
                "sample {number} is {sample:?} instead of {expected:?}"
            ));
        }
    }
    if samples.len() != capture.gives.len() || troubles.len() != capture.troubles {
        return Some(format!(
            "gave {} samples and {} troubles ({troubles:?}) instead of {} and {}",
            samples.len(),
            troubles.len(),
            capture.gives.len(),
            capture.troubles
        ));
    }
    None
}
