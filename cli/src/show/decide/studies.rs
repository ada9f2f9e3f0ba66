//! A gauge's study, and true top dead centre: from readings alone.

use blueprint::answers::{StudyAnswer, TdcAnswer};

use super::{bare, blueprint, listed, said, shown};
use crate::show::table::Table;

/// True top dead centre.
pub(crate) fn tdc(answer: &TdcAnswer) -> String {
    let mut text = format!(
        "True top dead centre is where the protractor shows {}\n",
        said(answer.top.clone())
    );
    let now = answer.shows_now.value;
    if now != 0.0 {
        let way = if now > 0.0 { "back" } else { "forward" };
        text += &format!(
            "  turn the protractor {way} by {:.2} deg, so that it shows 0 there\n",
            now.abs()
        );
    }
    if let Some(scatter) = answer.scatter.clone() {
        text += &format!(
            "  the middles of the pairs scatter by {:.2} deg\n",
            scatter.value
        );
    }
    let mut table = Table::new(&[
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
                .clone()
                .map_or_else(|| "not said".to_owned(), bare),
            shown(pair.middle.clone()),
            pair.offset_error.clone().map_or_else(
                || "not known".to_owned(),
                |error| format!("{:+.3}", error.value),
            ),
        ]);
    }
    text += &table.text();
    text += &listed("To be known", "  ", &answer.remarks);
    text += &listed("Cautions", "  ! ", &answer.cautions);
    text
}

/// A gauge's study by both methods.
pub(crate) fn study(answer: &StudyAnswer) -> String {
    let mut text = format!(
        "Study of a gauge: {} parts, {} operators, {} trials of each\n",
        answer.parts.len(),
        answer.operators.len(),
        answer.trials
    );
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
        let mut table = Table::new(&headings);
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
        text += &format!("\n{}", table.text());
        text += &match found.categories {
            Some(kinds) => format!(
                "The gauge can tell {} kinds of these parts apart.\n",
                kinds.floor()
            ),
            None => "The gauge showed no variation of its own.\n".to_owned(),
        };
    }
    text + &listed("To be known", "  ", &answer.remarks)
}
