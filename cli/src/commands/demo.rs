//! `demo`: a whole job on an invented engine.

use std::path::PathBuf;

use benchhand_wire::{Reason, Refusal};
use indicatif::{ProgressBar, ProgressStyle};

use super::report;
use crate::args::DemoArgs;
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::local;

/// Measures the invented engine with played gauges, prints the report, and says where everything
/// is kept. With JSON, standard output carries only the report document.
///
/// # Errors
/// The folder cannot be made, or an unexpected failure.
pub(super) fn run(context: &mut Context, args: &DemoArgs) -> Result<Exit, Failure> {
    let data = match &args.keep {
        Some(folder) => folder.clone(),
        None => fresh_folder(context)?,
    };
    let bar = bar();
    let outcome = local::demo(&data, &mut |done, total, doing| {
        bar.set_length(total);
        bar.set_position(done);
        bar.set_message(doing.to_owned());
    });
    bar.finish_and_clear();
    let outcome = outcome?;
    let mut kept = context.of_folder(outcome.data.clone());
    if !kept.json {
        kept.out.text(
            "This engine and all its readings are INVENTED. The gauges were recorded streams, \
             played faster than true through the real reading and capture.\n",
        )?;
    }
    report::of_demo(&mut kept, outcome.job.clone())?;
    if !kept.json {
        let data = outcome.data.display();
        let mut text = "\n".to_owned();
        for note in &outcome.notes {
            text += &format!("{note}\n");
        }
        text += &format!("\nEverything is kept in {data}\n");
        text += &format!(
            "Look at it: benchhand --data \"{data}\" job show {}",
            outcome.job
        );
        kept.out.text(&text)?;
    }
    Ok(Exit::Done)
}

/// Makes the first free folder of `demo/1`, `demo/2` … in the data folder.
fn fresh_folder(context: &Context) -> Result<PathBuf, Refusal> {
    let parent = context.data()?.join("demo");
    let refused = |error: std::io::Error| {
        Refusal::new(
            Reason::Storage,
            format!("no folder can be made in {}: {error}", parent.display()),
        )
        .todo("name another folder with --keep DIR")
    };
    let mut own = owners_own();
    own.recursive(true).create(&parent).map_err(refused)?;
    own.recursive(false);
    for number in 1u32.. {
        let folder = parent.join(number.to_string());
        match own.create(&folder) {
            Ok(()) => return Ok(folder),
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(refused(error)),
        }
    }
    Err(Refusal::new(
        Reason::Storage,
        format!("{} is full of demos", parent.display()),
    ))
}

/// Makes folders that nobody but their owner can enter.
fn owners_own() -> std::fs::DirBuilder {
    #[cfg_attr(not(unix), expect(unused_mut, reason = "only Unix has such rights"))]
    let mut builder = std::fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder
}

/// A progress bar on standard error. It is hidden if standard error is not a terminal.
fn bar() -> ProgressBar {
    let bar = ProgressBar::new(0);
    if let Ok(style) = ProgressStyle::with_template("[{bar:30}] {pos}/{len} {wide_msg}") {
        bar.set_style(style.progress_chars("=> "));
    }
    bar
}

#[cfg(all(test, unix))]
mod tests {
    use std::os::unix::fs::PermissionsExt as _;

    use super::*;
    use crate::args::GlobalArgs;

    #[test]
    fn the_first_demo_makes_a_data_folder_of_its_owner_alone() {
        let home = tempfile::tempdir().expect("a folder");
        let data = home.path().join("share/benchhand");
        let context = Context::new(GlobalArgs {
            data: Some(data.clone()),
            json: false,
            verbose: 0,
        });
        for number in ["1", "2"] {
            let folder = fresh_folder(&context).expect("made");
            assert_eq!(folder, data.join("demo").join(number));
            for made in [&folder, &data] {
                let rights = std::fs::metadata(made).expect("there").permissions().mode();
                assert_eq!(rights & 0o777, 0o700, "{}", made.display());
            }
        }
    }
}
