//! The conditions under which a job is measured: liquid, temperatures, pressure of the air.

use std::collections::BTreeSet;

use benchhand_blueprint::Quantity;
use benchhand_blueprint::known_word::meant;
use benchhand_wire::{ConditionKept, Event, Refusal, SetCondition};

use super::readings::reading_meant;
use super::{Answers, Desk};
use crate::known::conditions::{MEASURED, shown, unsaid};
use crate::known::quantities::{bad, quantity};
use crate::known::surroundings::{LIQUID, OTHER, USED, WATER};
use crate::route::{Route, shipped};
use crate::store::fact::{Fact, StatedCondition};

impl Answers<SetCondition> for Desk {
    fn answer(&self, ask: SetCondition, key: Option<&str>) -> Result<ConditionKept, Refusal> {
        self.admit(&ask)?;
        let mut condition = read(&ask)?;
        let (view, _) = self.keeper.view(&ask.job)?;
        let before = match ask.since.is_none() && ask.since_number.is_none() {
            true => unsaid(&view, &ask.name),
            false => Vec::new(),
        };
        if ask.since_number.is_some() {
            condition.since = Some(reading_meant(&view, ask.since, ask.since_number.as_ref())?);
        }
        let known = shown(&condition);
        let fact = Fact::Condition(condition);
        let ack = self.keeper.append(&ask.job, fact, key)?;
        if let Some(station) = &self.station
            && let Some(progress) = station.progress(&ask.job)?
        {
            self.hub.announce(Event::Route { progress });
        }
        Ok(ConditionKept {
            id: ack.seq,
            name: ask.name,
            known,
            left_out: u32::try_from(before.len()).unwrap_or(u32::MAX),
            first_left_out: before.first().cloned(),
        })
    }
}

impl Desk {
    /// A condition that figures use or that a route asks for, and a liquid that is one.
    fn admit(&self, ask: &SetCondition) -> Result<(), Refusal> {
        let mut known: BTreeSet<String> = USED.iter().map(ToString::to_string).collect();
        for (name, text) in shipped() {
            known.extend(
                Route::parse(text, name)
                    .into_iter()
                    .flat_map(|route| route.ask),
            );
        }
        if let Some(station) = &self.station
            && let Some(progress) = station.progress(&ask.job)?
        {
            known.extend(progress.asks.into_iter().map(|asked| asked.name));
        }
        one_of("condition", &ask.name, known.iter().map(String::as_str))?;
        if ask.name == LIQUID {
            one_of("liquid", &ask.value, [WATER, OTHER]).map_err(|refusal| {
                match refusal.todo.is_empty() {
                    true => refusal.todo(
                        "of any liquid but water, [liquid] in the engine file states the density",
                    ),
                    false => refusal,
                }
            })?;
        }
        Ok(())
    }
}

/// Refuses a word that is none of those that are known, with the one that comes nearest.
fn one_of<'a>(
    what: &str,
    word: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Result<(), Refusal> {
    let known: Vec<&str> = known.into_iter().collect();
    if known.contains(&word) {
        return Ok(());
    }
    let near = match meant(word, known.iter().copied()) {
        Ok(near) => Some(near),
        Err(near) => near,
    };
    let refusal = bad(format!("there is no {what} {word:?}"))
        .expected(format!("one of {}", known.join(", ")));
    Err(match near {
        Some(near) => refusal.todo(format!("did you mean {near}?")),
        None => refusal,
    })
}

fn read(ask: &SetCondition) -> Result<StatedCondition, Refusal> {
    let last = ask.name.rsplit('/').next().unwrap_or_default();
    let of = |text: &str| match MEASURED.iter().find(|(word, _)| *word == last) {
        Some((_, kind)) => quantity(text, *kind).map(Some),
        None => Ok(text.parse::<Quantity>().ok()),
    };
    let measured = of(&ask.value)?;
    if let Some(volume) = measured.filter(|m| last == "volume" && m.value < 0.0) {
        return Err(bad(format!("{volume} is less than nothing")));
    }
    let u = match (&ask.u, measured) {
        (None, _) => None,
        (Some(_), None) => return Err(bad("a word has no uncertainty")),
        (Some(text), Some(value)) => {
            let u: Quantity = text.parse().map_err(bad)?;
            let size = u.unit.difference_to_base(u.value);
            let unit = value.unit.difference_to_base(1.0);
            Some(size / unit).filter(|_| u.unit.kind() == value.unit.kind())
        }
    };
    if ask.u.is_some() && u.is_none() {
        return Err(bad(format!("u = {:?} is of another kind", ask.u)));
    }
    Ok(StatedCondition {
        name: ask.name.clone(),
        value: measured.map(|m| m.value),
        unit: measured.map(|m| m.unit.symbol().to_owned()),
        u,
        text: measured.is_none().then(|| ask.value.clone()),
        since: ask.since,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(name: &str, value: &str, u: Option<&str>) -> Result<StatedCondition, Refusal> {
        read(&SetCondition {
            job: "v8".to_owned(),
            name: name.to_owned(),
            value: value.to_owned(),
            u: u.map(str::to_owned),
            since: None,
            since_number: None,
        })
    }

    #[test]
    fn a_liquid_is_a_word_and_its_temperature_a_number() {
        let liquid = said("liquid", "water", None).unwrap();
        assert_eq!(
            (liquid.text.as_deref(), liquid.value),
            (Some("water"), None)
        );
        let warm = said("liquid/temperature", "warm", None).unwrap_err();
        assert!(warm.found.contains("warm"), "{warm}");
        assert!(said("liquid/temperature", "20 cc", None).is_err());
        let hole = said("fill-hole/volume", "0.12 cc", Some("0.02 cc")).unwrap();
        assert_eq!((hole.value, hole.u), (Some(0.12), Some(0.02)));
        assert!(said("fill-hole/volume", "small", None).is_err());
        assert!(said("fill-hole/volume", "-0.1 cc", None).is_err());
    }

    #[test]
    fn an_unknown_liquid_is_refused_with_those_that_there_are() {
        assert!(one_of("liquid", "other", [WATER, OTHER]).is_ok());
        let slip = one_of("liquid", "watr", [WATER, OTHER]).unwrap_err();
        assert_eq!(slip.todo, "did you mean water?");
        let unknown = one_of("liquid", "lamp oil", [WATER, OTHER]).unwrap_err();
        assert_eq!(unknown.expected, "one of water, other");
        assert_eq!(unknown.todo, "");
    }

    /// One kelvin is 1.8 degrees Fahrenheit, by definition of the scale.
    #[test]
    fn an_uncertainty_is_a_difference_and_takes_the_unit_of_its_value() {
        let air = said("air/temperature", "70 degF", Some("1 degC")).unwrap();
        assert!((air.u.unwrap() - 1.8).abs() < 1e-9, "{air:?}");
        assert!(said("air/temperature", "70 degF", Some("1 cc")).is_err());
        assert!(said("liquid", "water", Some("1 cc")).is_err());
    }
}
