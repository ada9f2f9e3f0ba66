//! Free spots: what the engine file states beyond everything that has a figure of its own.

use benchhand_blueprint::Figure;
use benchhand_blueprint::report::FreeReport;

use super::block::spots;
use crate::stated::{bare, sentence};
use crate::told::ToldText;

/// The free spots, each name and place by itself. `None` if the engine file states none.
pub(super) fn section(all: &[FreeReport]) -> Option<ToldText> {
    if all.is_empty() {
        return None;
    }
    let mut told = ToldText::titled("Free spots");
    for one in all {
        told += format!("{}: {}\n", title(one), over_all(one));
        if let Some(equals) = &one.spread_of_equals {
            told += format!(
                "  repeat scatter alone would give a spread of about {}\n",
                bare(equals)
            );
        }
        if !one.measured.is_empty() {
            told += spots(&one.measured.iter().collect::<Vec<_>>());
        }
    }
    Some(told)
}

fn title(one: &FreeReport) -> String {
    match &one.at {
        Some(at) => format!("{}, {at}", one.title),
        None => one.title.clone(),
    }
}

/// Average and spread with what is allowed.
fn over_all(one: &FreeReport) -> String {
    let limit = |name: &str, limit: &Option<Figure>| {
        limit
            .as_ref()
            .map(|limit| format!("{name} {}", bare(limit)))
    };
    let measured = match &one.mean {
        None => "not measured".to_owned(),
        Some(mean) => format!("average {}", sentence(mean)),
    };
    let parts = [
        Some(measured),
        one.spread
            .as_ref()
            .map(|spread| format!("spread {}", sentence(spread))),
        limit("allowed spread", &one.allowed_spread),
        limit("least allowed", &one.least),
        limit("most allowed", &one.most),
    ];
    let mut told = parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
    if one.measured.len() < one.spots && !one.measured.is_empty() {
        told += &format!(" ({} of {} measured)", one.measured.len(), one.spots);
    }
    told
}
