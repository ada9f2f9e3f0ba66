//! A job as a workbook: documents in, the bytes of an `.xlsx` file out.
//!
//! The compression stands in live formulas, so that its owner changes a gasket and sees the ratio
//! move. What was judged stays as it was judged: a spreadsheet knows no uncertainty. This package
//! knows no files, no HTTP and no terminal.

mod cells;
mod compression;
mod flow;
mod overview;
mod readings;

use benchhand_blueprint::Report;
use benchhand_wire::ShownReading;
use benchhand_words::ShortReport;
use rust_xlsxwriter::{DocProperties, Workbook, XlsxError};

use cells::Formats;

/// What a workbook is made from.
#[derive(Debug, Clone, Copy)]
pub struct WorkbookContent<'a> {
    /// The job's name; empty for a report of files.
    pub job: &'a str,
    /// The report of one stage.
    pub report: &'a Report,
    /// When the stage's last reading was kept (RFC 3339), where that is known.
    pub kept: Option<&'a str>,
    /// Every reading of the job, voided ones too; empty where there is no job.
    pub readings: &'a [ShownReading],
}

/// The workbook's bytes.
///
/// # Errors
/// A fault of the library, e.g. more rows than a sheet of a workbook has.
pub fn workbook(content: &WorkbookContent<'_>) -> Result<Vec<u8>, XlsxError> {
    let short = ShortReport::new(content.report, content.job, content.kept);
    let formats = Formats::new();
    let mut book = Workbook::new();
    book.set_properties(&DocProperties::new().set_title(short.title.join(", ")));
    compression::write(book.add_worksheet(), content.report, &short, &formats)?;
    overview::write(book.add_worksheet(), &short, &formats)?;
    if !content.report.flow.is_empty() {
        flow::write(book.add_worksheet(), content.report, &formats)?;
    }
    if !content.readings.is_empty() {
        let units = content.report.units;
        readings::write(book.add_worksheet(), content.readings, units, &formats)?;
    }
    book.save_to_buffer()
}
