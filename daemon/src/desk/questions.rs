//! The report's findings about questions: those that wait for an answer, values kept after a
//! question, and values that a person typed.

use std::collections::BTreeSet;

use benchhand_blueprint::Engine;
use benchhand_blueprint::report::{Finding, FindingKind};
use benchhand_wire::RouteProgress;

use crate::known::{told, words};
use crate::store::fact::{ASKED, ReadingSource, WHY_ASKED};
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
                let text = match asked.map(doubt) {
                    // One pour or two: the doubt names both parts, and not the whole.
                    Some(doubt)
                        if kept.labels.contains_key(WHY_ASKED) || is_about(doubt, &shown, kept) =>
                    {
                        format!("asked: {doubt}")
                    }
                    Some(doubt) => format!("{shown} waits behind another: {doubt}"),
                    None => format!("{shown} waits"),
                };
                all.push(finding(&kept.spot, FindingKind::Open, text));
            }
            state if state.is_live() => {
                if let Some(asked) = asked {
                    let (shown, doubt) = (told::shown(Some(engine), kept), doubt(asked));
                    let text = match is_about(doubt, &shown, kept) {
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

/// Whether a doubt is about a reading: it begins with the reading's value, as it is told now or in its
/// gauge's own unit, in which earlier questions were told. Further on a doubt names other values too.
fn is_about(doubt: &str, shown: &str, kept: &KeptReading) -> bool {
    doubt.starts_with(shown) || doubt.starts_with(&words::shown_in(kept, None))
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
    use crate::known::doubted_rows::next_stamp;
    use crate::store::fact::{Fact, OpenedJob, Reading, STEP};

    #[test]
    fn a_question_is_told_without_its_answers() {
        let asked = "chamber 1: 90.00 cc, expected about 64.0 cc as the engine file says: keep, \
                     again, or type it?";
        let told = "90.00 cc, expected about 64.0 cc as the engine file says";
        assert_eq!(doubt("chamber/1", asked), told);
        assert_eq!(doubt("chamber/1", told), told);
    }

    /// A value that waits is named in the question about another: as what was expected there, or as a part
    /// of its digits.
    #[test]
    fn a_value_that_waits_is_not_taken_for_the_one_that_is_asked_about() {
        let text = include_str!("../../../examples/invented-v8.toml");
        let engine = Engine::from_toml(text).expect("an engine file");
        let mut view = JobView::default();
        let mut takes = |fact: Fact| {
            view.apply(next_stamp(&view), fact).expect("it fits");
        };
        takes(Fact::Opened(OpenedJob {
            job: "v8".to_owned(),
            title: None,
            stage: "as received".to_owned(),
            program: "a test".to_owned(),
            copy_of: None,
        }));
        let question = "chamber 1: 164.00 cc, expected about 64.0 cc as the engine file says: keep, \
                        again, or type it?";
        for (value, step) in [(164.0, "0.01"), (64.0, "0.1"), (64.0, "0.01")] {
            let mut asked =
                Reading::new("chamber/1".to_owned(), value, "cc", ReadingSource::Captured);
            let labels = [(ASKED, question), (STEP, step)];
            let labels = labels.map(|(label, text)| (label.to_owned(), text.to_owned()));
            asked.labels.extend(labels);
            takes(Fact::Asked(asked));
        }
        let found = findings(&engine, &view, ("as received", &BTreeSet::new()), None);
        let told: Vec<&str> = found.iter().map(|one| one.text.as_str()).collect();
        let doubt = "164.00 cc, expected about 64.0 cc as the engine file says";
        assert_eq!(told[0], format!("asked: {doubt}"));
        assert_eq!(told[1], format!("64.0 cc waits behind another: {doubt}"));
        assert_eq!(told[2], format!("64.00 cc waits behind another: {doubt}"));
    }
}
