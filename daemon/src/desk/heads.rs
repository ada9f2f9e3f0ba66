//! Heads that change their banks take what was measured of them along.

use std::collections::BTreeMap;

use benchhand_blueprint::engine::{EngineText, EngineValue};
use benchhand_blueprint::{Engine, Spot};
use benchhand_wire::{ExchangeHeads, HeadsExchanged, Reason, Refusal};

use super::{Answers, Desk};
use crate::known::initials::by;
use crate::known::inputs;
use crate::known::refusals::of_engine;
use crate::store::fact::Fact;
use crate::store::view::{JobView, ReadingState};

impl Answers<ExchangeHeads> for Desk {
    fn answer(&self, ask: ExchangeHeads, key: Option<&str>) -> Result<HeadsExchanged, Refusal> {
        let by = by(&self.keeper, ask.by)?;
        let job = ask.job.as_str();
        self.no_route_runs(job)?;
        let (view, _) = self.keeper.view(job)?;
        let engine = inputs::engine(&view)?;
        let pairs = pairs(&engine, &ask.banks, !ask.not_turned)?;
        let reason = format!(
            "the heads of banks {} were exchanged",
            ask.banks.join(" and ")
        );
        let before =
            |job: &crate::store::job::Job| key.is_some_and(|key| job.kept_under(key).is_some());
        let mut moved = 0;
        if !self.keeper.with_job(job, |job| Ok(before(job)))? {
            self.keeper.append_together(job, key, |job| {
                let facts = moves(job.view(), &engine, &pairs, (&reason, by.as_deref()));
                if facts.is_empty() {
                    return Err(nothing_measured(&ask.banks));
                }
                moved = facts.len();
                Ok(facts)
            })?;
        }
        let heads = self.exchange_marks(job, &ask.banks, key)?;
        let (view, _) = self.keeper.view(job)?;
        let moved_to = view
            .readings()
            .filter(|one| pairs.values().any(|to| at(&one.spot) == Some(*to)));
        self.announce_readings(job, &view, moved_to.map(|one| one.id));
        Ok(HeadsExchanged {
            cylinders: pairs.into_iter().collect(),
            readings: moved,
            heads,
        })
    }
}

impl Desk {
    /// A reading that moves under a running route would leave the route at another stop.
    fn no_route_runs(&self, job: &str) -> Result<(), Refusal> {
        let running = match &self.station {
            Some(station) => station.progress(job)?,
            None => None,
        };
        if !running.is_some_and(|route| route.running) {
            return Ok(());
        }
        let found = format!("a route runs on job {job}");
        Err(Refusal::new(Reason::Conflict, found).todo(format!(
            "end it first with `benchhand steer {job} end`, then exchange the heads"
        )))
    }

    /// Exchanges the marks of the two heads on the job card; the marks by bank afterwards.
    fn exchange_marks(
        &self,
        job: &str,
        banks: &[String],
        key: Option<&str>,
    ) -> Result<Vec<(String, String)>, Refusal> {
        let key = key.map(|key| format!("{key}/card"));
        let found = self.keeper.engine_on_disk(job)?;
        let engine = Engine::from_toml(&found.text).map_err(|e| of_engine(&e, "engine.toml"))?;
        let marks = &engine.card.heads;
        let done = self.keeper.with_job(job, |job| {
            let key = key.as_deref();
            Ok(key.is_some_and(|key| job.kept_under(key).is_some()))
        })?;
        let (Some(first), Some(second), false) = (marks.get(&banks[0]), marks.get(&banks[1]), done)
        else {
            return Ok(marks.clone().into_iter().collect());
        };
        let mut text =
            EngineText::new(found.text.clone()).map_err(|e| of_engine(&e, "engine.toml"))?;
        for (bank, mark) in [(&banks[0], second), (&banks[1], first)] {
            let mark = EngineValue::Text(mark.clone());
            text.set(&format!("card.heads.{bank}"), Some(&mark));
        }
        let text = text.as_str().to_owned();
        let now = Engine::from_toml(&text).map_err(|e| of_engine(&e, "engine.toml"))?;
        self.keeper.with_job(job, |kept| {
            let replaced = kept.replace_engine(text, Some(&found.hash), key.as_deref());
            replaced.map_err(|why| super::engine::refusal(job, why))
        })?;
        self.keeper.tell_lists(job, &[]);
        Ok(now.card.heads.into_iter().collect())
    }
}

/// The cylinder to which what was measured at each one goes.
fn pairs(engine: &Engine, banks: &[String], turned: bool) -> Result<BTreeMap<u32, u32>, Refusal> {
    let known: Vec<&str> = engine.banks.iter().map(|bank| bank.name.as_str()).collect();
    let bad = |found: String| {
        Refusal::new(Reason::BadInput, found)
            .expected(format!("two of the banks {}", known.join(", ")))
    };
    let [first, second] = banks else {
        return Err(bad(format!("{} banks were named", banks.len())));
    };
    if first == second {
        return Err(bad(format!("bank {first} was named twice")));
    }
    let cylinders = |name: &String| {
        let found = engine.banks.iter().find(|bank| bank.name == *name);
        let found = found.ok_or_else(|| bad(format!("the engine has no bank {name}")))?;
        Ok(found.cylinders.clone())
    };
    let (mut one, other): (Vec<u32>, Vec<u32>) = (cylinders(first)?, cylinders(second)?);
    if one.len() != other.len() {
        return Err(bad(format!(
            "bank {first} has {} cylinders and bank {second} has {}",
            one.len(),
            other.len()
        )));
    }
    if turned {
        one.reverse();
    }
    let there = one.iter().copied().zip(other.iter().copied());
    let back = other.iter().copied().zip(one.iter().copied());
    Ok(there.chain(back).collect())
}

fn at(spot: &str) -> Option<u32> {
    spot.parse::<Spot>().ok()?.cylinder()
}

/// A move of each reading that counts or may come to count, of the heads. A free spot is of the head
/// where the engine file says so.
fn moves(
    view: &JobView,
    engine: &Engine,
    pairs: &BTreeMap<u32, u32>,
    (reason, by): (&str, Option<&str>),
) -> Vec<Fact> {
    let goes_along = |spot: &Spot| match spot.free_name() {
        Some(name) => engine.free.get(name).is_some_and(|one| one.of_the_head),
        None => spot.family().is_of_the_head(),
    };
    let of_head = view.readings().filter_map(|kept| {
        if matches!(
            kept.state,
            ReadingState::Superseded { .. } | ReadingState::Voided { .. }
        ) {
            return None;
        }
        let spot: Spot = kept.spot.parse().ok()?;
        let to = pairs.get(&spot.cylinder()?)?;
        let there = spot.at_cylinder(*to);
        // A free spot that the other bank does not have has no place there.
        (goes_along(&spot) && engine.admit(&there).is_ok()).then(|| Fact::Moved {
            of: kept.id,
            from: kept.spot.clone(),
            to: there.to_string(),
            reason: reason.to_owned(),
            by: by.map(str::to_owned),
        })
    });
    of_head.collect()
}

fn nothing_measured(banks: &[String]) -> Refusal {
    let found = format!(
        "nothing was measured of the heads on banks {}",
        banks.join(" and ")
    );
    Refusal::new(Reason::Conflict, found)
        .todo("write the marks of the heads into the job card: there is nothing to take along")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn v6() -> Engine {
        let text = "name = \"Invented six\"\ninvented = true\nunits = \"inch\"\ncylinders = 6\nbanks = { left = [1, 3, 5], right = [2, 4, 6] }\n";
        Engine::from_toml(text).expect("the engine")
    }

    fn banks(names: &[&str]) -> Vec<String> {
        names.iter().map(|name| (*name).to_owned()).collect()
    }

    #[test]
    fn a_head_that_changes_sides_is_turned_end_for_end() {
        let turned = pairs(&v6(), &banks(&["left", "right"]), true).unwrap();
        let as_it_is = pairs(&v6(), &banks(&["left", "right"]), false).unwrap();
        assert_eq!((turned[&1], turned[&3], turned[&5]), (6, 4, 2));
        assert_eq!((turned[&6], turned[&4], turned[&2]), (1, 3, 5));
        assert_eq!((as_it_is[&1], as_it_is[&2]), (2, 1));
    }

    #[test]
    fn what_are_not_two_banks_is_refused_with_those_that_there_are() {
        for wrong in [&["left"][..], &["left", "left"], &["left", "middle"]] {
            let refusal = pairs(&v6(), &banks(wrong), true).unwrap_err();
            assert!(refusal.expected.contains("left, right"), "{refusal:?}");
        }
    }
}
