//! `job order` and `job orders`: what was ordered, and what came.

use std::path::Path;

use benchhand_blueprint::report::OrderedReport;
use benchhand_wire::{JobOrders, OrderJob, PartToOrder, Reason, Refusal, SheetNote};
use benchhand_words::ordered::sizes_on;
use benchhand_words::sheet::{figures_in, note_in};
use serde_json::Value;

use crate::args::{JobOrderArgs, JobOrdersArgs};
use crate::client::ask;
use crate::context::Context;
use crate::data::{read_text, shown};
use crate::errors::Failure;
use crate::show::orders;

/// Enters what was ordered.
///
/// # Errors
/// Why nothing was entered.
pub(super) fn order(context: &mut Context, args: JobOrderArgs) -> Result<(), Failure> {
    let (mut parts, note) = match &args.from_sheet {
        Some(file) => on_sheet(file, &args.name)?,
        None => (Vec::new(), None),
    };
    let typed = [
        ("dome", &args.dome),
        ("dish", &args.dish),
        ("height", &args.height),
        ("bore", &args.bore),
        ("skirt", &args.skirt),
        ("rod", &args.rod),
    ];
    for (part, typed) in typed {
        let Some(typed) = typed else { continue };
        // What is typed takes the place of what the sheet says.
        parts.retain(|one| one.part != part);
        parts.push(with_tolerance(part, typed, args.cylinder));
    }
    let request = OrderJob {
        job: args.name.clone(),
        parts,
        take_back: of_cylinder(args.take_back, args.cylinder),
        from: args.from,
        on: args.on,
        by: args.by,
        sheet: note.as_ref().map(|note| note.head.clone()),
        sheet_journals: note.map_or_else(Vec::new, |note| note.journals),
        note: args.note,
    };
    let answer = ask(&*context.client()?, &request)?;
    context.answer(&answer, |answer| orders::kept(&args.name, answer))?;
    Ok(())
}

/// The sizes to take back; of one cylinder where it is said. A size that names its own stays.
fn of_cylinder(sizes: Vec<String>, cylinder: Option<u32>) -> Vec<String> {
    let Some(cylinder) = cylinder else {
        return sizes;
    };
    let alone = |size: String| match size.trim().contains(['/', ' ']) {
        true => size,
        false => format!("{}/{cylinder}", size.trim()),
    };
    sizes.into_iter().map(alone).collect()
}

/// A size with its tolerance behind `+-`, as it was typed.
fn with_tolerance(part: &str, typed: &str, cylinder: Option<u32>) -> PartToOrder {
    let halves = typed.split_once("+-").or_else(|| typed.split_once('±'));
    let (value, tolerance) = halves.map_or((typed, None), |(value, width)| (value, Some(width)));
    PartToOrder {
        part: match cylinder {
            None => part.to_owned(),
            Some(number) => format!("{part}/{number}"),
        },
        value: value.trim().to_owned(),
        tolerance: tolerance.map(|width| width.trim().to_owned()),
    }
}

/// What a sheet orders, and what it carries of its origin.
fn on_sheet(file: &Path, job: &str) -> Result<(Vec<PartToOrder>, Option<SheetNote>), Failure> {
    let html = read_text(file)?;
    let refused = |found: String| {
        Refusal::new(Reason::BadInput, found)
            .expected("an order as `benchhand sheet order` wrote it")
            .todo("name the HTML file of the order; a PDF or a picture of it cannot be read")
    };
    let note = note_in(&html)
        .ok_or_else(|| refused(format!("{} carries no note of a sheet", shown(file))))?;
    if note.sheet != "order" {
        let found = format!(
            "{} is the sheet {:?}, and no order",
            shown(file),
            note.sheet
        );
        return Err(refused(found).into());
    }
    if note.job != job {
        tracing::warn!("the sheet is of the job {:?}", note.job);
    }
    let sizes = sizes_on(&figures_in(&html)).into_iter();
    let parts = sizes.map(|one| PartToOrder {
        part: one.part,
        value: one.value,
        tolerance: one.tolerance,
    });
    Ok((parts.collect(), Some(note)))
}

/// Shows what was ordered beside what was measured since.
///
/// # Errors
/// Why it is not shown.
pub(super) fn orders(context: &mut Context, args: JobOrdersArgs) -> Result<(), Failure> {
    let request = JobOrders {
        job: args.name,
        stage: args.stage,
    };
    let answer = ask(&*context.client()?, &request)?;
    let beside: Vec<OrderedReport> = serde_json::from_value(Value::Array(answer.document.clone()))
        .map_err(|error| {
            Refusal::new(
                Reason::Unavailable,
                format!("the orders are not understood: {error}"),
            )
            .todo(
                "end the daemon with `benchhand stop` and try again; it may be of another version",
            )
        })?;
    context.answer(&answer, |answer| orders::beside(answer, &beside))?;
    Ok(())
}
