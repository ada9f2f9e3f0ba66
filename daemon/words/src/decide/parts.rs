//! Gaskets, pistons and rods, chamber work.

use blueprint::answers::{FitAnswer, GasketAnswer};
use blueprint::decide::{ChamberWork, CylinderWork, MadeEqual};

use super::{blueprint, both_or};
use crate::stated::{LEGEND, both, plain, sentence};
use crate::told::{ToldTable, ToldText};

/// The amount to grind out of each chamber.
pub(super) fn chambers(answer: &ChamberWork) -> ToldText {
    let least = answer.equal == MadeEqual::Allowed;
    let idle = |at: &CylinderWork| match least {
        true => at.worth_it == Some(false),
        false => at.cylinder == answer.reference,
    };
    let mut told = ToldText::titled(match answer.equal {
        MadeEqual::Allowed => {
            "The least to take out of the chambers, so that what is allowed is kept to"
        }
        MadeEqual::Chambers => {
            "To take out of each chamber, so that the chambers of all become equal"
        }
        MadeEqual::Compression => {
            "To take out of each chamber, so that the compression of all become equal"
        }
    });
    told += match (least, answer.work.iter().all(idle)) {
        (true, true) => "  all of them are within it: nothing needs to come out\n".to_owned(),
        (true, false) => format!(
            "  chamber {} sets the size: the largest cannot be made smaller\n",
            answer.reference
        ),
        (false, _) => format!(
            "  cylinder {} needs no work; the others are brought to it\n",
            answer.reference
        ),
    };
    let heading = ["more than its uncertainty", "opened"][usize::from(least)];
    let mut table = ToldTable::new(&[">cylinder", ">take out\ncc", heading]);
    for at in &answer.work {
        let worth = match at.worth_it {
            _ if at.cylinder == answer.reference => "-",
            Some(true) => "yes",
            Some(false) if least => "no, it is large enough",
            Some(false) => "no, leave it",
            None if least => "measure it again first",
            None => "not known",
        };
        let remove = match (idle(at), least) {
            (false, true) if at.worth_it.is_none() => "-".to_owned(),
            (true, _) => "nothing".to_owned(),
            // An amount that was chosen: it is not known, it is told.
            (false, true) => plain(&at.remove),
            (false, false) => both(&at.remove),
        };
        table.row(vec![at.cylinder.to_string(), remove, worth.to_owned()]);
    }
    told += table;
    if let (Some(before), Some(after)) = (&answer.compression_before, &answer.compression_after) {
        told += format!(
            "The mean compression of {} becomes {}.\n",
            both(before),
            both(after)
        );
    }
    told += LEGEND;
    told += "\n";
    told
}

/// The gaskets at hand, the best first.
pub(super) fn gasket(answer: &GasketAnswer) -> ToldText {
    let mut told = ToldText::titled(format!(
        "Gaskets at hand for a compression of {}:1, the nearest first",
        answer.target.value
    ));
    if let Some(wanted) = &answer.thickness_wanted {
        told += format!("  exactly it would be {} compressed\n", sentence(wanted));
    }
    let unit = answer
        .gaskets
        .iter()
        .find_map(|one| one.least_quench.clone())
        .map(|quench| quench.unit.to_string())
        .unwrap_or_default();
    let quench = format!(">quench, {unit}\nleast");
    let mut table = ToldTable::new(&[
        "gasket",
        ">compression\nmean",
        ">\noff target",
        &quench,
        ">\nmost",
    ]);
    for one in &answer.gaskets {
        let value = |figure: Option<&blueprint::Figure>| {
            figure.map_or_else(
                || "missing".to_owned(),
                |figure| format!("{:+.3}", figure.value),
            )
        };
        table.row(vec![
            one.gasket.clone(),
            both_or(one.compression_mean.as_ref()),
            value(one.off_target.as_ref()),
            both_or(one.least_quench.as_ref()),
            both_or(one.most_quench.as_ref()),
        ]);
    }
    told += table;
    for one in &answer.gaskets {
        if let Some(refused) = &one.refused {
            told.wrapped("  * ", &format!("{} cannot be used: {refused}", one.gasket));
            continue;
        }
        for warning in &one.warnings {
            told.wrapped("  * ", &format!("{}: {warning}", one.gasket));
        }
        if !one.valve_gaps.is_empty() {
            told += format!(
                "  with {}\n{}",
                one.gasket,
                super::mill::gaps(&one.valve_gaps)
            );
        }
    }
    told += LEGEND;
    told += "\n";
    told
}

/// The parts in their bores.
pub(super) fn fit(answer: &FitAnswer) -> ToldText {
    let assignment = &answer.assignment;
    let mut told = ToldText::titled(
        "Pistons and rods in their bores, for the least spread of the compression",
    );
    if !assignment.proven {
        told += "  the best that was found, not proven to be the least\n";
    }
    told += format!(
        "  spread {}, mean {}\n",
        sentence(&assignment.spread),
        sentence(&assignment.mean)
    );
    if let Some(sorted) = answer.spread_by_sorting.clone() {
        told += format!(
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
    let mut table = ToldTable::new(&[">cylinder", "piston", "rod", &deck, ">compression"]);
    for one in &assignment.placed {
        table.row(vec![
            one.cylinder.to_string(),
            one.piston.clone(),
            one.rod.clone(),
            both(&one.deck),
            both(&one.compression),
        ]);
    }
    told += table;
    told += LEGEND;
    told += "\n";
    told
}
