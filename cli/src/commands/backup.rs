//! `backup` and `restore`: the whole data folder as one file.

use indicatif::{ProgressBar, ProgressStyle};

use crate::args::{BackupArgs, RestoreArgs};
use crate::context::Context;
use crate::data::shown;
use crate::errors::{Exit, Failure};
use crate::local;
use crate::show::backup;
use crate::written;

/// Writes the data folder to a file.
///
/// # Errors
/// Why there is no file.
pub(super) fn back_up(context: &mut Context, args: &BackupArgs) -> Result<Exit, Failure> {
    let data = context.data()?;
    let bar = bar();
    let name = shown(&args.out);
    let answer = written::streamed(&args.out, args.force, |file| {
        local::back_up(&data, file, &name, &mut |done, total, doing| {
            bar.set_length(total);
            bar.set_position(done);
            bar.set_message(doing.to_owned());
        })
    });
    bar.finish_and_clear();
    context.answer(&answer?, backup::backed_up)?;
    Ok(Exit::Done)
}

/// Makes a data folder of such a file.
///
/// # Errors
/// Why there is no folder.
pub(super) fn restore(context: &mut Context, args: &RestoreArgs) -> Result<Exit, Failure> {
    let data = context.data()?;
    let bar = bar();
    let answer = local::restore(&args.file, &data, &mut |done, total, doing| {
        bar.set_length(total);
        bar.set_position(done);
        bar.set_message(doing.to_owned());
    });
    bar.finish_and_clear();
    context.answer(&answer?, backup::restored)?;
    Ok(Exit::Done)
}

/// A bar of bytes on standard error. It is hidden if standard error is not a terminal.
fn bar() -> ProgressBar {
    let bar = ProgressBar::new(0);
    if let Ok(style) = ProgressStyle::with_template("[{bar:30}] {bytes}/{total_bytes} {wide_msg}") {
        bar.set_style(style.progress_chars("=> "));
    }
    bar
}
