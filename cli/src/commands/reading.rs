//! `enter`, `import`, `void` and `move`.

mod said;

use benchhand_wire::{
    EnterReading, ImportReadings, Levels, MoveReading, Reason, Refusal, SetCondition, VoidReading,
};

use benchhand_words::conditions::left_out;

use crate::args::{ConditionArgs, EnterArgs, ImportArgs, MoveToArgs, VoidArgs, spoken};
use crate::client::{ask, ask_waiting};
use crate::context::Context;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::show::jobs;

/// Enters one reading by hand.
///
/// # Errors
/// Why it was not kept.
pub(super) fn enter(context: &mut Context, args: EnterArgs) -> Result<Exit, Failure> {
    let said = said::spot_and_value(&args.words(), !args.from.is_empty())?;
    let levels = levels(args.from, args.to)?;
    let request = EnterReading {
        job: args.job,
        spot: said.0,
        value: said.1,
        levels,
        u: args.u,
        gauge: args.gauge,
        stage: args.stage,
        sure: args.sure,
        by: args.by,
    };
    let answer = ask(&*context.client()?, &request)?;
    context.answer(&answer, jobs::entered)?;
    Ok(Exit::Done)
}

/// Pairs the levels before with the levels after, in the order typed.
fn levels(from: Vec<String>, to: Vec<String>) -> Result<Vec<Levels>, Refusal> {
    if from.len() != to.len() {
        return Err(Refusal::new(
            Reason::BadInput,
            format!(
                "{} levels before a pour and {} after were given",
                from.len(),
                to.len()
            ),
        )
        .expected("one --to for each --from")
        .todo("give each pour as --from LEVEL --to LEVEL, in the order of pouring"));
    }
    Ok(from
        .into_iter()
        .zip(to)
        .map(|(from, to)| Levels { from, to })
        .collect())
}

/// Imports a CSV file of readings, all of them or none.
///
/// # Errors
/// Why nothing was kept.
pub(super) fn import(context: &mut Context, args: &ImportArgs) -> Result<Exit, Failure> {
    let csv = read_text(&args.file)?;
    let request = ImportReadings {
        job: args.job.clone(),
        csv,
        file: shown(&args.file),
        sure: args.sure,
        by: args.by.clone(),
    };
    let answer = ask_waiting(&*context.client()?, &request, "taking the readings in")?;
    context.answer(&answer, jobs::imported)?;
    Ok(Exit::Done)
}

/// Voids readings, one after another.
///
/// # Errors
/// Why a reading was not voided; those before it are void.
pub(super) fn void(context: &mut Context, args: VoidArgs) -> Result<Exit, Failure> {
    for number in args.numbers {
        let request = VoidReading {
            job: args.job.clone(),
            id: None,
            number: Some(number.into()),
            reason: args.reason.clone(),
            by: args.by.clone(),
        };
        let answer = ask(&*context.client()?, &request)?;
        context.answer(&answer, jobs::voided)?;
    }
    Ok(Exit::Done)
}

/// Keeps a condition. It holds until the same condition is said again.
///
/// # Errors
/// Why it was not kept.
pub(super) fn condition(context: &mut Context, args: ConditionArgs) -> Result<Exit, Failure> {
    let job = args.job.clone();
    let request = SetCondition {
        job: args.job,
        name: args.name,
        value: spoken(Some(args.value), args.unit).unwrap_or_default(),
        u: args.u,
        since: None,
        since_number: args.since.map(Into::into),
    };
    let answer = ask(&*context.client()?, &request)?;
    context.answer(&answer, |kept| {
        let told = format!("{}: {}", kept.name, kept.known);
        match (&kept.first_left_out, left_out(kept)) {
            (Some(first), why) => format!(
                "{told}\n{why}\n  benchhand condition {job} {} \"{}\" --since {first}",
                kept.name, kept.known
            ),
            (None, _) => told,
        }
    })?;
    Ok(Exit::Done)
}

/// Moves a reading to the spot where it belongs.
///
/// # Errors
/// Why the reading was not moved.
pub(super) fn relocate(context: &mut Context, args: MoveToArgs) -> Result<Exit, Failure> {
    let request = MoveReading {
        job: args.job,
        id: None,
        number: Some(args.number.into()),
        to: args.spot.join(" "),
        reason: args.reason,
        by: args.by,
    };
    let answer = ask(&*context.client()?, &request)?;
    context.answer(&answer, jobs::moved)?;
    Ok(Exit::Done)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_without_its_partner_is_refused() {
        let two = || vec!["0 cc".to_owned(), "2 cc".to_owned()];
        assert_eq!(levels(two(), two()).expect("pairs").len(), 2);
        let refusal = levels(two(), vec!["50 cc".to_owned()]).expect_err("no pair");
        assert!(
            refusal
                .to_string()
                .contains("2 levels before a pour and 1 after")
        );
    }
}
