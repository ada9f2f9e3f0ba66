//! Free spots: what the tool has no figure for, and a builder measures within limits all the same,
//! such as spring heights, stem heights, ring gaps, the depth of a chamfer.

use std::collections::BTreeMap;

use super::table::Table;
use super::{Bank, Engine, StatedValue};
use crate::known_word::meant;
use crate::spot::{Spot, SpotError, SpotFamily, SpotName};
use crate::units::{QuantityKind, Unit};

/// The kinds of quantity that a free spot may have.
const KINDS: [QuantityKind; 4] = [
    QuantityKind::Length,
    QuantityKind::Volume,
    QuantityKind::Mass,
    QuantityKind::Pressure,
];

/// How many spots a fault names.
const NAMED: usize = 8;

/// A free spot, as the engine file states it.
#[derive(Debug, Clone, PartialEq)]
pub struct FreeSpot {
    /// What it is called.
    pub title: String,
    /// The unit in which it is stated, asked for and reported; its kind is the spot's.
    pub unit: Unit,
    /// The cylinders that have it; `None` where it belongs to no cylinder.
    pub cylinders: Option<Vec<u32>>,
    /// The places at which it is measured; empty where there is one only.
    pub at: Vec<SpotName>,
    /// Whether it is on the head, so that it goes along where heads change their banks.
    pub of_the_head: bool,
    /// Whether a length counts below the gauge's zero, as a depth does; above it otherwise.
    pub below_zero: bool,
    /// The least that each may be.
    pub least: Option<StatedValue>,
    /// The most that each may be.
    pub most: Option<StatedValue>,
    /// The most that those of one place may differ over the cylinders, largest less smallest.
    pub spread: Option<StatedValue>,
}

impl FreeSpot {
    /// Whether the engine file states a limit for it.
    pub fn limited(&self) -> bool {
        self.least.is_some() || self.most.is_some() || self.spread.is_some()
    }

    /// All its spots, in the order of its cylinders.
    pub fn spots(&self, name: &SpotName) -> Vec<Spot> {
        let cylinders: Vec<Option<u32>> = match &self.cylinders {
            Some(all) => all.iter().copied().map(Some).collect(),
            None => vec![None],
        };
        let places: Vec<Option<&SpotName>> = match self.at.is_empty() {
            true => vec![None],
            false => self.at.iter().map(Some).collect(),
        };
        let at_cylinder = |cylinder: Option<u32>| {
            places.iter().map(move |at| Spot::Free {
                name: name.clone(),
                cylinder,
                at: at.cloned(),
            })
        };
        cylinders.into_iter().flat_map(at_cylinder).collect()
    }

    /// A limit in the spot's unit: as it was written where that is its unit, so that it is exact.
    pub fn limit(&self, stated: &StatedValue) -> f64 {
        match stated.written.unit == self.unit {
            true => stated.written.value,
            false => self.unit.from_base(stated.value),
        }
    }
}

impl Engine {
    /// What kind of quantity a reading of this spot is. Of a free spot that the engine file does not
    /// state it is a plain number, which nothing measures.
    pub fn kind_of(&self, spot: &Spot) -> QuantityKind {
        let stated = || Some(self.free.get(spot.free_name()?)?.unit.kind());
        spot.kind().or_else(stated).unwrap_or(QuantityKind::Number)
    }

    /// Reads a spot as a person types it, also a free spot by its name alone: `spring_height 3
    /// intake`.
    ///
    /// # Errors
    /// Where there is no such spot.
    pub fn typed_spot(&self, text: &str) -> Result<Spot, SpotError> {
        let first = text.trim().split(|c: char| c == '/' || c.is_whitespace());
        let first = first.map(str::to_lowercase).next().unwrap_or_default();
        let free = self.free.keys().any(|name| name.as_str() == first);
        match free {
            true => Spot::typed(&format!("{}/{}", SpotFamily::Free, text.trim()), self.units),
            false => Spot::typed(text, self.units),
        }
    }

    /// Whether the engine file states this free spot, at this cylinder and place.
    pub(super) fn admit_free(&self, spot: &Spot) -> Result<(), SpotError> {
        let Some(name) = spot.free_name() else {
            return Ok(());
        };
        let found = spot.to_string();
        let question = |near: Option<&str>| match near {
            Some(near) => format!(" (did you mean {near}?)"),
            None => String::new(),
        };
        let Some(stated) = self.free.get(name) else {
            let known: Vec<&str> = self.free.keys().map(SpotName::as_str).collect();
            let near = match meant(name, known.iter().copied()) {
                Ok(near) => Some(near),
                Err(near) => near,
            };
            return Err(SpotError::Free {
                found,
                name: name.to_string(),
                hint: question(near),
                known: match known.is_empty() {
                    true => "those that it states, and it states none".to_owned(),
                    false => known.join(", "),
                },
            });
        };
        let all = stated.spots(name);
        if all.contains(spot) {
            return Ok(());
        }
        let mut known: Vec<String> = all.iter().map(Spot::to_string).collect();
        let near = match meant(&found, known.iter().map(String::as_str)) {
            Ok(near) => Some(near),
            Err(near) => near,
        };
        let hint = question(near);
        let more = known.len() > NAMED;
        known.truncate(NAMED);
        let known = known.join(", ") + if more { " …" } else { "" };
        Err(SpotError::FreePlace { found, hint, known })
    }
}

/// `[free.NAME]`.
pub(super) fn free(top: &Table<'_>, banks: Option<&[Bank]>) -> BTreeMap<SpotName, FreeSpot> {
    let mut all = BTreeMap::new();
    for (name, table) in top.sections("free") {
        let read = spot(name, &table, banks);
        table.refuse_rest();
        let named = named(name, &table);
        all.extend(named.zip(read));
    }
    all
}

/// The name of a free spot: one that no other spot begins with.
fn named(name: &str, table: &Table<'_>) -> Option<SpotName> {
    let good = SpotName::parse(name).filter(|good| good.as_str() == name);
    if good.is_none() {
        let message = format!("found the free spot {name:?}, which no spot can name");
        let help = "write small letters, digits, - and _, such as spring_height";
        table.fault("", message, help);
    }
    let taken = SpotFamily::named(name).is_some();
    if taken {
        let message =
            format!("found the free spot {name:?}, which is measured without being stated");
        table.fault("", message, "give it a name of its own");
    }
    good.filter(|_| !taken)
}

fn spot(name: &str, table: &Table<'_>, banks: Option<&[Bank]>) -> Option<FreeSpot> {
    let title = table.text("title");
    let cylinders = cylinders(table, banks);
    let at = places(table);
    let unit = unit(table);
    let kind = unit.map_or(QuantityKind::Length, Unit::kind);
    let below_zero = below_zero(table);
    let of_the_head = of_the_head(table);
    let limit = |key: &str| -> Option<StatedValue> {
        // Without its unit, its kind is not known.
        unit?;
        let stated = table.stated(key, kind)?;
        if stated.u.is_some() {
            let message = format!("found {} with an uncertainty", stated.written);
            table.fault(key, message, "a limit is a chosen number: leave its ± out");
        }
        Some(stated)
    };
    let (least, most, spread) = (limit("least"), limit("most"), limit("spread"));
    if unit.is_none() {
        // They are known here all the same.
        ["least", "most", "spread"].iter().for_each(|key| {
            table.get(key);
        });
    }
    if let (Some(low), Some(high)) = (&least, &most)
        && low.value > high.value
    {
        let message = format!(
            "found a least of {} above a most of {}",
            low.written, high.written
        );
        table.fault("least", message, "exchange the two, or leave one out");
    }
    if let Some(wide) = spread.filter(|wide| !(wide.value >= 0.0 && wide.value.is_finite())) {
        let message = format!("found {}, expected 0 or more", wide.written);
        let help = "write how far apart the values may be, with its unit";
        table.fault("spread", message, help);
    }
    Some(FreeSpot {
        title: title.unwrap_or_else(|| name.replace(['_', '-'], " ")),
        unit: unit?,
        cylinders,
        at,
        of_the_head,
        below_zero,
        least,
        most,
        spread,
    })
}

fn unit(table: &Table<'_>) -> Option<Unit> {
    const HELP: &str = "write unit = \"in\", or another unit of length, volume, weight or pressure";
    if !table.has("unit") {
        table.missing("unit", HELP);
    }
    let text = table.text("unit")?;
    let unit = text.parse::<Unit>().ok();
    let good = unit.filter(|unit| KINDS.contains(&unit.kind()));
    if good.is_none() {
        table.fault(
            "unit",
            format!("found {text:?}, which measures none of them"),
            HELP,
        );
    }
    good
}

/// `figure = "below-zero"` or `"above-zero"`.
fn below_zero(table: &Table<'_>) -> bool {
    let said = table.text("figure");
    let known = |said: &&str| ["below-zero", "above-zero"].contains(said);
    if let Some(other) = said.as_deref().filter(|said| !known(said)) {
        let message = format!("found {other:?}, expected \"above-zero\" or \"below-zero\"");
        let help = "say on which side of the gauge's zero the length is positive";
        table.fault("figure", message, help);
    }
    said.as_deref() == Some("below-zero")
}

/// `part = "head"` or `"block"`.
fn of_the_head(table: &Table<'_>) -> bool {
    let said = table.text("part");
    let known = |said: &&str| ["head", "block"].contains(said);
    if let Some(other) = said.as_deref().filter(|said| !known(said)) {
        let message = format!("found {other:?}, expected \"head\" or \"block\"");
        let help = "say what it belongs to: heads that are exchanged take along what is theirs";
        table.fault("part", message, help);
    }
    said.as_deref() == Some("head")
}

/// `at = ["intake", "exhaust"]`.
fn places(table: &Table<'_>) -> Vec<SpotName> {
    let mut places: Vec<SpotName> = Vec::new();
    for text in table.texts("at").unwrap_or_default() {
        let good = SpotName::parse(&text).filter(|good| good.as_str() == text);
        match good {
            Some(twice) if places.contains(&twice) => {
                let message = format!("found the place {text:?} twice");
                table.fault("at", message, "name each place once");
            }
            Some(good) => places.push(good),
            None => {
                let help = "write small letters, digits, - and _, such as \"intake\"";
                table.fault("at", format!("found the place {text:?}"), help);
            }
        }
    }
    places
}

/// `cylinders = [1, 3]`, or `cylinders = "none"` where it belongs to no cylinder; left out, each
/// cylinder has it, bank by bank.
fn cylinders(table: &Table<'_>, banks: Option<&[Bank]>) -> Option<Vec<u32>> {
    const KEY: &str = "cylinders";
    let all: Vec<u32> = banks
        .into_iter()
        .flatten()
        .flat_map(|bank| bank.cylinders.iter().copied())
        .collect();
    let Some(value) = table.get(KEY) else {
        return Some(all);
    };
    if value.text() == Some("none") {
        return None;
    }
    let these = table.cylinders(KEY).unwrap_or_default();
    let beyond = |number: &&u32| banks.is_some() && !all.contains(number);
    let twice = |(at, number)| these.iter().take(at).any(|before| before == number);
    if let Some(number) = these.iter().find(beyond) {
        let message = format!("found cylinder {number}, which the engine does not have");
        table.fault(
            KEY,
            message,
            "list the cylinders that have it, or write \"none\"",
        );
    } else if these.iter().enumerate().any(twice) {
        let message = format!("found {these:?}, expected each cylinder once");
        table.fault(KEY, message, "list the cylinders that have it");
    }
    Some(these)
}

#[cfg(test)]
mod tests;
