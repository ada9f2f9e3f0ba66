//! The report's findings about questions: those that wait for an answer, values kept after a
//! question, and values that a person typed.

use std::collections::BTreeSet;

use benchhand_blueprint::Engine;
use benchhand_blueprint::report::{Finding, FindingKind};
use benchhand_wire::RouteProgress;

use crate::known::{told, words};
use crate::store::fact::{ASKED, ReadingSource};
use crate::store::view::{JobView, KeptReading, ReadingState};

/// The findings of a stage: from the journal, and from the route that runs on the job now. `holding`
/// are the readings on which the stage's figures rest.
pub(super) fn findings(
    engine: &Engine,
    view: &JobView,
    (stage, holding): (&str, &BTreeSet<u64>),
    running: Option<&RouteProgress>,
) -> Vec<Finding> {
    let finding = |spot: &str, kind, text: String| Finding {
        spot: spot.to_owned(),
        kind,
        text,
        replaced: Vec::new(),
    };
    let mut all = Vec::new();
    let mut typed = BTreeSet::new();
    let mut recorded = 0u32;
    // What was asked about before a cut that left the reading alone is not cut off with the metal.
    let here = |kept: &&KeptReading| kept.stage == stage || holding.contains(&kept.id);
    for kept in view.readings().filter(here) {
        let asked = kept.labels.get(ASKED).map(String::as_str);
        let doubt = |asked| doubt(&kept.spot, asked);
        match &kept.state {
            ReadingState::Asked => {
                recorded += 1;
                let shown = told::shown(Some(engine), kept);
                let about_it = asked.is_some_and(|asked| holds(asked, &shown, kept));
                let text = match (asked, about_it) {
                    (Some(asked), true) => format!("asked: {}", doubt(asked)),
                    (Some(asked), false) => {
                        format!("{shown} waits behind another: {}", doubt(asked))
                    }
                    (None, _) => format!("{shown} waits"),
                };
                all.push(finding(&kept.spot, FindingKind::Open, text));
            }
            state if state.is_live() => {
                if let Some(asked) = asked {
                    let (shown, doubt) = (told::shown(Some(engine), kept), doubt(asked));
                    let text = match holds(doubt, &shown, kept) {
                        true => format!("{doubt}; kept"),
                        false => format!("{shown} was asked about ({doubt}); kept"),
                    };
                    all.push(finding(&kept.spot, FindingKind::Kept, text));
                }
                // Several rounds of a spot are named once.
                if kept.source == ReadingSource::Typed && typed.insert(&kept.spot) {
                    let text = "typed, not captured from a gauge".to_owned();
                    all.push(finding(&kept.spot, FindingKind::Typed, text));
                }
            }
            _ => {}
        }
    }
    let running = running.filter(|route| route.running && stage == view.stage());
    // A value that may still grow is not in the journal yet.
    if let Some((route, asked)) = running.and_then(|route| Some((route, route.asked.as_ref()?))) {
        let text = format!("asked: {}", doubt(&asked.spot, &asked.text));
        let told = all.iter().any(|one| one.text == text);
        let values = route.waiting + u32::from(!asked.shown.is_empty() && told);
        if !told {
            all.push(finding(&asked.spot, FindingKind::Open, text));
        }
        let text = match values.saturating_sub(recorded) {
            0 => return all,
            1 => "1 more pour waits behind this question".to_owned(),
            more => format!("{more} more pours wait behind this question"),
        };
        all.push(finding(&asked.spot, FindingKind::Open, text));
    }
    all
}

/// Whether a text holds a reading's value, as it is told now or in its gauge's own unit: earlier questions
/// were told so.
fn holds(text: &str, shown: &str, kept: &KeptReading) -> bool {
    text.contains(shown) || text.contains(&words::shown_in(kept, None))
}

/// The doubt of a question without the spot and the answers that were offered: "90.00 cc, expected
/// about 64.0 cc as the engine file says".
fn doubt<'a>(spot: &str, asked: &'a str) -> &'a str {
    let begin = format!("{}: ", benchhand_words::spot_said(spot));
    let asked = asked.strip_prefix(&begin).unwrap_or(asked);
    let end = [
        ": keep",
        ". keep",
        "? keep",
        ", keep",
        ". zero it",
        ". again",
    ];
    let ends = end.iter().filter_map(|tail| asked.find(tail));
    ends.min().map_or(asked, |at| &asked[..at])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_question_is_told_without_its_answers() {
        let asked = "chamber 1: 90.00 cc, expected about 64.0 cc as the engine file says: keep, \
                     again, or type it?";
        let told = "90.00 cc, expected about 64.0 cc as the engine file says";
        assert_eq!(doubt("chamber/1", asked), told);
        assert_eq!(doubt("chamber/1", told), told);
    }
}
