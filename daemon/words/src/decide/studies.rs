//! A gauge's study, and true top dead centre: from readings alone.

use blueprint::answers::{StudyAnswer, TdcAnswer};

use super::{blueprint, listed, notes};
use crate::stated::{bare, both, sentence};
use crate::told::{ToldTable, ToldText};

/// True top dead centre.
pub fn tdc(answer: &TdcAnswer) -> ToldText {
    let mut told = ToldText::titled(format!(
        "True top dead centre is where the degree wheel shows {}",
        sentence(&answer.top)
    ));
    let now = answer.shows_now.value;
    if answer.contradict {
        told +=
            "  the pairs contradict each other: take them again before you turn the degree wheel\n";
    } else if now != 0.0 {
        let way = if now > 0.0 { "back" } else { "forward" };
        told += format!(
            "  turn the degree wheel {way} by {:.2} deg, so that it shows 0 there\n",
            now.abs()
        );
    }
    if let Some(scatter) = answer.scatter.clone() {
        told += format!(
            "  the middles of the pairs scatter by {:.2} deg\n",
            scatter.value
        );
    }
    let mut table = ToldTable::new(&[
        ">before\ndeg",
        ">after\ndeg",
        ">depth",
        ">middle\ndeg",
        ">of the offset\ndeg",
    ]);
    for pair in &answer.pairs {
        table.row(vec![
            format!("{:.2}", pair.before.value),
            format!("{:.2}", pair.after.value),
            pair.drop
                .as_ref()
                .map_or_else(|| "not said".to_owned(), bare),
            both(&pair.middle),
            pair.offset_error.clone().map_or_else(
                || "not known".to_owned(),
                |error| format!("{:+.3}", error.value),
            ),
        ]);
    }
    told += table;
    notes(&mut told, &answer.remarks);
    if !answer.cautions.is_empty() {
        told += "\n";
        listed(&mut told, "Cautions", "  ! ", &answer.cautions);
    }
    told
}

/// A gauge's study by both methods.
pub fn study(answer: &StudyAnswer) -> ToldText {
    let mut told = ToldText::titled(format!(
        "Study of a gauge: {} parts, {} operators, {} trials of each",
        answer.parts.len(),
        answer.operators.len(),
        answer.trials
    ));
    let tolerance = answer
        .by_anova
        .shares
        .iter()
        .any(|share| share.percent_of_tolerance.is_some());
    for (title, found) in [
        ("by averages and ranges", answer.by_range.as_ref()),
        ("by analysis of variance", Some(&answer.by_anova)),
    ] {
        let Some(found) = found else { continue };
        let unit = found
            .shares
            .first()
            .map(|share| share.sd.unit.to_string())
            .unwrap_or_default();
        let heading = format!(">standard deviation\n{unit}");
        let mut headings = vec![title, heading.as_str(), ">% of the total"];
        if tolerance {
            headings.push(">6 sd in %\nof the tolerance");
        }
        let mut table = ToldTable::new(&headings);
        for share in &found.shares {
            let percent = |share: Option<blueprint::Figure>| {
                share.map_or_else(|| "?".to_owned(), |share| format!("{:.1}", share.value))
            };
            let mut cells = vec![
                share.share.to_string(),
                format!("{:.5}", share.sd.value),
                percent(share.percent.clone()),
            ];
            if tolerance {
                cells.push(percent(share.percent_of_tolerance.clone()));
            }
            table.row(cells);
        }
        told += "\n";
        told += table;
        told += match found.categories {
            Some(kinds) => format!(
                "The gauge can tell {} kinds of these parts apart.\n",
                kinds.floor()
            ),
            None => "The gauge showed no variation of its own.\n".to_owned(),
        };
    }
    notes(&mut told, &answer.remarks);
    told
}
