//! How deep to mill.

use blueprint::answers::{BeforeAfter, GapAfter, HeadCut, MillAnswer};

use super::{blueprint, count};
use crate::rows::numbers;
use crate::stated::{LEGEND, bare, both, sentence};
use crate::told::{ToldTable, ToldText};
use blueprint::Figure;

/// For each head: the depth, the result for each cylinder, and the other changes.
pub(super) fn told(answer: &MillAnswer) -> ToldText {
    let aim = match answer.target.unit.to_string().as_str() {
        "1" => format!("a mean compression of {}:1", answer.target.value),
        _ => format!("a mean chamber of {}", bare(&answer.target)),
    };
    let by = match answer.learned_from {
        Some(volumes) => format!(
            "as learned from {volumes} volumes of {}, before and after cuts",
            count(answer.learned_chambers.unwrap_or(0), "chamber", "chambers")
        ),
        None => "by the area of the chamber's opening".to_owned(),
    };
    let mut told = ToldText::titled(format!("To mill for {aim}"));
    told += format!("  {by}: {}\n", sentence(&answer.area));
    if answer.learned_from.is_none() && answer.area.u.is_some_and(|u| u > 0.0) {
        told.wrapped(
            "  ",
            "(what is written after +- is one standard deviation; this ± covers 95 %)",
        );
    }
    // Where one head was cut deeper than another, each says its own.
    let first = answer.heads.first().and_then(|head| head.already.as_ref());
    let alike = answer
        .heads
        .iter()
        .all(|head| head.already.as_ref() == first);
    match &answer.most {
        Some(most) if alike => told += may_be_cut(most, answer.already.as_ref()),
        Some(_) => {}
        None => {
            told.wrapped(
                "  ",
                "how much may be cut in all is not stated: ask the head's maker, and give --most or `most_mill` under [head]",
            );
        }
    }
    let mut named = Vec::new();
    for head in &answer.heads {
        told += one(head, !alike);
        // A warning for every head is printed once.
        for warning in &head.warnings {
            if !named.contains(&warning) {
                told.wrapped("  * ", warning);
                named.push(warning);
            }
        }
    }
    if answer.heads.len() > 1 {
        told += "\n";
        told.title("The whole engine, all heads cut");
        for (name, pair) in [
            ("mean compression", answer.compression_mean.clone()),
            (
                "spread of the compression",
                answer.compression_spread.clone(),
            ),
        ] {
            if let Some(pair) = pair {
                told += format!("  {name}: {}\n", arrow(pair));
            }
        }
    }
    told += LEGEND;
    told += "\n";
    told
}

fn arrow(pair: BeforeAfter) -> String {
    format!("{} becomes {}", both(&pair.before), both(&pair.after))
}

/// How much may still be cut, and how much was.
fn may_be_cut(most: &Figure, already: Option<&Figure>) -> String {
    match already {
        Some(already) => format!(
            "  {} was cut already, {} more may be\n",
            bare(already),
            bare(most)
        ),
        None => format!("  no more than {} may be cut\n", bare(most)),
    }
}

/// One head; `its_most` where it says by itself how much may be cut.
fn one(head: &HeadCut, its_most: bool) -> ToldText {
    let mut told = ToldText::default();
    told += "\n";
    told.title(format!("Head {}", head.head));
    if let (true, Some(most)) = (its_most, &head.most) {
        told += may_be_cut(most, head.already.as_ref());
    }
    if let Some(why) = &head.why_not {
        told.wrapped("  ", &format!("no cut: {why}"));
    } else {
        told += match (&head.depth_at_pivot, &head.angle) {
            (Some(pivot), Some(angle)) => format!(
                "  depth {} at the centroid of the chambers,\n  {} at the line about which it is tipped\n  by {}\n",
                sentence(&head.depth),
                sentence(pivot),
                sentence(angle)
            ),
            _ => format!("  depth {}\n", sentence(&head.depth)),
        };
        if let (Some(deepest), Some(place)) = (&head.deepest, head.deepest_at) {
            told += format!("  deepest {}: {}\n", place.words(), sentence(deepest));
        }
        told += format!("  takes {} from each chamber\n", sentence(&head.taken));
    }
    let mut table = ToldTable::new(&[
        ">cylinder",
        ">chamber, cc\nbefore",
        ">\nafter",
        ">compression\nbefore",
        ">\nafter",
    ]);
    for row in &head.cylinders {
        let sides = |pair: Option<BeforeAfter>| match pair {
            Some(pair) => [both(&pair.before), both(&pair.after)],
            None => ["missing".to_owned(), "missing".to_owned()],
        };
        let ([a, b], [c, d]) = (sides(row.chamber.clone()), sides(row.compression.clone()));
        table.row(vec![row.cylinder.to_string(), a, b, c, d]);
    }
    told += table;
    let known = head.cylinders.iter().filter(|row| row.chamber.is_some());
    let known: Vec<u32> = known.map(|row| row.cylinder).collect();
    if known.len() < head.cylinders.len() {
        let from = numbers(&known);
        told.wrapped(
            "  ! ",
            &format!("reckoned from cylinders {from} alone: the others are not known"),
        );
    }
    told += gaps(&head.valve_gaps).as_str();
    told
}

/// The change of the measured piston-to-valve clearances.
pub(super) fn gaps(gaps: &[GapAfter]) -> String {
    gaps.iter()
        .map(|gap| {
            format!(
                "  piston-to-valve clearance, cylinder {} {}:\n    {} becomes {}\n",
                gap.cylinder,
                gap.port,
                sentence(&gap.before),
                sentence(&gap.after)
            )
        })
        .collect()
}
