//! What is odd about the rows of a file of readings, without a job.

use benchhand_blueprint::readings::from_csv;
use benchhand_blueprint::report::stages_in_order;
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
    for stage in stages_in_order(&engine.stages, &read) {
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
