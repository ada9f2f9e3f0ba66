//! `[line]`, `[talk]` and `[[start]]`.

use crate::profile::document::Section;
use crate::profile::error::{Flaw, ProfileFault};
use crate::profile::model::{AnswerRules, StartStep, Talk, TalkMode};
use crate::serial_settings::SerialSettings;

pub(super) fn line(top: &Section<'_>) -> Result<SerialSettings, Flaw> {
    let section = top
        .required("line", "the settings of the serial line")?
        .section("[line]")?;
    let baud = section
        .required("baud", "bits a second")?
        .integer(50..=4_000_000)?;
    let format = section.required("format", "the word format, such as \"8N1\"")?;
    let parsed = format.text()?.parse().map_err(|_| {
        format.flaw(
            ProfileFault::WrongValue,
            "data bits (7 or 8), parity (N, E or O) and stop bits (1 or 2)",
            "write a format such as \"8N1\" or \"7E1\"",
        )
    })?;
    let rts = section
        .optional("rts")
        .map(|entry| entry.flag())
        .transpose()?;
    let dtr = section
        .optional("dtr")
        .map(|entry| entry.flag())
        .transpose()?;
    section.finish()?;
    Ok(SerialSettings {
        baud: u32::try_from(baud).unwrap_or(9600),
        format: parsed,
        rts,
        dtr,
    })
}

pub(super) fn talk(top: &Section<'_>) -> Result<Talk, Flaw> {
    let section = top
        .required("talk", "how the gauge sends")?
        .section("[talk]")?;
    let mode_entry = section.required("mode", "\"stream\", \"poll\" or \"button\"")?;
    let mode = mode_entry.choice(&[
        ("stream", TalkMode::Stream),
        ("poll", TalkMode::Poll),
        ("button", TalkMode::Button),
    ])?;
    let millis = |key| {
        section
            .optional(key)
            .map(|entry| entry.milliseconds())
            .transpose()
    };
    let period_us = millis("period_ms")?;
    let settle_us = millis("settle_ms")?.unwrap_or(0);
    let polled = [
        "command",
        "timeout_ms",
        "window_ms",
        "retries",
        "echo",
        "acknowledge",
        "refusal",
        "thanks",
    ];
    if mode != TalkMode::Poll
        && let Some(entry) = polled.iter().find_map(|key| section.optional(key))
    {
        return Err(entry.flaw(
            ProfileFault::Contradiction,
            "no question, since only a gauge of mode \"poll\" is asked",
            "remove it, or write `mode = \"poll\"`",
        ));
    }
    if mode == TalkMode::Poll && period_us.is_none() {
        section.required("period_ms", "the time from one question to the next")?;
    }
    let timeout_us = match section.optional("timeout_ms") {
        Some(entry) if entry.milliseconds()? == 0 => {
            let advice = "write how long an answer may take, such as 500";
            return Err(entry.flaw(ProfileFault::WrongValue, "a time above 0", advice));
        }
        Some(entry) => entry.milliseconds()?,
        None => 300_000,
    };
    let bytes = |key| {
        section
            .optional(key)
            .map(|entry| entry.some_bytes())
            .transpose()
    };
    let rules = AnswerRules {
        timeout_us,
        window_us: millis("window_ms")?.unwrap_or(timeout_us),
        retries: retries(&section)?,
        echo: section
            .optional("echo")
            .map(|entry| entry.flag())
            .transpose()?
            .unwrap_or(false),
        acknowledge: bytes("acknowledge")?.unwrap_or_default(),
        refusal: bytes("refusal")?.unwrap_or_default(),
        thanks: bytes("thanks")?.unwrap_or_default(),
    };
    let command = bytes("command")?;
    section.finish()?;
    Ok(Talk {
        mode,
        period_us,
        settle_us,
        command,
        start: start(top)?,
        rules,
    })
}

fn retries(section: &Section<'_>) -> Result<u32, Flaw> {
    let entry = section.optional("retries");
    let retries = entry
        .map(|entry| entry.integer(0..=100))
        .transpose()?
        .unwrap_or(0);
    Ok(u32::try_from(retries).unwrap_or(0))
}

fn start(top: &Section<'_>) -> Result<Vec<StartStep>, Flaw> {
    let Some(list) = top.optional("start") else {
        return Ok(Vec::new());
    };
    list.list()?
        .iter()
        .map(|entry| {
            let section = entry.section("[[start]]")?;
            let send = section
                .required("send", "the command to send after opening")?
                .some_bytes()?;
            let expect = section
                .optional("expect")
                .map(|e| e.some_bytes())
                .transpose()?;
            let timeout = section
                .optional("timeout_ms")
                .map(|e| e.milliseconds())
                .transpose()?;
            let retries = retries(&section)?;
            section.finish()?;
            Ok(StartStep {
                send,
                expect: expect.unwrap_or_default(),
                timeout_us: timeout.unwrap_or(1_000_000).max(1),
                retries,
            })
        })
        .collect()
}
