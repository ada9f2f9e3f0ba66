//! The unit of a channel, and values that may differ from unit to unit.

use super::draft::Type;
use super::field;
use super::frame::Frame;
use crate::profile::document::{Entry, Section};
use crate::profile::error::{Flaw, ProfileFault};
use crate::profile::model::{By, Chooser, PerUnit, Sent, UnitRule, Word};
use crate::unit::{SENT, Unit};

pub(super) fn unit_rule(
    section: &Section<'_>,
    frame: &Frame<'_>,
    kind: Type,
) -> Result<UnitRule, Flaw> {
    let entry = section.required("unit", "the unit of the value, such as \"mm\"")?;
    if entry.is_text() {
        return Ok(UnitRule {
            default: Some(field::unit(&entry)?),
            sent: Sent::Never,
        });
    }
    let table = entry.section("unit")?;
    let default = table
        .optional("default")
        .map(|e| field::unit(&e))
        .transpose()?;
    let elsewhere = ["at", "column", "label"]
        .iter()
        .any(|key| table.optional(key).is_some());
    let sent = if elsewhere {
        Sent::Field(field::chooser(&table, frame, "sent", field::unit)?)
    } else {
        let sent = table.required("sent", "\"any\", or the gauge's words and their units")?;
        if !frame.is_text() || kind != Type::Decimal {
            return Err(sent.flaw(
                ProfileFault::Contradiction,
                "a place for the unit, since only a decimal text has it behind the number",
                "add `at` or `column`",
            ));
        }
        if sent.is_text() {
            sent.choice(&[("any", ())])?;
            let Some(unit) = default else {
                return Err(entry.flaw(
                    ProfileFault::Missing,
                    "`default`, which also says what sort of unit may be sent",
                    "add `default = \"mm\"` or the like",
                ));
            };
            Sent::AnySymbol(unit.kind())
        } else {
            let words = field::words(&sent, frame, field::unit)?;
            Sent::OwnWords(
                words
                    .into_iter()
                    .filter_map(|(word, unit)| match word {
                        Word::Text(text) => Some((text, unit)),
                        Word::Number(_) => None,
                    })
                    .collect(),
            )
        }
    };
    table.finish()?;
    let rule = UnitRule { default, sent };
    let units = units_of(&rule);
    let mut kinds = units.iter().map(|unit| unit.kind());
    let kind = kinds.next();
    if kinds.any(|other| Some(other) != kind) {
        return Err(entry.flaw(
            ProfileFault::Contradiction,
            "units of one sort of quantity",
            "split the channel, or correct the units",
        ));
    }
    Ok(rule)
}

/// Every unit that values of this channel may have.
pub(super) fn units_of(rule: &UnitRule) -> Vec<Unit> {
    let mut units: Vec<Unit> = rule.default.into_iter().collect();
    match &rule.sent {
        Sent::Never => {}
        Sent::AnySymbol(kind) => {
            units.extend(SENT.iter().copied().filter(|unit| unit.kind() == *kind));
        }
        Sent::OwnWords(words) => units.extend(words.iter().map(|(_, unit)| *unit)),
        Sent::Field(Chooser {
            by: By::Words(words),
            ..
        }) => {
            units.extend(words.iter().map(|(_, unit)| *unit));
        }
        Sent::Field(Chooser {
            by: By::Bit { clear, set, .. },
            ..
        }) => units.extend([*clear, *set]),
    }
    let mut seen = Vec::new();
    units.retain(|unit| {
        !seen.contains(unit) && {
            seen.push(*unit);
            true
        }
    });
    units
}

/// A value, or a table of one for each unit that may be sent.
pub(super) fn per_unit<T: Copy>(
    section: &Section<'_>,
    key: &'static str,
    units: &[Unit],
    read: impl Fn(&Entry<'_>) -> Result<T, Flaw>,
) -> Result<Option<PerUnit<T>>, Flaw> {
    let Some(entry) = section.optional(key) else {
        return Ok(None);
    };
    if !entry.is_table() {
        let value = read(&entry)?;
        let [unit] = units else {
            let names: Vec<&str> = units.iter().map(|unit| unit.symbol()).collect();
            return Err(entry.flaw(
                ProfileFault::Contradiction,
                format!("one for each unit that may be sent: {}", names.join(", ")),
                format!(
                    "write `{key} = {{ {} = … }}`",
                    names.first().unwrap_or(&"mm")
                ),
            ));
        };
        return Ok(Some(PerUnit(vec![(*unit, value)])));
    }
    let table = entry.section(key)?;
    let mut all = Vec::new();
    for member in table.entries() {
        let unit = units
            .iter()
            .copied()
            .find(|unit| unit.symbol() == member.key);
        let Some(unit) = unit else {
            return Err(Flaw::new(
                ProfileFault::UnknownUnit,
                member.key_span.clone(),
                format!("`{}`", member.key),
                "a unit that this channel may send",
                "correct it, or name it in `unit`",
            ));
        };
        all.push((unit, read(&member)?));
    }
    if let Some(missing) = units
        .iter()
        .find(|unit| !all.iter().any(|(known, _)| known == *unit))
    {
        return Err(entry.flaw(
            ProfileFault::Missing,
            format!("a value for {missing} too, which may be sent"),
            format!("add `{missing} = …`"),
        ));
    }
    Ok(Some(PerUnit(all)))
}

pub(super) fn range(entry: &Entry<'_>) -> Result<(f64, f64), Flaw> {
    let ends = entry.list()?;
    if let [low, high] = &ends[..] {
        let (low, high) = (low.number()?, high.number()?);
        if low < high {
            return Ok((low, high));
        }
    }
    Err(entry.flaw(
        ProfileFault::WrongValue,
        "[lowest, highest]",
        "write a list such as [-25.0, 25.0]",
    ))
}
