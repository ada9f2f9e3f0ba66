//! What is odd about the rows of a file of readings, without a job.

use benchhand_blueprint::readings::{FIRST_STAGE, from_csv};
use benchhand_blueprint::{Engine, engine};

use crate::known::doubted_rows::{doubts, next_stamp};
use crate::known::inputs;
use crate::store::fact::{Fact, OpenedJob, PartsCut};
use crate::store::view::JobView;

/// The questions that an import of these rows would ask, each with its line. Nothing is kept. Rows
/// that an import would refuse are left to whoever reads the file.
#[must_use]
pub fn row_doubts(engine: &Engine, csv: &str) -> Vec<String> {
    let Ok(read) = from_csv(csv, engine) else {
        return Vec::new();
    };
    let mut view = JobView::default();
    let mut told = Vec::new();
    for stage in stages(engine, read.iter().map(|row| row.stage.as_str())) {
        begin(&mut view, &stage);
        let of_stage = read.iter().filter(|row| row.stage == stage.name);
        let rows = of_stage.filter_map(|row| Some((&row.id, inputs::imported(row, true)?)));
        let (ids, rows): (Vec<_>, Vec<_>) = rows.unzip();
        let found = doubts(engine, &mut view, &rows).unwrap_or_default();
        told.extend(
            found
                .into_iter()
                .map(|(at, why)| format!("{}: {why}", ids[at])),
        );
    }
    told
}

/// The stages in their order: those that the engine file lists, then those that only rows name.
fn stages<'a>(engine: &Engine, named: impl Iterator<Item = &'a str>) -> Vec<engine::Stage> {
    let mut stages = engine.stages.clone();
    for name in named {
        if !stages.iter().any(|stage| stage.name == name) {
            let at = if name == FIRST_STAGE { 0 } else { stages.len() };
            stages.insert(at, engine::Stage::named(name));
        }
    }
    stages
}

/// A stage begins, as a cut opens it; the first one is what the parts came as.
fn begin(view: &mut JobView, stage: &engine::Stage) {
    let stamp = next_stamp(view);
    let fact = match stamp.seq {
        1 => Fact::Opened(OpenedJob {
            job: "files".to_owned(),
            title: None,
            stage: stage.name.clone(),
            program: "files alone".to_owned(),
            copy_of: None,
        }),
        _ => Fact::Cut(PartsCut {
            stage: stage.name.clone(),
            what: stage.name.clone(),
            changes: stage
                .changed
                .iter()
                .flatten()
                .map(|family| family.name().to_owned())
                .collect(),
            cylinders: stage.cylinders.clone().unwrap_or_default(),
            depths: Vec::new(),
        }),
    };
    // A stage that does not fit is one that the blueprint refuses with its reason.
    let _ = view.apply(stamp, fact);
}
