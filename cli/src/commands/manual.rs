//! `completions` and `man`: both are made of the definition of the commands, so that they cannot
//! say anything else than `--help`.

use std::io;
use std::path::Path;

use benchhand_wire::{Reason, Refusal};
use clap::CommandFactory as _;
use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};

use crate::args::{Cli, CompletionsArgs, ManArgs};
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::written;

/// The section of manuals in which commands for users stand.
const SECTION: &str = "1";

/// Prints the completions of a shell.
///
/// # Errors
/// Standard output cannot be written.
pub(super) fn completions(context: &mut Context, args: &CompletionsArgs) -> Result<Exit, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "benchhand", &mut script);
    context.out.text(&String::from_utf8_lossy(&script))?;
    Ok(Exit::Done)
}

/// Writes the manual pages into a folder, all of them or none.
///
/// # Errors
/// The folder holds something already, or the disk refuses.
pub(super) fn pages(context: &mut Context, args: &ManArgs) -> Result<Exit, Failure> {
    let out = &args.out;
    let refused = |error: io::Error| written::refused(out, &error);
    let pages = every_page().map_err(refused)?;
    if !is_free(out).map_err(refused)? {
        let taken = format!(
            "{} holds something already; it was left as it is",
            out.display()
        );
        let todo = "name a folder that is not there yet";
        return Err(Refusal::new(Reason::Conflict, taken).todo(todo).into());
    }
    let part = written::beside(out)?;
    let made = folder_of(&part, &pages).and_then(|()| std::fs::rename(&part, out));
    if let Err(error) = made {
        // What is left of the part says nothing that the error does not.
        let _ = std::fs::remove_dir_all(&part);
        return Err(refused(error).into());
    }
    let written = WrittenPages {
        out: out.display().to_string(),
        pages: pages.into_iter().map(|page| page.file).collect(),
    };
    context.answer(&written, |written| {
        format!("{} pages are in {}", written.pages.len(), written.out)
    })?;
    Ok(Exit::Done)
}

/// What was written.
#[derive(Debug, serde::Serialize)]
struct WrittenPages {
    out: String,
    pages: Vec<String>,
}

/// Whether a folder can be made here: nothing is there, or an empty folder.
fn is_free(out: &Path) -> io::Result<bool> {
    match std::fs::read_dir(out) {
        Ok(mut listed) => Ok(listed.next().is_none()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(true),
        Err(error) if error.kind() == io::ErrorKind::NotADirectory => Ok(false),
        Err(error) => Err(error),
    }
}

fn folder_of(folder: &Path, pages: &[ManualPage]) -> io::Result<()> {
    std::fs::create_dir(folder)?;
    for page in pages {
        std::fs::write(folder.join(&page.file), &page.text)?;
    }
    Ok(())
}

/// One page of the manual.
#[derive(Debug)]
struct ManualPage {
    /// `benchhand-gauge-set.1`.
    file: String,
    /// The page as `man` reads it.
    text: Vec<u8>,
}

/// A page for each command, the program's own first.
fn every_page() -> io::Result<Vec<ManualPage>> {
    // The help of the help is no command of ours.
    let mut command = Cli::command().disable_help_subcommand(true);
    command.build();
    let mut pages = Vec::new();
    add_pages(&command, None, &mut pages)?;
    Ok(pages)
}

fn add_pages(
    command: &clap::Command,
    above: Option<&clap::Command>,
    pages: &mut Vec<ManualPage>,
) -> io::Result<()> {
    pages.push(page_of(command, above)?);
    for one in command.get_subcommands().filter(|one| !one.is_hide_set()) {
        add_pages(one, Some(command), pages)?;
    }
    Ok(())
}

fn page_of(command: &clap::Command, above: Option<&clap::Command>) -> io::Result<ManualPage> {
    let name = shown_name(command);
    let man = Man::new(command.clone());
    // The date is left empty: the pages of two builds of one version are then the same.
    let title = format!(
        ".TH \"{}\" \"{SECTION}\" \"\" \"benchhand {}\" \"Commands of benchhand\"\n",
        name.to_uppercase(),
        env!("CARGO_PKG_VERSION"),
    );
    let mut text = title.into_bytes();
    man.render_name_section(&mut text)?;
    let usage = command.clone().render_usage().to_string();
    let mut synopsis = Roff::new();
    synopsis.control("SH", ["SYNOPSIS"]);
    synopsis.text([roman(usage.trim_start_matches("Usage: "))]);
    synopsis.to_writer(&mut text)?;
    man.render_description_section(&mut text)?;
    man.render_options_section(&mut text)?;
    if command.has_subcommands() {
        man.render_subcommands_section(&mut text)?;
    }
    let after = command.get_after_help().map(ToString::to_string);
    let mut rest = Roff::new();
    after_help(&mut rest, after.as_deref().unwrap_or_default());
    if above.is_none() {
        rest.control("SH", ["FILES"]);
        rest.control("TP", []);
        rest.text([bold("~/.local/share/benchhand")]);
        rest.text([roman(
            "Jobs, gauges and recorded streams, unless --data or BENCHHAND_DATA names another folder.",
        )]);
    }
    let beside: Vec<String> = match above {
        Some(above) => vec![shown_name(above)],
        None => command.get_subcommands().map(shown_name).collect(),
    };
    rest.control("SH", ["SEE ALSO"]);
    let named: Vec<String> = beside
        .iter()
        .map(|name| format!("{name}({SECTION})"))
        .collect();
    rest.text([roman(named.join(", "))]);
    rest.to_writer(&mut text)?;
    Ok(ManualPage {
        file: format!("{name}.{SECTION}"),
        text,
    })
}

/// `benchhand-gauge-set`.
fn shown_name(command: &clap::Command) -> String {
    let name = command.get_display_name();
    name.unwrap_or_else(|| command.get_name()).to_owned()
}

/// What stands below the options in the help, as sections: examples, exit codes, notes.
fn after_help(roff: &mut Roff, text: &str) {
    for block in text.split("\n\n").filter(|block| !block.is_empty()) {
        let mut lines = block.lines();
        let (title, first) = match lines.next() {
            Some("Example:" | "Examples:") => ("EXAMPLES", None),
            Some("Exit codes:") => ("EXIT STATUS", None),
            first => ("NOTES", first),
        };
        roff.control("SH", [title]);
        if title == "NOTES" {
            let words: Vec<&str> = first.into_iter().chain(lines).collect();
            roff.text([roman(words.join(" "))]);
            continue;
        }
        roff.control("nf", []);
        for line in lines {
            roff.text([roman(line.trim_start())]);
        }
        roff.control("fi", []);
    }
}

#[cfg(test)]
mod tests {
    use clap_complete::Shell;

    use super::*;

    fn text(page: &ManualPage) -> String {
        String::from_utf8(page.text.clone()).expect("text")
    }

    #[test]
    fn each_command_has_a_page_with_its_examples() {
        let pages = every_page().expect("made");
        for file in [
            "benchhand.1",
            "benchhand-gauge-set.1",
            "benchhand-sheet-build.1",
        ] {
            let page = pages.iter().find(|page| page.file == file).expect(file);
            let text = text(page);
            for section in ["NAME", "SYNOPSIS", "OPTIONS", "EXAMPLES", "SEE ALSO"] {
                assert!(
                    text.contains(&format!(".SH \"{section}\""))
                        || text.contains(&format!(".SH {section}")),
                    "{file} lacks {section}: {text}"
                );
            }
        }
        let mut names: Vec<&str> = pages.iter().map(|page| page.file.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), pages.len(), "no page is written twice");
        let main = text(&pages[0]);
        assert!(
            main.contains("EXIT STATUS") && main.contains("FILES"),
            "{main}"
        );
    }

    #[test]
    fn what_is_printed_of_the_completions_is_what_was_made() {
        for shell in [Shell::Bash, Shell::Zsh, Shell::Fish] {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Cli::command(), "benchhand", &mut script);
            let script = String::from_utf8(script).expect("text");
            assert_eq!(benchhand_words::visible(&script), script, "{shell}");
        }
    }
}
