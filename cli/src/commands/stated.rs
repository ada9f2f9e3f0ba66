//! Asks in the terminal what an engine is, in the order of the page: layout, block, gasket, pistons,
//! heads, target. Every question may be left empty.

use std::io::{self, BufRead as _, IsTerminal as _};

use benchhand_blueprint::Engine;
use benchhand_blueprint::engine::{
    AskedField, CylinderLayout, ENGINE_FIELDS, EngineText, EngineValue, LAYOUTS, NominalFigures,
    template,
};
use benchhand_wire::{Reason, Refusal};

use crate::errors::Failure;
use crate::out::warn;

/// Fields that the layout, the options and the job's name answer already.
const ANSWERED: [&str; 4] = ["name", "units", "cylinders", "banks"];

/// The engine file that the answers make.
///
/// # Errors
/// Where nobody can answer, or the input ends before a layout is chosen.
pub(super) fn asked(job: &str, metric: bool) -> Result<String, Failure> {
    if !io::stdin().is_terminal() {
        return Err(Refusal::new(Reason::BadInput, "no engine file is given")
            .expected("an engine file, or --template LAYOUT")
            .todo("in a terminal, `benchhand job new NAME` asks what the engine is")
            .into());
    }
    let answers = io::stdin().lock().lines().map_while(Result::ok);
    answered(job, metric, answers, &mut warn).map_err(Failure::from)
}

/// Asks by `say` and takes `answers` until every field was asked or the answers end.
fn answered(
    job: &str,
    metric: bool,
    mut answers: impl Iterator<Item = String>,
    say: &mut dyn FnMut(&str),
) -> Result<String, Refusal> {
    say(&layouts());
    let layout = loop {
        let Some(answer) = answers.next() else {
            return Err(Refusal::new(
                Reason::BadInput,
                "no layout was chosen; nothing was kept",
            ));
        };
        match CylinderLayout::named(answer.trim()) {
            Some(layout) => break layout,
            None => say("Type one of these names."),
        }
    };
    let text = template(Some(layout), job, metric);
    let mut file = EngineText::new(text)
        .map_err(|fault| Refusal::new(Reason::Unavailable, format!("the template: {fault}")))?;
    let fields = ENGINE_FIELDS.iter();
    for field in fields.filter(|field| !ANSWERED.contains(&&*field.key)) {
        say(&question(field, metric));
        for answer in answers.by_ref() {
            match put(&mut file, field, &answer, metric) {
                Ok(()) => break,
                Err(why) => say(&format!("  {why}. Once more, or nothing:")),
            }
        }
    }
    if let Ok(engine) = Engine::from_toml(file.as_str()) {
        if let Some(ratio) = NominalFigures::of(&engine).compression {
            say(&format!("Compression as stated: {:.2} :1", ratio.value()));
        }
        for doubt in engine.doubts() {
            say(&format!("? Look at this again: {doubt}"));
        }
    }
    Ok(file.as_str().to_owned())
}

fn layouts() -> String {
    let mut text = "Enter alone leaves a question open. Layout:\n".to_owned();
    for layout in LAYOUTS {
        text += &format!("  {:<16}{}\n", layout.name, layout.title);
    }
    text
}

fn question(field: &AskedField, metric: bool) -> String {
    let unit = field.units(metric).first();
    let unit = unit.map_or(String::new(), |unit| format!(" [{unit}]"));
    let help = match field.help {
        "" => String::new(),
        help => format!("  {help}"),
    };
    format!("{}: {}{unit}{help}", field.group, field.label)
}

/// Puts an answer into the file, where the file is an engine file with it.
fn put(
    file: &mut EngineText,
    field: &AskedField,
    answer: &str,
    metric: bool,
) -> Result<(), String> {
    let unit = field.units(metric).first().copied();
    let value: Option<EngineValue> = field.typed(answer, unit).map_err(|e| e.to_string())?;
    let Some(value) = value else { return Ok(()) };
    let mut with = file.clone();
    with.set(&field.key, Some(&value));
    match Engine::from_toml(with.as_str()) {
        Ok(_) => {
            *file = with;
            Ok(())
        }
        Err(faults) => Err(faults
            .faults
            .first()
            .map_or(String::new(), |f| f.message.clone())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_become_an_engine_file_and_a_wrong_one_is_asked_again() {
        let fields = ENGINE_FIELDS
            .iter()
            .filter(|f| !ANSWERED.contains(&&*f.key));
        let answers = fields.flat_map(|field| match &*field.key {
            "bore" => vec!["four", "4.1"],
            "stroke" => vec!["90 mm"],
            _ => vec![""],
        });
        let answers = ["v9", "v8"].into_iter().chain(answers).map(str::to_owned);
        let mut said = String::new();
        let text = answered("shop-9", false, answers, &mut |line| {
            said += &format!("{line}\n")
        })
        .expect("a file");
        let engine = Engine::from_toml(&text).expect("an engine file");
        assert_eq!((engine.name.as_str(), engine.cylinders), ("shop-9", 8));
        assert_eq!(
            engine.bore.map(|bore| bore.written.to_string()).as_deref(),
            Some("4.1 in")
        );
        assert_eq!(engine.stroke.map(|stroke| stroke.value), Some(90.0));
        assert!(
            said.contains("Type one of these names") && said.contains("Once more"),
            "{said}"
        );
    }

    #[test]
    fn without_a_layout_nothing_is_begun() {
        let answers = std::iter::once(String::new());
        assert!(answered("shop-9", false, answers, &mut |_| ()).is_err());
    }
}
