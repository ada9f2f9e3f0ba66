//! How deep to mill.

use blueprint::answers::{BeforeAfter, GapAfter, HeadCut, MillAnswer};

use super::{bare, blueprint, said, shown};
use crate::show::figure::LEGEND;
use crate::show::table::Table;
use crate::show::wrapped;

/// For each head: the depth, the result for each cylinder, and the other changes.
pub(super) fn text(answer: &MillAnswer) -> String {
    let aim = match answer.target.unit.to_string().as_str() {
        "1" => format!("a mean compression of {} to 1", answer.target.value),
        _ => format!("a mean chamber of {}", bare(answer.target.clone())),
    };
    let by = match answer.learned_from {
        Some(volumes) => format!(
            "as learned from {volumes} volumes of {}, before and after cuts",
            crate::show::count(answer.learned_chambers.unwrap_or(0), "chamber", "chambers")
        ),
        None => "by the area of the chamber's opening".to_owned(),
    };
    let mut text = format!("To mill for {aim}\n  {by}: {}\n", said(answer.area.clone()));
    match (answer.most.clone(), answer.already.clone()) {
        (Some(most), Some(already)) => {
            text += &format!(
                "  {} was cut already, {} more may be\n",
                bare(already),
                bare(most)
            );
        }
        (Some(most), None) => text += &format!("  no more than {} may be cut\n", bare(most)),
        (None, _) => {
            text += &wrapped(
                "  ",
                "how much may be cut in all is not stated: ask the head's maker, and give --most or `most_mill` under [head]",
            );
        }
    }
    let mut told = Vec::new();
    for head in &answer.heads {
        text += &one(head);
        // A warning for every head is printed once.
        for warning in &head.warnings {
            if !told.contains(&warning) {
                text += &wrapped("  * ", warning);
                told.push(warning);
            }
        }
    }
    if answer.heads.len() > 1 {
        text += "\nThe whole engine, all heads cut\n";
        for (name, pair) in [
            ("mean compression", answer.compression_mean.clone()),
            (
                "spread of the compression",
                answer.compression_spread.clone(),
            ),
        ] {
            if let Some(pair) = pair {
                text += &format!("  {name}: {}\n", arrow(pair));
            }
        }
    }
    text + LEGEND + "\n"
}

fn arrow(pair: BeforeAfter) -> String {
    format!("{} becomes {}", shown(pair.before), shown(pair.after))
}

fn one(head: &HeadCut) -> String {
    let mut text = format!("\nHead {}\n", head.head);
    if let Some(why) = &head.why_not {
        text += &wrapped("  ", &format!("no cut: {why}"));
    } else {
        text += &match (head.depth_at_pivot.clone(), head.angle.clone()) {
            (Some(pivot), Some(angle)) => format!(
                "  depth {} at the centroid of the chambers,\n  {} at the line about which it is tipped\n  by {}\n",
                said(head.depth.clone()),
                said(pivot),
                said(angle)
            ),
            _ => format!("  depth {}\n", said(head.depth.clone())),
        };
        if let (Some(deepest), Some(place)) = (head.deepest.clone(), head.deepest_at) {
            text += &format!("  deepest {}: {}\n", place.words(), said(deepest));
        }
        text += &format!("  takes {} from each chamber\n", said(head.taken.clone()));
    }
    let mut table = Table::new(&[
        ">cylinder",
        ">chamber, cc\nbefore",
        ">\nafter",
        ">compression\nbefore",
        ">\nafter",
    ]);
    for row in &head.cylinders {
        let both = |pair: Option<BeforeAfter>| match pair {
            Some(pair) => [shown(pair.before), shown(pair.after)],
            None => ["missing".to_owned(), "missing".to_owned()],
        };
        let ([a, b], [c, d]) = (both(row.chamber.clone()), both(row.compression.clone()));
        table.row(vec![row.cylinder.to_string(), a, b, c, d]);
    }
    text += &table.text();
    text + &gaps(&head.valve_gaps)
}

/// The change of the measured valve-to-piston distances.
pub(super) fn gaps(gaps: &[GapAfter]) -> String {
    gaps.iter()
        .map(|gap| {
            format!(
                "  valve to piston, cylinder {} {}:\n    {} becomes {}\n",
                gap.cylinder,
                gap.port,
                said(gap.before.clone()),
                said(gap.after.clone())
            )
        })
        .collect()
}
