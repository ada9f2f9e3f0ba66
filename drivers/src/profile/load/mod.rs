//! Turns a TOML text into a profile's rules, and refuses every contradiction.

mod channel;
mod checksum;
mod draft;
mod field;
mod frame;
mod order;
mod overlap;
mod register_keys;
mod registers;
mod status;
mod talk;
mod unit;

use benchhand_toml_places::PlacedTable;

use super::capture;
use super::document::{self, Section};
use super::error::{Flaw, ProfileFault};
use super::model::{Framing, TalkMode};
use super::{ChannelInfo, Rules};

/// The version of the profile format that this loader reads.
const VERSION: i64 = 1;

pub(super) fn load(text: &str, file: &str) -> Result<Rules, Flaw> {
    let parsed = document::parse(text)?;
    // Mistakes of the document as a whole point to its first character.
    let top = Section::new(PlacedTable::new(parsed.get_ref(), 0..0), "the profile");
    top.required("profile", "the version of the profile format, 1")?
        .integer(VERSION..=VERSION)?;
    let name = top.required("name", "the name that gauges refer to")?;
    let name = checked_name(&name)?;
    let title = match top.optional("title") {
        Some(entry) => entry.text()?.to_owned(),
        None => name.clone(),
    };
    let line = talk::line(&top)?;
    let talk = talk::talk(&top)?;
    let frame = frame::frame(&top)?;
    let channels = channel::channels(&top, &frame)?;
    let statuses = status::statuses(&top, &frame, &channels)?;
    let loaded = frame.complete(&top, &talk, channels, statuses)?;
    let infos: Vec<ChannelInfo> = loaded.infos;
    let captures = capture::load(&top, &infos)?;
    top.finish()?;
    if talk.mode == TalkMode::Poll && loaded.questions.is_empty() {
        return Err(top.flaw(
            ProfileFault::Missing,
            "a question to ask, since the mode is \"poll\"",
            "add `command = …` to [talk] or to each [[channel]]",
        ));
    }
    if talk.mode != TalkMode::Poll && matches!(loaded.framing, Framing::Replies) {
        return Err(top.flaw(
            ProfileFault::Contradiction,
            "mode \"poll\", since a Modbus gauge only answers",
            "write `mode = \"poll\"` in [talk]",
        ));
    }
    Ok(Rules {
        name,
        title,
        file: file.to_owned(),
        text: text.to_owned(),
        line,
        talk,
        framing: loaded.framing,
        layout: loaded.layout,
        questions: loaded.questions,
        address: loaded.address,
        channels: infos,
        captures,
    })
}

fn checked_name(entry: &document::Entry<'_>) -> Result<String, Flaw> {
    let name = entry.text()?;
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if name.is_empty() || name.len() > 64 || !name.chars().all(plain) {
        return Err(entry.flaw(
            ProfileFault::WrongValue,
            "a name of lower-case letters, digits and hyphens, at most 64",
            "write a name such as \"ascii-length\"",
        ));
    }
    Ok(name.to_owned())
}

/// Words shared by captures and fields.
pub(super) mod words {
    pub(in crate::profile) use super::field::unit;
}
