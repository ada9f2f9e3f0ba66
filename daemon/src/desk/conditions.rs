//! The conditions under which a job is measured: liquid, temperatures, pressure of the air.

use benchhand_blueprint::Quantity;
use benchhand_wire::{ConditionKept, Event, Refusal, SetCondition};

use super::{Answers, Desk};
use crate::known::conditions::{MEASURED, shown};
use crate::known::quantities::{bad, quantity};
use crate::store::fact::{Fact, StatedCondition};

impl Answers<SetCondition> for Desk {
    fn answer(&self, ask: SetCondition, key: Option<&str>) -> Result<ConditionKept, Refusal> {
        let condition = read(&ask)?;
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
        })
    }
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

    /// One kelvin is 1.8 degrees Fahrenheit, by definition of the scale.
    #[test]
    fn an_uncertainty_is_a_difference_and_takes_the_unit_of_its_value() {
        let air = said("air/temperature", "70 degF", Some("1 degC")).unwrap();
        assert!((air.u.unwrap() - 1.8).abs() < 1e-9, "{air:?}");
        assert!(said("air/temperature", "70 degF", Some("1 cc")).is_err());
        assert!(said("liquid", "water", Some("1 cc")).is_err());
    }
}
