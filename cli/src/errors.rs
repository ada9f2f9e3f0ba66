//! Turns a refusal into words on standard error and an exit code.
//!
//! Only this module knows the exit codes. A mistake in a text file is shown at its line if the
//! file can be read.

mod fault;

use std::fmt::Write as _;
use std::io::IsTerminal as _;

use benchhand_wire::{Place, Reason, Refusal};
use benchhand_words::visible;

/// The exit codes, as `benchhand --help` lists them.
pub(crate) const EXIT_CODES: &str = "\
Exit codes:
   0  done
   1  done, and the answer is no: a gauge check failed, a sheet differs, this machine is not ready
   2  the command line was not understood
   3  something given cannot be used: a value, a unit, a text file
   4  not there: a job, gauge, reading, route, spot or file
   5  it clashes with what is there
   6  a port that is not there
   7  a port that another program holds
   8  a port that this user may not open
   9  a gauge that is silent, or sends nothing that can be read
  10  another process holds the store
  11  the disk refused: nothing was kept
  12  what is stored is damaged
  13  this user may not use the daemon
  14  the daemon cannot be reached
 130  interrupted by Ctrl-C";

/// The outcome of a command that was carried out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Exit {
    /// The command succeeded.
    Done,
    /// The command was carried out, and the answer is no.
    No,
    /// The command was carried out and found a reason that would refuse another command: damage in
    /// a record, a busy port.
    Found(Reason),
    /// Ctrl-C ended the command.
    Interrupted,
}

impl Exit {
    /// The process's exit code.
    pub(crate) fn code(self) -> u8 {
        match self {
            Exit::Done => 0,
            Exit::No => 1,
            Exit::Found(reason) => exit_code(reason),
            Exit::Interrupted => 130,
        }
    }
}

/// Why a command did not finish.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Failure {
    /// The command was refused.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// Standard output could not be written.
    #[error("standard output cannot be written: {0}")]
    Output(#[from] std::io::Error),
}

/// The exit code of a reason. Its meaning never changes.
pub(crate) fn exit_code(reason: Reason) -> u8 {
    match reason {
        Reason::BadInput => 3,
        Reason::NotFound => 4,
        Reason::Conflict => 5,
        Reason::PortAbsent => 6,
        Reason::PortBusy => 7,
        Reason::PortForbidden => 8,
        Reason::GaugeSilent => 9,
        Reason::StoreBusy => 10,
        Reason::Storage => 11,
        Reason::Damaged => 12,
        Reason::Unauthorised => 13,
        Reason::Unavailable => 14,
    }
}

/// Prints on standard error why a command failed, and gives the exit code.
///
/// If the reader of standard output went away (`benchhand … | head`), it has what it wanted. That
/// is not a failure, and nothing is printed.
pub(crate) fn tell(failure: &Failure) -> u8 {
    match failure {
        Failure::Refused(refusal) => {
            let colour = std::io::stderr().is_terminal() && colour_wanted();
            crate::out::warn_drawn(&in_words(&shown(refusal), colour, &|file| {
                let text = std::fs::read_to_string(file).ok()?;
                Some(visible(&text).into_owned())
            }));
            exit_code(refusal.reason)
        }
        Failure::Output(error) if error.kind() == std::io::ErrorKind::BrokenPipe => 0,
        Failure::Output(_) => {
            crate::out::warn(&format!("error: {failure}"));
            exit_code(Reason::Storage)
        }
    }
}

/// The refusal with everything in it as it can be shown.
fn shown(refusal: &Refusal) -> Refusal {
    let of = |text: &str| visible(text).into_owned();
    let mut shown = refusal.clone();
    shown.found = of(&refusal.found);
    shown.expected = of(&refusal.expected);
    shown.todo = of(&refusal.todo);
    for place in &mut shown.places {
        place.file = of(&place.file);
        place.text = of(&place.text);
    }
    shown
}

/// Whether the environment allows colour (`NO_COLOR`, dumb terminals).
pub(crate) fn colour_wanted() -> bool {
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !set("NO_COLOR") && std::env::var_os("TERM").is_none_or(|term| term != "dumb")
}

/// The refusal as text for a person. `text_of` gives the text of a named file, if it is available.
fn in_words(refusal: &Refusal, colour: bool, text_of: &dyn Fn(&str) -> Option<String>) -> String {
    let mut words = format!("error: {}", refusal.found);
    for place in places_by_file(&refusal.places) {
        let shown =
            text_of(&place[0].file).and_then(|text| fault::at_its_line(place, text, colour));
        match shown {
            Some(shown) => {
                let _ = write!(words, "\n{}", shown.trim_end());
            }
            None => {
                for Place {
                    file,
                    line,
                    column,
                    text,
                } in place
                {
                    let _ = write!(words, "\n  {file}:{line}:{column}: {text}");
                }
            }
        }
    }
    if !refusal.expected.is_empty() {
        let _ = write!(words, "\n  expected: {}", refusal.expected);
    }
    if !refusal.todo.is_empty() {
        let _ = write!(words, "\n  what to do: {}", refusal.todo);
    }
    words
}

/// Groups neighbouring places of the same file, in the given order.
fn places_by_file(places: &[Place]) -> impl Iterator<Item = &[Place]> {
    places.chunk_by(|a, b| a.file == b.file)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(file: &str, line: usize, column: usize, text: &str) -> Place {
        Place {
            file: file.into(),
            line,
            column,
            text: text.into(),
        }
    }

    #[test]
    fn every_reason_has_a_code_of_its_own_that_the_help_explains() {
        let reasons = [
            Reason::BadInput,
            Reason::NotFound,
            Reason::Conflict,
            Reason::PortAbsent,
            Reason::PortBusy,
            Reason::PortForbidden,
            Reason::GaugeSilent,
            Reason::StoreBusy,
            Reason::Storage,
            Reason::Damaged,
            Reason::Unauthorised,
            Reason::Unavailable,
        ];
        let mut codes: Vec<u8> = reasons.iter().map(|reason| exit_code(*reason)).collect();
        codes.extend([
            Exit::Done.code(),
            Exit::No.code(),
            2,
            Exit::Interrupted.code(),
        ]);
        codes.sort_unstable();
        let documented: Vec<u8> = EXIT_CODES
            .lines()
            .filter_map(|line| line.split_whitespace().next()?.parse().ok())
            .collect();
        assert_eq!(codes, documented);
        let page = include_str!("../../docs/commands.md");
        for line in EXIT_CODES.lines().skip(1) {
            let (code, meaning) = line.trim().split_once("  ").expect("code and meaning");
            assert!(
                page.contains(&format!("| {code} | {meaning} |")),
                "docs lack {line:?}"
            );
        }
    }

    #[test]
    fn a_fault_is_shown_under_its_line_with_what_to_do() {
        let refusal = Refusal::new(Reason::BadInput, "one row of the file cannot be used")
            .expected("a unit of volume")
            .todo("correct the row and import again; nothing was kept")
            .at(place("notebook.csv", 3, 14, "there is no unit \"ccc\""));
        let csv = "spot,value,unit\nchamber/1,64,cc\nchamber/2,64,ccc\n";
        let words = in_words(&refusal, false, &|file| {
            (file == "notebook.csv").then(|| csv.to_owned())
        });
        assert!(
            words.starts_with("error: one row of the file cannot be used"),
            "{words}"
        );
        assert!(words.contains("chamber/2,64,ccc"), "{words}");
        assert!(words.contains("notebook.csv:3:14"), "{words}");
        assert!(words.contains("there is no unit \"ccc\""), "{words}");
        assert!(words.contains("expected: a unit of volume"), "{words}");
        assert!(words.contains("what to do: correct the row"), "{words}");
        assert!(
            !words.contains('\u{1b}'),
            "no colour was asked for: {words:?}"
        );
    }

    #[test]
    fn a_fault_in_a_file_that_is_not_at_hand_names_its_place() {
        let refusal = Refusal::new(Reason::BadInput, "the engine file cannot be used").at(place(
            "engine.toml",
            4,
            8,
            "the bore is zero",
        ));
        let words = in_words(&refusal, false, &|_| None);
        assert!(
            words.contains("engine.toml:4:8: the bore is zero"),
            "{words}"
        );
    }

    #[test]
    fn a_place_beyond_a_file_that_was_cut_short_since_is_still_named() {
        let refusal = Refusal::new(Reason::BadInput, "bad row").at(place("r.csv", 9, 1, "no unit"));
        let words = in_words(&refusal, false, &|_| Some("spot,value,unit\n".to_owned()));
        assert!(words.contains("r.csv:9:1: no unit"), "{words}");
    }
}
