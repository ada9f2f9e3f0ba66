//! The sheets: the page that offers them, and each of them as it is printed.

use benchhand_blueprint::report::OrderedReport;
use benchhand_pages::decide::{NO_CUT, NO_OPENING, asked, question_of};
use benchhand_pages::form::FilledFields;
use benchhand_pages::sheets;
use benchhand_pages::{Page, PageSection};
use benchhand_wire::{JobOrders, MakeSheet, Reason, Refusal};
use benchhand_words::ordered::sizes_on;
use benchhand_words::sheet::figures_in;
use serde_json::{Value, json};

use super::Visit;

pub(super) fn all(visit: &Visit) -> Result<Page, Refusal> {
    let job = visit.part("job").to_owned();
    let orders = visit.desk.ask(JobOrders {
        job: job.clone(),
        stage: None,
    })?;
    let beside = orders.document.into_iter().map(serde_json::from_value);
    let beside: Vec<OrderedReport> = beside
        .collect::<Result<_, _>>()
        .map_err(|e| Refusal::new(Reason::Unavailable, format!("the orders: {e}")))?;
    // What cannot be ordered yet is not filled in.
    let order = visit.desk.ask(MakeSheet {
        job,
        sheet: "order".to_owned(),
        stage: None,
        questions: Vec::new(),
        seen: None,
        seen_journals: Vec::new(),
    });
    let sizes = order.map(|made| sizes_on(&figures_in(&made.html)));
    let frame = visit.frame("Sheets", PageSection::Sheets);
    Ok(sheets(
        &frame,
        &orders.orders,
        &beside,
        &sizes.unwrap_or_default(),
    ))
}

/// The sheet itself: the same file that the command writes.
pub(super) fn one(visit: &Visit) -> Result<Page, Refusal> {
    let sheet = visit.part("sheet").to_owned();
    let made = visit.desk.ask(MakeSheet {
        job: visit.part("job").to_owned(),
        questions: questions(visit, &sheet)?,
        sheet,
        stage: visit.field("stage").map(str::to_owned),
        seen: None,
        seen_journals: Vec::new(),
    })?;
    Ok(Ok(made.html))
}

/// The questions that a sheet's fields make.
fn questions(visit: &Visit, sheet: &str) -> Result<Vec<Value>, Refusal> {
    let ticked = |name: &str| visit.field(name) == Some("yes");
    Ok(match sheet {
        "order" => vec![question(visit, "dome")?],
        "work" => {
            let mut all = Vec::new();
            if !ticked(NO_OPENING) {
                all.push(question(visit, "chambers")?);
            }
            if !ticked(NO_CUT) {
                let mut cut = question(visit, "mill")?;
                if !ticked(NO_OPENING) {
                    cut["opened"] = json!(visit.field("equal").unwrap_or("allowed"));
                }
                all.push(cut);
            }
            match all.is_empty() {
                true => {
                    return Err(Refusal::new(
                        Reason::BadInput,
                        "neither the chambers nor the faces are to be worked on",
                    )
                    .todo("leave one of the two boxes empty"));
                }
                false => all,
            }
        }
        _ => Vec::new(),
    })
}

/// One question, from those fields of the address that it takes.
fn question(visit: &Visit, name: &str) -> Result<Value, Refusal> {
    let form = question_of(name)
        .ok_or_else(|| Refusal::new(Reason::NotFound, format!("no question is called {name:?}")))?;
    let fields = form.fields.iter();
    let filled: FilledFields = fields
        .filter_map(|field| Some((field.name.to_owned(), visit.field(field.name)?.to_owned())))
        .collect();
    asked(form, &filled, None).map_err(|fault| {
        Refusal::new(
            Reason::BadInput,
            format!("{}: {:?}", fault.label, fault.found),
        )
        .expected(fault.expected)
    })
}
