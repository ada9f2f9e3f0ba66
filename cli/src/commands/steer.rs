//! `steer`, and the words by which a route is steered from where it is measured.

use benchhand_wire::{Control, ControlRoute};

use crate::args::{Steer, SteerControl, spoken};
use crate::bench::Bench;
use crate::client::ask;
use crate::errors::{Exit, Failure};
use crate::show::route;

/// Steers the route that runs on a job.
///
/// # Errors
/// Why it was not done, e.g. that no route runs.
pub(super) fn run(bench: &mut Bench, args: Steer) -> Result<Exit, Failure> {
    let request = ControlRoute {
        job: args.job,
        control: control(args.control),
    };
    let answer = ask(&bench.running()?, &request)?;
    bench.answer(&answer, route::standing)?;
    Ok(Exit::Done)
}

fn control(typed: SteerControl) -> Control {
    match typed {
        SteerControl::Take => Control::Take,
        SteerControl::Again => Control::Again,
        SteerControl::Back => Control::Back,
        SteerControl::Skip => Control::Skip,
        SteerControl::Add => Control::Add,
        SteerControl::Hold => Control::Hold,
        SteerControl::Resume => Control::Resume,
        SteerControl::Go { spot } => Control::Go { spot },
        SteerControl::Type { value, unit } => Control::Type {
            value: spoken(Some(value), unit).unwrap_or_default(),
        },
        SteerControl::End => Control::End,
    }
}

/// What a line typed beside a running route means; `None` where it means nothing.
///
/// A line that begins like a number is a value.
pub(super) fn typed(line: &str) -> Option<Control> {
    let line = line.trim();
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    Some(match (word, rest) {
        ("take", "") => Control::Take,
        ("again", "") => Control::Again,
        ("back", "") => Control::Back,
        ("skip", "") => Control::Skip,
        ("add", "") => Control::Add,
        ("hold", "") => Control::Hold,
        ("resume", "") => Control::Resume,
        ("end", "") => Control::End,
        ("go", spot) if !spot.is_empty() => Control::Go {
            spot: spot.to_owned(),
        },
        ("type", value) if !value.is_empty() => Control::Type {
            value: value.to_owned(),
        },
        _ if line.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)) => Control::Type {
            value: line.to_owned(),
        },
        _ => return None,
    })
}

/// The words of [`typed`], for someone whose line meant nothing.
pub(super) const WORDS: &str =
    "take, again, back, skip, add, hold, resume, end, go SPOT, or a value with its unit";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_typed_line_is_a_control_or_a_value() {
        assert_eq!(typed("again\n"), Some(Control::Again));
        assert_eq!(
            typed("go chamber/3"),
            Some(Control::Go {
                spot: "chamber/3".into()
            })
        );
        assert_eq!(
            typed(" 64.2 cc "),
            Some(Control::Type {
                value: "64.2 cc".into()
            })
        );
        assert_eq!(
            typed("-0.005in"),
            Some(Control::Type {
                value: "-0.005in".into()
            })
        );
        assert_eq!(typed("go"), None);
        assert_eq!(
            typed("take it"),
            None,
            "a word more may mean something else"
        );
        assert_eq!(typed(""), None);
    }
}
