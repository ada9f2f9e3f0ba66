//! `steer`, and the words that steer a route while `measure` runs.

use benchhand_blueprint::units::parted;
use benchhand_wire::{Control, ControlRoute, Levels, Reason, Refusal, ShowJob, Typed};

use crate::args::{SteerArgs, SteerControl, spoken};
use crate::client::ask;
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::show::{asked, route};

/// Steers the route that runs on a job.
///
/// # Errors
/// Why it was not done, such as that no route runs.
pub(super) fn run(context: &mut Context, args: SteerArgs) -> Result<Exit, Failure> {
    let control = match args.control {
        SteerControl::Help => return help(context, args.job),
        SteerControl::Other(words) => {
            let line = line_of(context, words)?;
            match typed(&line) {
                Some(control) => control,
                None => return Err(no_control(context, args.job, &line).into()),
            }
        }
        known => match control(known) {
            Some(control) => control,
            None => return help(context, args.job),
        },
    };
    let request = ControlRoute {
        job: args.job,
        control,
    };
    let answer = ask(&context.running()?, &request)?;
    context.answer(&answer, route::standing)?;
    Ok(Exit::Done)
}

/// Prints the open question or the next action of a job, and every control.
fn help(context: &mut Context, job: String) -> Result<Exit, Failure> {
    // The controls can be listed even if no daemon runs.
    let (standing, daemon) = match context.running() {
        Ok(http) => (ask(&http, &ShowJob { job: job.clone() })?.route, true),
        Err(_) => (None, false),
    };
    context.answer(&standing, |progress| {
        let now = match (progress, daemon) {
            (Some(progress), _) => route::standing(progress),
            (None, true) => format!("No route stands on {job}: benchhand measure {job} ROUTE.\n"),
            (None, false) => format!(
                "No daemon runs on this data folder, so that no route can be steered. \
                 benchhand measure {job} ROUTE begins one.\n"
            ),
        };
        format!("{now}Controls: {WORDS}.\n")
    })?;
    Ok(Exit::Done)
}

/// The typed words that are not a control, without the options behind them.
fn line_of(context: &mut Context, words: Vec<String>) -> Result<String, Refusal> {
    let (options, words): (Vec<String>, Vec<String>) =
        words.into_iter().partition(|word| word.starts_with("--"));
    let mut line = words.join(" ");
    for option in options {
        match option.as_str() {
            "--json" => context.json = true,
            "--sure" => line.push('!'),
            _ => {
                let found = format!("{option} stands behind {line:?}");
                return Err(Refusal::new(Reason::BadInput, found)
                    .todo("put it before the job: benchhand steer --data DIR JOB …"));
            }
        }
    }
    Ok(line)
}

/// The refusal of a word that is not a control. It lists the answers to the open question, or the
/// controls.
fn no_control(context: &Context, job: String, word: &str) -> Refusal {
    let found = |why: &str| Refusal::new(Reason::BadInput, format!("{word:?} {why}"));
    let standing = match context.running() {
        Ok(http) => ask(&http, &ShowJob { job }).map(|shown| shown.route),
        Err(none) => Err(none),
    };
    match standing {
        Ok(route) => match route.filter(|route| route.running).and_then(|r| r.asked) {
            Some(question) => found(asked::why_no_answer(word))
                .expected(asked::answers(&question))
                .todo(format!("answer first: {}", question.text)),
            None => match nearest(word) {
                Some(near) => found("is not a control")
                    .expected(WORDS)
                    .todo(format!("did you mean {near}?")),
                None => found("is not a control").expected(WORDS),
            },
        },
        // A missing job or daemon is reported before the word.
        Err(refusal) => refusal,
    }
}

/// The control whose word comes nearest to what was typed.
fn nearest(word: &str) -> Option<&'static str> {
    const CONTROLS: [&str; 15] = [
        "take",
        "again",
        "back",
        "skip",
        "add",
        "split",
        "drop",
        "hold",
        "continue",
        "undo",
        "end",
        "go",
        "keep",
        "refill",
        "delivered",
    ];
    match benchhand_blueprint::known_word::meant(word, CONTROLS) {
        Ok(near) => Some(near),
        Err(near) => near,
    }
}

/// The control for typed arguments. `None` for `help` and for a word that is not a control.
fn control(typed: SteerControl) -> Option<Control> {
    Some(match typed {
        SteerControl::Help | SteerControl::Other(_) => return None,
        SteerControl::Take => Control::Take,
        SteerControl::Again => Control::Again,
        SteerControl::Back => Control::Back,
        SteerControl::Skip => Control::Skip,
        SteerControl::Add => Control::Add,
        SteerControl::Hold => Control::Hold,
        SteerControl::Resume => Control::Resume,
        SteerControl::Keep => Control::Keep,
        SteerControl::Refill => Control::Refill,
        SteerControl::Delivered => Control::Delivered,
        SteerControl::Split => Control::Split,
        SteerControl::Drop => Control::Drop,
        SteerControl::Undo => Control::Undo,
        SteerControl::Go { spot } => Control::Go {
            spot: spot.join(" "),
        },
        SteerControl::Type { value, unit, sure } => match levels(&value) {
            levels if !levels.is_empty() => Control::Type(Typed {
                levels,
                sure,
                ..Typed::default()
            }),
            _ => Control::Type(Typed {
                value: spoken(Some(value), unit),
                sure,
                ..Typed::default()
            }),
        },
        SteerControl::End => Control::End,
    })
}

/// The control for a line typed while a route runs. `None` if the line has no meaning.
///
/// A line that begins like a number is a value. Upper and lower case are the same.
pub(super) fn typed(line: &str) -> Option<Control> {
    let line = line.trim();
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    Some(match (word.to_lowercase().as_str(), rest) {
        ("take", "") => Control::Take,
        ("again", "") => Control::Again,
        ("back", "") => Control::Back,
        ("skip", "") => Control::Skip,
        ("add", "") => Control::Add,
        ("hold", "") => Control::Hold,
        ("continue" | "resume", "") => Control::Resume,
        ("keep", "") => Control::Keep,
        ("refill", "") => Control::Refill,
        ("delivered", "") => Control::Delivered,
        ("split", "") => Control::Split,
        ("drop", "") => Control::Drop,
        ("undo", "") => Control::Undo,
        ("end", "") => Control::End,
        ("go", spot) if !spot.is_empty() => Control::Go {
            spot: spot.to_owned(),
        },
        ("type", value) if !value.is_empty() => by_eye(value),
        _ if line.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)) => by_eye(line),
        _ => return None,
    })
}

/// A value read by eye. `!` at its end means that it is right although it looks like a slip. Two
/// levels of a burette are joined by `to`; a comma separates further pairs.
fn by_eye(text: &str) -> Control {
    let (text, sure) = match text.strip_suffix('!') {
        Some(text) => (text.trim_end(), true),
        None => (text, false),
    };
    let typed = match levels(text) {
        levels if levels.is_empty() => Typed::value(text),
        levels => Typed {
            levels,
            ..Typed::default()
        },
    };
    Control::Type(Typed { sure, ..typed })
}

/// The pairs of levels in `2 to 66.2, 0 to 14` or `0 to 43,90`. Empty for a plain value, and where
/// anything between two commas is no pair: such a text is refused as a value.
fn levels(text: &str) -> Vec<Levels> {
    let pairs = parted(text).unwrap_or_default().into_iter();
    let pairs = pairs.map(|pair| pair.split_once(" to "));
    let levels = pairs.map(|pair| {
        let (from, to) = pair?;
        Some(Levels {
            from: from.trim().to_owned(),
            to: to.trim().to_owned(),
        })
    });
    levels.collect::<Option<_>>().unwrap_or_default()
}

/// The words of [`typed`], for a person whose line had no meaning.
pub(super) const WORDS: &str = "take, again, back, skip, add, split, hold, continue, undo, end, go SPOT; keep, refill or delivered where asked, drop for all that waits behind the question; or a value in the stop's unit (two levels: 2 to 66.2)";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_comma_in_a_level_cuts_nothing_off() {
        for (text, from, to) in [
            ("0 to 43,90", "0", "43,90"),
            ("0,5 to 44,2", "0,5", "44,2"),
            ("0,00 to 44,2 cc", "0,00", "44,2 cc"),
        ] {
            let (from, to) = (from.to_owned(), to.to_owned());
            assert_eq!(levels(text), [Levels { from, to }], "{text}");
        }
        assert_eq!(levels("0,5 to 20,5, 0,2 to 44,2").len(), 2);
        for text in ["0 to 40, 4", "0,5 to 44.2", "64,9"] {
            assert_eq!(levels(text), [], "{text}");
            assert_eq!(typed(text), Some(Control::Type(Typed::value(text))));
        }
        assert_eq!(levels("2 to 66.2, 0 to 14").len(), 2);
    }

    #[test]
    fn a_typed_line_is_a_control_or_a_value() {
        assert_eq!(typed("again\n"), Some(Control::Again));
        assert_eq!(typed("Keep"), Some(Control::Keep));
        assert_eq!(typed("drop"), Some(Control::Drop));
        assert_eq!(
            typed("go chamber/3"),
            Some(Control::Go {
                spot: "chamber/3".into()
            })
        );
        assert_eq!(
            typed("go chamber 3"),
            Some(Control::Go {
                spot: "chamber 3".into()
            })
        );
        assert_eq!(
            typed(" 64.2 cc "),
            Some(Control::Type(Typed::value("64.2 cc")))
        );
        assert_eq!(
            typed("-0.005in"),
            Some(Control::Type(Typed::value("-0.005in")))
        );
        let Some(Control::Type(poured)) = typed("2cc to 50cc, 1cc to 17.2cc!") else {
            panic!("not a value")
        };
        assert!(poured.sure);
        assert_eq!(poured.levels.len(), 2, "a refill half-way");
        assert_eq!(poured.levels[1].to, "17.2cc");
        assert_eq!(typed("go"), None);
        assert_eq!(
            typed("take it"),
            None,
            "a word more may mean something else"
        );
        assert_eq!(typed(""), None);
        assert_eq!(typed("yes"), None, "yes answers no question");
        assert_eq!(typed("no"), None);
    }
}
