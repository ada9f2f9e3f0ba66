//! What the index holds of a job's engine and figures, so that similar engines can be found.

use benchhand_blueprint::Engine;
use benchhand_blueprint::engine::EngineSizes;
use benchhand_blueprint::report::FindingKind;
use benchhand_wire::Figure;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::inputs::Asked;
use crate::store::index::Digests;
use crate::store::view::JobView;

/// How engines and jobs become digests for the index of a store.
pub(crate) const DIGESTS: Digests = Digests {
    engine: |text| {
        let engine = Engine::from_toml(text).ok()?;
        let found = EngineDigest {
            sizes: EngineSizes::of(&engine),
            name: Some(engine.name),
        };
        serde_json::to_value(found).ok()
    },
    figures: |view| serde_json::to_value(JobFigures::of(view)).unwrap_or_default(),
};

/// What the index holds of an engine.
#[derive(Debug, Serialize, Deserialize)]
struct EngineDigest {
    #[serde(flatten)]
    sizes: EngineSizes,
    /// What the engine file calls it; `None` where an earlier version of the program made this.
    #[serde(default)]
    name: Option<String>,
}

/// The figures of a job by which engines are compared.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct JobFigures {
    /// The figures by their names in the report's summary; figures that were not measured are left
    /// out.
    pub(crate) figures: Vec<(String, Figure)>,
    /// What was not measured, in words; `None` where an earlier version of the program made this.
    #[serde(default)]
    pub(crate) lacks: Option<Vec<String>>,
}

impl JobFigures {
    /// Of a job whose report refuses nothing is known.
    fn unknown() -> JobFigures {
        JobFigures {
            lacks: Some(Vec::new()),
            ..JobFigures::default()
        }
    }

    /// The figures of the present stage. None where the report refuses: opening the job tells why.
    fn of(view: &JobView) -> JobFigures {
        let Ok(asked) = Asked::new(view, None) else {
            return JobFigures::unknown();
        };
        let Ok(report) = benchhand_blueprint::report(&asked.inputs()) else {
            return JobFigures::unknown();
        };
        let missing = report.findings_of(FindingKind::Missing);
        let lacks = benchhand_words::not_measured(missing.map(|one| one.spot.as_str()));
        let summary = report.summary;
        let named = [
            ("compression_mean", summary.compression_mean),
            ("compression_spread", summary.compression_spread),
            ("chamber_mean", summary.chamber_mean),
            ("chamber_spread", summary.chamber_spread),
            ("deck_mean", summary.deck_mean),
            ("deck_spread", summary.deck_spread),
            ("crown_mean", summary.crown_mean),
        ];
        let figures = named.into_iter().filter_map(|(name, figure)| {
            let figure = figure?;
            let shown = Figure {
                value: figure.value,
                u: figure.u,
                unit: figure.unit.symbol().to_owned(),
            };
            Some((name.to_owned(), shown))
        });
        JobFigures {
            figures: figures.collect(),
            lacks: Some(lacks),
        }
    }
}

/// The sizes of an engine in the index; `None` where an earlier version of the program held others.
pub(crate) fn sizes(digest: &Value) -> Option<EngineSizes> {
    EngineSizes::deserialize(digest).ok()
}

/// What the engine file that was loaded last calls the engine.
pub(crate) fn name(digest: &Value) -> Option<String> {
    EngineDigest::deserialize(digest).ok()?.name
}

/// The figures of a job in the index.
pub(crate) fn figures(digest: &Value) -> JobFigures {
    JobFigures::deserialize(digest).unwrap_or_default()
}
