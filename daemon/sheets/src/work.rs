//! The work order for the machine shop: head by head, what to open and how deep to cut.

use askama::Template;
use benchhand_blueprint::answers::{Answer, AnswerDocument, HeadCut, MillAnswer};
use benchhand_blueprint::decide::{ChamberWork, MadeEqual};
use benchhand_blueprint::engine::MOST_CUT;
use benchhand_blueprint::formula::volume::disc;
use benchhand_blueprint::{Figure, Unit};
use benchhand_words::ShortReport;
use benchhand_words::digits::{rounded, usual_decimals};
use benchhand_words::stated::{bare, both, sentence};

use crate::Sheet;
use crate::facts::SheetFacts;
use crate::frame::{STYLE, SheetFrame};
use crate::sizes::{TwoUnits, chosen_in_two, of_stated};

#[derive(Template)]
#[template(path = "work.html")]
struct WorkSheet<'a> {
    frame: SheetFrame<'a>,
    opening: bool,
    /// Whether the chambers are opened no further than is allowed, and else what becomes equal.
    least: bool,
    equal: &'static str,
    reference: Option<u32>,
    cut: bool,
    /// Whether a cut was asked for and no head may be cut as deep.
    none_cut: bool,
    /// The average compression before and after the chambers are opened, where no face is cut after it.
    opened_to: Option<[String; 2]>,
    /// Why the sheet states no cut.
    no_cut: &'a str,
    target: String,
    most: Option<TwoUnits>,
    whole: Vec<Whole>,
    heads: Vec<Head>,
    /// The warnings that every head has.
    of_all: Vec<String>,
    /// The doubts about the readings on which the work rests.
    doubts: Vec<String>,
    cautions: Vec<&'a str>,
    remarks: Vec<&'a str>,
    /// What a valve that is sunk adds to its chamber.
    sunk: Vec<String>,
}

/// A figure of the whole engine, as it is now and as it becomes.
struct Whole {
    name: &'static str,
    now: String,
    /// With the chambers opened, where they are.
    opened: Option<String>,
    cut: String,
}

/// One head.
struct Head {
    name: String,
    mark: String,
    cut: Option<Cut>,
    rows: Vec<Row>,
    warnings: Vec<String>,
}

/// The cut of one head.
struct Cut {
    depth: TwoUnits,
    /// The depth with its ±.
    known: String,
    why_not: String,
    /// The depths of a tipped cut at other places.
    also: Vec<String>,
    takes: String,
}

/// A chamber.
struct Row {
    cylinder: u32,
    now: String,
    open: String,
    after: String,
}

/// The work order. `chambers` and `mill` are the answers to the questions of these names, or `None`
/// where that work is not asked for; `no_cut` says why a cut that was asked for is not known.
///
/// # Errors
/// A fault of the template.
pub fn work(
    facts: &SheetFacts<'_>,
    chambers: Option<&AnswerDocument>,
    mill: Option<&AnswerDocument>,
    no_cut: &str,
) -> Sheet {
    let answers = || chambers.into_iter().chain(mill);
    let opening = chambers.and_then(|one| match &one.answer {
        // All keep to what is allowed: there is nothing to open, and nothing to pour again.
        Answer::Chambers(work)
            if work.equal == MadeEqual::Allowed
                && work.work.iter().all(|one| one.worth_it == Some(false)) =>
        {
            None
        }
        Answer::Chambers(work) => Some(work),
        _ => None,
    });
    let cut = mill.and_then(|one| match &one.answer {
        Answer::Mill(answer) => Some(&**answer),
        _ => None,
    });
    let mut heads = heads(facts, opening, cut);
    let of_all = of_all(&mut heads);
    WorkSheet {
        frame: SheetFrame::new("Work order", facts),
        opening: opening.is_some(),
        least: opening.is_some_and(|work| work.equal == MadeEqual::Allowed),
        equal: match opening.map(|work| work.equal) {
            Some(MadeEqual::Compression) => "compression",
            _ => "volume",
        },
        reference: opening.map(|work| work.reference),
        cut: cut.is_some(),
        none_cut: cut.is_some_and(none_cut),
        opened_to: opening
            .filter(|_| cut.is_none_or(none_cut))
            .and_then(|work| {
                Some([
                    both(work.compression_before.as_ref()?),
                    both(work.compression_after.as_ref()?),
                ])
            }),
        no_cut,
        target: cut.map_or(String::new(), |cut| aimed(&cut.target)),
        most: cut.and_then(|cut| cut.most.as_ref()).map(chosen_in_two),
        whole: cut.map_or(Vec::new(), |cut| whole(facts, opening.is_some(), cut)),
        heads,
        of_all,
        doubts: too_deep(facts, cut)
            .into_iter()
            .chain(doubts(facts))
            .collect(),
        cautions: each_once(answers().flat_map(|one| &one.cautions)),
        remarks: each_once(answers().flat_map(|one| &one.remarks)),
        sunk: sunk(facts),
    }
    .render()
}

/// Whether no head is cut, though a cut was asked for.
fn none_cut(cut: &MillAnswer) -> bool {
    !cut.heads.is_empty() && cut.heads.iter().all(|head| head.why_not.is_some())
}

/// What is said of a cut that is deeper than heads are cut as a rule, where the engine file does not say
/// how much these allow.
fn too_deep(facts: &SheetFacts<'_>, cut: Option<&MillAnswer>) -> Vec<String> {
    let Some(cut) = cut.filter(|cut| cut.most.is_none()) else {
        return Vec::new();
    };
    let unit = facts.report.units.length();
    let most = Figure::bare(unit.from_base(MOST_CUT), unit);
    let deep = |head: &&HeadCut| {
        head.why_not.is_none() && head.depth.unit.to_base(head.depth.value) > MOST_CUT
    };
    let told = |head: &HeadCut| {
        format!(
            "Head {}: {} is deeper than heads are cut as a rule ({}), and how much this one allows is not stated. Do not cut before that is known.",
            head.head,
            chosen_in_two(&head.depth).stated,
            chosen_in_two(&most).stated
        )
    };
    cut.heads.iter().filter(deep).map(told).collect()
}

/// What is to be measured again before metal is cut, and what else is in doubt: no more than the
/// page has room for.
fn doubts(facts: &SheetFacts<'_>) -> Vec<String> {
    const MOST: usize = 3;
    let short = ShortReport::new(facts.report, &facts.note.job, facts.kept);
    let first = short
        .next
        .iter()
        .take(1)
        .filter(|step| !step.more.is_empty());
    let mut all: Vec<String> = first
        .map(|step| format!("{}. {}", step.what, step.more))
        .collect();
    // The first step is not told a second time as a doubt.
    let told = all.join(" ").to_lowercase();
    let new = |text: &str| !told.contains(&text.trim_end_matches('.').to_lowercase());
    let marked = short.checks.iter().filter(|check| check.marked);
    let marked: Vec<_> = marked.filter(|check| new(&check.text)).collect();
    all.extend(marked.iter().take(MOST).map(|check| check.text.clone()));
    if let Some(more @ 1..) = marked.len().checked_sub(MOST) {
        all.push(format!("{more} more are named by the report."));
    }
    all
}

/// What a valve that is sunk adds to its chamber, of each kind of port whose valve is stated: the area of
/// its head by the depth. A recess that is wider adds more.
fn sunk(facts: &SheetFacts<'_>) -> Vec<String> {
    let (unit, depth) = match facts.report.units.length() {
        Unit::Inch => (Unit::Inch, 0.01),
        _ => (Unit::Millimetre, 0.25),
    };
    let ports = facts.engine.ports.iter();
    let told = ports.filter_map(|(name, port)| {
        let across = of_stated(port.valve.as_ref()?);
        let across = across.unit.to_base(across.value);
        let cc = disc(&across, &unit.to_base(depth));
        let depth = rounded(depth, usual_decimals(unit.symbol()) - 1);
        Some(format!(
            "Each {name} valve that is sunk by {depth} {unit} adds at least {} cc to its chamber: pour it again.",
            rounded(cc, 2)
        ))
    });
    told.collect()
}

fn each_once<'a>(texts: impl Iterator<Item = &'a String>) -> Vec<&'a str> {
    let mut all: Vec<&str> = Vec::new();
    for text in texts {
        if !all.contains(&text.as_str()) {
            all.push(text);
        }
    }
    all
}

/// Removes the warnings that all of several heads share from each head, and returns them.
fn of_all(heads: &mut [Head]) -> Vec<String> {
    let Some((first, others)) = heads.split_first_mut() else {
        return Vec::new();
    };
    let common = |text: &String| others.iter().all(|head| head.warnings.contains(text));
    let shared: Vec<String> = match others {
        [] => Vec::new(),
        _ => first
            .warnings
            .iter()
            .filter(|text| common(text))
            .cloned()
            .collect(),
    };
    for head in heads {
        head.warnings.retain(|text| !shared.contains(text));
    }
    shared
}

/// What becomes of the whole engine. The cut is reckoned from the opened chambers on, so what it begins
/// with is not what is there now.
fn whole(facts: &SheetFacts<'_>, opening: bool, cut: &MillAnswer) -> Vec<Whole> {
    let now = &facts.report.summary;
    [
        (
            "Compression, average",
            &now.compression_mean,
            &cut.compression_mean,
        ),
        (
            "Compression, spread",
            &now.compression_spread,
            &cut.compression_spread,
        ),
    ]
    .into_iter()
    .filter_map(|(name, now, pair)| {
        let pair = pair.as_ref()?;
        let before = both(&pair.before);
        Some(Whole {
            name,
            now: match opening {
                true => now.as_ref().map_or("–".to_owned(), both),
                false => before.clone(),
            },
            opened: opening.then_some(before),
            cut: both(&pair.after),
        })
    })
    .collect()
}

/// The heads that are cut. If none is cut, the head of each bank.
fn heads(
    facts: &SheetFacts<'_>,
    opening: Option<&ChamberWork>,
    cut: Option<&MillAnswer>,
) -> Vec<Head> {
    let card = &facts.report.card;
    let mark = |name: &str| card.heads.get(name).cloned().unwrap_or_default();
    let row = |cylinder: u32, cut: Option<&HeadCut>| {
        let known = facts.report.cylinder(cylinder);
        let now = known.and_then(|one| one.chamber.as_ref());
        let cuts = cut.into_iter().flat_map(|cut| &cut.cylinders);
        let mut own = cuts.filter(|one| one.cylinder == cylinder);
        let after = own.next().and_then(|one| one.chamber.as_ref());
        Row {
            cylinder,
            now: now.map_or("–".to_owned(), both),
            open: opening.map_or(String::new(), |work| open(work, cylinder)),
            after: after.map_or("–".to_owned(), |pair| both(&pair.after)),
        }
    };
    match cut {
        Some(answer) => answer
            .heads
            .iter()
            .map(|head| Head {
                name: head.head.clone(),
                mark: mark(&head.head),
                cut: Some(cut_of(head)),
                rows: head
                    .cylinders
                    .iter()
                    .map(|one| row(one.cylinder, Some(head)))
                    .collect(),
                warnings: head.warnings.clone(),
            })
            .collect(),
        None => facts
            .engine
            .banks
            .iter()
            .map(|bank| Head {
                name: bank.name.clone(),
                mark: mark(&bank.name),
                cut: None,
                rows: bank.cylinders.iter().map(|one| row(*one, None)).collect(),
                warnings: Vec::new(),
            })
            .collect(),
    }
}

/// How much to take out of a chamber.
fn open(work: &ChamberWork, cylinder: u32) -> String {
    if cylinder == work.reference {
        return "nothing".to_owned();
    }
    let own = work.work.iter().find(|one| one.cylinder == cylinder);
    match own {
        None => "–".to_owned(),
        Some(one) if one.worth_it == Some(false) => match work.equal {
            MadeEqual::Allowed => "nothing".to_owned(),
            MadeEqual::Chambers | MadeEqual::Compression => "leave it".to_owned(),
        },
        Some(one) if one.worth_it.is_none() && work.equal == MadeEqual::Allowed => {
            "measure it again".to_owned()
        }
        // An amount that was chosen has no ±.
        Some(one) if work.equal == MadeEqual::Allowed => bare(&one.remove),
        Some(one) => format!("{} cc", both(&one.remove)),
    }
}

/// The mean compression or the mean chamber that is aimed at.
fn aimed(target: &Figure) -> String {
    match target.unit {
        Unit::One => format!("a compression of {}:1", bare(target)),
        _ => format!("chambers of {}", bare(target)),
    }
}

fn cut_of(head: &HeadCut) -> Cut {
    let depth = |figure: &Figure| chosen_in_two(figure);
    let mut also = Vec::new();
    if let (Some(pivot), Some(angle)) = (&head.depth_at_pivot, &head.angle) {
        also.push(format!(
            "at the centroid of the chambers; {} at the line about which it is tipped, by {}",
            depth(pivot).stated,
            sentence(angle)
        ));
    }
    if let (Some(deepest), Some(place)) = (&head.deepest, head.deepest_at) {
        also.push(format!(
            "deepest {}: {}",
            place.words(),
            depth(deepest).stated
        ));
    }
    Cut {
        depth: depth(&head.depth),
        known: sentence(&head.depth),
        why_not: head.why_not.clone().unwrap_or_default(),
        also,
        takes: sentence(&head.taken),
    }
}
