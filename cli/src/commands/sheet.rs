//! `sheet …`: makes a sheet and writes it, and checks one against the record.

mod pdf;

use std::path::Path;

use benchhand_blueprint::answers::{ChambersAsked, MillAsked, Question};
use benchhand_wire::{
    MakeSheet, Reason, Refusal, SheetChange, SheetChecked, SheetMade, SheetWritten,
};
use benchhand_words::sheet::{changed, figures_in, note_in};

use super::decide::asked::{cut, dome, equal};
use crate::args::{OrderSheetArgs, SheetCheckArgs, SheetCommand, SheetOfJob, WorkSheetArgs};
use crate::client::ask;
use crate::context::Context;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::show::sheets;
use crate::written;

/// Carries out one command on sheets.
///
/// # Errors
/// Why the command was not carried out.
pub(super) fn run(context: &mut Context, args: SheetCommand) -> Result<Exit, Failure> {
    match args {
        SheetCommand::Build(of) => make(context, "build", &of, &[]),
        SheetCommand::Flow(of) => make(context, "flow", &of, &[]),
        SheetCommand::Labels(of) => make(context, "labels", &of, &[]),
        SheetCommand::Order(args) => {
            let questions = order(&args);
            make(context, "order", &args.of, &questions)
        }
        SheetCommand::Work(args) => {
            let questions = work(&args);
            make(context, "work", &args.of, &questions)
        }
        SheetCommand::Check(args) => check(context, &args),
    }
}

fn order(args: &OrderSheetArgs) -> Vec<Question> {
    vec![Question::Dome(dome(&args.aim))]
}

/// Chambers are opened before a face is cut, so the cut is reckoned with the opened ones.
fn work(args: &WorkSheetArgs) -> Vec<Question> {
    let equal = equal(args.equal);
    let mut questions = Vec::new();
    if !args.no_opening {
        questions.push(Question::Chambers(ChambersAsked { equal: Some(equal) }));
    }
    if !args.no_cut {
        questions.push(Question::Mill(MillAsked {
            opened: (!args.no_opening).then_some(equal),
            ..cut(&args.aim)
        }));
    }
    questions
}

fn make(
    context: &mut Context,
    sheet: &str,
    of: &SheetOfJob,
    questions: &[Question],
) -> Result<Exit, Failure> {
    if let Some(out) = of.out.as_deref().filter(|out| is_pdf(out)) {
        let found = format!("--out writes HTML, and {} is named as a PDF", shown(out));
        return Err(Refusal::new(Reason::BadInput, found)
            .todo("name a PDF with --pdf, or a file that ends in .html with --out")
            .into());
    }
    for file in of.out.iter().chain(&of.pdf) {
        written::free(file, of.force)?;
    }
    let browser = of.pdf.as_ref().map(|_| pdf::browser()).transpose()?;
    let questions = questions.iter().map(serde_json::to_value);
    let request = MakeSheet {
        job: of.job.clone(),
        sheet: sheet.to_owned(),
        stage: of.stage.clone(),
        questions: questions
            .collect::<Result<_, _>>()
            .map_err(std::io::Error::from)?,
        seen: None,
        seen_journals: Vec::new(),
    };
    let made = ask(&*context.client()?, &request)?;
    if let (Some(path), Some(browser)) = (&of.pdf, browser) {
        pdf::print(&browser, &made.html, path, of.paper, of.force)?;
    }
    if let Some(path) = &of.out {
        written::whole(path, made.html.as_bytes(), of.force)?;
    }
    let told = SheetWritten {
        title: made.title,
        out: of.out.as_deref().map(shown),
        pdf: of.pdf.as_deref().map(shown),
        note: made.note,
    };
    context.answer(&told, |told| {
        let files = told.out.iter().chain(&told.pdf);
        sheets::written(
            &told.title,
            &told.note,
            &files.map(String::as_str).collect::<Vec<_>>(),
        )
    })?;
    Ok(Exit::Done)
}

fn is_pdf(path: &Path) -> bool {
    path.extension()
        .is_some_and(|end| end.eq_ignore_ascii_case("pdf"))
}

fn check(context: &mut Context, args: &SheetCheckArgs) -> Result<Exit, Failure> {
    if is_pdf(&args.file) {
        let found = format!(
            "{} is a PDF, which carries no note of its sheet",
            shown(&args.file)
        );
        return Err(Refusal::new(Reason::BadInput, found)
            .todo("name the HTML file of the sheet; write it with --out beside --pdf")
            .into());
    }
    let html = read_text(&args.file)?;
    let note = note_in(&html).ok_or_else(|| {
        Refusal::new(
            Reason::BadInput,
            format!("{} carries no note of a sheet", shown(&args.file)),
        )
        .expected("a sheet as `benchhand sheet` wrote it")
        .todo("name the HTML file; a PDF or a picture of a sheet cannot be checked")
    })?;
    let request = MakeSheet {
        job: args.job.clone().unwrap_or_else(|| note.job.clone()),
        sheet: note.sheet.clone(),
        stage: Some(note.stage.clone()),
        questions: note.questions.clone(),
        seen: Some(note.head.clone()),
        seen_journals: note.journals.clone(),
    };
    let now: SheetMade = ask(&*context.client()?, &request)?;
    let printed = figures_in(&html);
    let changes = changed(&printed, &figures_in(&now.html));
    let answer = SheetChecked {
        in_record: now.since.is_some(),
        since: now.since,
        figures: printed.len(),
        note,
        changed: changes
            .iter()
            .map(|one| SheetChange {
                name: one.name.clone(),
                on_sheet: one.on_sheet.clone(),
                by_record: one.by_record.clone(),
            })
            .collect(),
    };
    context.answer(&answer, |answer| {
        sheets::checked(
            &now.title,
            &answer.note,
            answer.since,
            answer.figures,
            &changes,
        )
    })?;
    Ok(match answer.in_record && answer.changed.is_empty() {
        true => Exit::Done,
        false => Exit::No,
    })
}
