//! Gaskets, pistons and rods, chamber work.

use blueprint::answers::{FitAnswer, GasketAnswer};
use blueprint::decide::{ChamberWork, MadeEqual};

use super::{blueprint, said, shown, shown_or};
use crate::show::figure::LEGEND;
use crate::show::table::Table;
use crate::show::wrapped;

/// The amount to grind out of each chamber.
pub(super) fn chambers(answer: &ChamberWork) -> String {
    let what = match answer.equal {
        MadeEqual::Chambers => "chambers",
        MadeEqual::Compression => "compression",
    };
    let mut text = format!(
        "To take out of each chamber, so that the {what} of all become equal\n  cylinder {} needs no work; the others are brought to it\n",
        answer.reference
    );
    let mut table = Table::new(&[">cylinder", ">take out\ncc", "more than its uncertainty"]);
    for at in &answer.work {
        let worth = match at.worth_it {
            _ if at.cylinder == answer.reference => "-",
            Some(true) => "yes",
            Some(false) => "no, leave it",
            None => "not known",
        };
        let remove = match at.cylinder == answer.reference {
            true => "nothing".to_owned(),
            false => shown(at.remove.clone()),
        };
        table.row(vec![at.cylinder.to_string(), remove, worth.to_owned()]);
    }
    text += &table.text();
    if let (Some(before), Some(after)) = (
        answer.compression_before.clone(),
        answer.compression_after.clone(),
    ) {
        text += &format!(
            "The mean compression of {} becomes {}.\n",
            shown(before),
            shown(after)
        );
    }
    text + LEGEND + "\n"
}

/// The gaskets at hand, the best first.
pub(super) fn gasket(answer: &GasketAnswer) -> String {
    let mut text = format!(
        "Gaskets at hand for a compression of {} to 1, the nearest first\n",
        answer.target.value
    );
    if let Some(wanted) = answer.thickness_wanted.clone() {
        text += &format!("  exactly it would be {} compressed\n", said(wanted));
    }
    let unit = answer
        .gaskets
        .iter()
        .find_map(|one| one.least_quench.clone())
        .map(|quench| quench.unit.to_string())
        .unwrap_or_default();
    let quench = format!(">quench, {unit}\nleast");
    let mut table = Table::new(&[
        "gasket",
        ">compression\nmean",
        ">\noff target",
        &quench,
        ">\nmost",
    ]);
    for one in &answer.gaskets {
        let value = |figure: Option<blueprint::Figure>| {
            figure.map_or_else(
                || "missing".to_owned(),
                |figure| format!("{:+.3}", figure.value),
            )
        };
        table.row(vec![
            one.gasket.clone(),
            shown_or(one.compression_mean.clone()),
            value(one.off_target.clone()),
            shown_or(one.least_quench.clone()),
            shown_or(one.most_quench.clone()),
        ]);
    }
    text += &table.text();
    for one in &answer.gaskets {
        if let Some(refused) = &one.refused {
            text += &wrapped("  * ", &format!("{} cannot be used: {refused}", one.gasket));
            continue;
        }
        for warning in &one.warnings {
            text += &wrapped("  * ", &format!("{}: {warning}", one.gasket));
        }
        if !one.valve_gaps.is_empty() {
            text += &format!(
                "  with {}\n{}",
                one.gasket,
                super::mill::gaps(&one.valve_gaps)
            );
        }
    }
    text + LEGEND + "\n"
}

/// The parts in their bores.
pub(super) fn fit(answer: &FitAnswer) -> String {
    let assignment = &answer.assignment;
    let mut text = format!(
        "Pistons and rods in their bores, for the least spread of the compression{}\n  spread {}, mean {}\n",
        match assignment.proven {
            true => "",
            false => ":\n  the best that was found, not proven to be the least",
        },
        said(assignment.spread.clone()),
        said(assignment.mean.clone())
    );
    if let Some(sorted) = answer.spread_by_sorting.clone() {
        text += &format!(
            "  sorting by hand would reach a spread of {:.3}\n",
            sorted.value
        );
    }
    let unit = assignment
        .placed
        .first()
        .map(|one| one.deck.unit.to_string())
        .unwrap_or_default();
    let deck = format!(">deck\n{unit}");
    let mut table = Table::new(&[">cylinder", "piston", "rod", &deck, ">compression"]);
    for one in &assignment.placed {
        table.row(vec![
            one.cylinder.to_string(),
            one.piston.clone(),
            one.rod.clone(),
            shown(one.deck.clone()),
            shown(one.compression.clone()),
        ]);
    }
    text + &table.text() + LEGEND + "\n"
}
