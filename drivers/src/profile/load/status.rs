//! `[[status]]`, and the sentinels that stand in place of a number.

use super::draft::{Draft, StatusDraft, Type};
use super::field;
use super::frame::Frame;
use super::register_keys;
use crate::profile::document::{Entry, Section};
use crate::profile::error::{Flaw, ProfileFault};
use crate::profile::model::{Sentinel, StatusRule};
use crate::profile::status_meaning::{STATUS_WORDS, StatusMeaning};

pub(super) fn statuses(
    top: &Section<'_>,
    frame: &Frame<'_>,
    channels: &[Draft],
) -> Result<Vec<StatusDraft>, Flaw> {
    let Some(list) = top.optional("status") else {
        return Ok(Vec::new());
    };
    let mut all = Vec::new();
    for entry in list.list()? {
        let section = entry.section("[[status]]")?;
        let channel = match section.optional("channel") {
            Some(entry) => {
                let name = entry.text()?;
                let known = channels.iter().find(|draft| draft.info.name == name);
                Some(known.map(|draft| draft.channel.index).ok_or_else(|| {
                    entry.flaw(
                        ProfileFault::WrongValue,
                        "the name of a channel",
                        "correct the name",
                    )
                })?)
            }
            None => None,
        };
        let meaning = |entry: &Entry<'_>| entry.choice(STATUS_WORDS);
        let register = register_keys::register(&section, frame, Some(2))?;
        let chooser = if register.is_some() {
            register_keys::status(&section, frame, meaning)?
        } else {
            field::chooser(&section, frame, "words", meaning)?
        };
        section.finish()?;
        let rule = StatusRule { channel, chooser };
        all.push(StatusDraft {
            rule,
            span: section.span.clone(),
            register,
        });
    }
    Ok(all)
}

pub(super) fn sentinels(
    section: &Section<'_>,
    kind: Type,
) -> Result<Vec<(Sentinel, StatusMeaning)>, Flaw> {
    let Some(list) = section.optional("sentinels") else {
        return Ok(Vec::new());
    };
    let mut all: Vec<(Sentinel, StatusMeaning)> = Vec::new();
    for entry in list.list()? {
        let table = entry.section("a sentinel")?;
        let is = table.required("is", "what stands in place of a number")?;
        let says = table
            .required("says", "what it means")?
            .choice(STATUS_WORDS)?;
        table.finish()?;
        let sentinel = if !is.is_text() {
            Sentinel::Count(is.integer(i64::MIN..=i64::MAX)?)
        } else if matches!(kind, Type::Float(_)) && is.text()? == "nan" {
            Sentinel::NotANumber
        } else if kind.is_text() || kind == Type::Digits {
            Sentinel::Text(is.some_bytes()?)
        } else {
            return Err(is.flaw(
                ProfileFault::WrongType,
                "a whole number before scaling, or \"nan\" for a float",
                "write the number that stands in place of a value",
            ));
        };
        if all.iter().any(|(other, _)| *other == sentinel) {
            return Err(is.flaw(
                ProfileFault::Duplicate,
                "each sentinel once",
                "remove one of them",
            ));
        }
        all.push((sentinel, says));
    }
    Ok(all)
}
