//! A question to the person who measures, with its answers.

use benchhand_wire::{AnswerWord, OpenQuestion, QuestionAbout};

use super::count;

/// The question on one line, its answers below, and the number of pours that wait.
pub(crate) fn standing(question: &OpenQuestion, waiting: u32) -> String {
    let mut text = format!("? {}\n  answers: {}", question.text, answers(question));
    if question.about == QuestionAbout::WhichWay {
        text += "\n  (before a route, `benchhand gauge direction` sees which way it runs)";
    }
    let (one, many) = match is_poured(question) {
        true => ("pour", "more pours"),
        false => ("value", "more values"),
    };
    match waiting {
        0 => {}
        1 => text += &format!("\n  1 more {one} waits (drop: it is none)"),
        more => {
            let all = count(more as usize, one, many);
            text += &format!("\n  {all} wait (drop: all of them are none)");
        }
    }
    text
}

/// Whether the question is about an amount of liquid; one without a value is.
fn is_poured(question: &OpenQuestion) -> bool {
    let unit = question.shown.split_whitespace().nth(1);
    matches!(unit, None | Some("cc" | "mL" | "L" | "g" | "kg"))
}

/// The answers, each with its meaning here: `keep (the value is right), again (…), or type …`.
pub(crate) fn answers(question: &OpenQuestion) -> String {
    // A typed value comes last, because it is not a word.
    let words = question.answers.iter().filter(|w| **w != AnswerWord::Type);
    let mut all: Vec<String> = words
        .map(|word| answer(question.about, *word).to_owned())
        .collect();
    if question.answers.contains(&AnswerWord::Type) {
        all.push(typing(question));
    }
    match all.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{}, or {last}", before.join(", ")),
        _ => all.concat(),
    }
}

/// What can be typed: a burette's levels, or a value in the shown unit.
fn typing(question: &OpenQuestion) -> String {
    let unit = question.shown.split_whitespace().nth(1);
    match (unit, question.about) {
        (Some("cc" | "mL" | "L"), _) | (None, QuestionAbout::LostPour) => {
            "type the two levels, before and after (FROM to TO)".to_owned()
        }
        (Some(unit), _) => format!("type the right value ({unit})"),
        (None, _) => "type the right value".to_owned(),
    }
}

/// The reply to a line that is not an answer.
pub(crate) fn no_answer(line: &str, question: &OpenQuestion) -> String {
    let word = line.trim().to_lowercase();
    format!(
        "! {word:?} {}. {}\n  answers: {}",
        why_no_answer(&word),
        question.text,
        answers(question)
    )
}

/// Why a word is not an answer. The text follows the word.
pub(crate) fn why_no_answer(word: &str) -> &'static str {
    match word.trim().to_lowercase().as_str() {
        "yes" | "y" | "no" | "n" | "ok" | "okay" => "could mean either here, so nothing was done",
        _ => "is not an answer to this",
    }
}

fn answer(about: QuestionAbout, word: AnswerWord) -> &'static str {
    use AnswerWord::{Again, Delivered, Keep, Refill, Skip, Split, Type};
    match (about, word) {
        (QuestionAbout::WhichAgain, Again) => "again (void that reading and measure it again)",
        (QuestionAbout::WhichAgain, Keep) => "keep (leave that reading as it is and go on here)",
        (QuestionAbout::OneOrTwo, Keep) => "keep (all of it is one pour)",
        (QuestionAbout::LostPour, Skip) => "skip (leave this stop without a value)",
        (QuestionAbout::Earlier, Keep) => "keep (that reading is right)",
        (QuestionAbout::BrokenOff, Keep) => "keep (nothing more went in)",
        (QuestionAbout::Earlier | QuestionAbout::BrokenOff, Again) => {
            "again (measure that stop again)"
        }
        (QuestionAbout::OldZero, Keep) => "keep (the zero still stands)",
        (QuestionAbout::WhichWay, Refill) => "refill (it was filled)",
        (_, Keep) => "keep (the value is right)",
        (_, Again) => "again (measure this stop again)",
        (_, Type) => "type the right value",
        (_, Split) => "split (two pours, with a rest between)",
        (_, Refill) => "refill (no pour of a chamber)",
        (_, Delivered) => "delivered (it was poured out)",
        (_, Skip) => "skip (it belongs to the next stop)",
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// A first pour far off the nominal.
    pub(crate) fn far_off() -> OpenQuestion {
        OpenQuestion {
            about: QuestionAbout::FarOff,
            spot: "chamber/1".into(),
            shown: "90.00 cc".into(),
            text: "chamber 1: 90.00 cc, expected about 64.0 cc as the engine file says: keep, \
                   again, or type it?"
                .into(),
            answers: vec![
                AnswerWord::Keep,
                AnswerWord::Again,
                AnswerWord::Type,
                AnswerWord::Refill,
            ],
        }
    }

    #[test]
    fn a_question_stands_with_its_answers_and_what_waits() {
        let text = standing(&far_off(), 2);
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines[0].starts_with("? chamber 1: 90.00 cc"), "{text}");
        assert_eq!(
            lines[1],
            "  answers: keep (the value is right), again (measure this stop again), refill (no \
             pour of a chamber), or type the two levels, before and after (FROM to TO)"
        );
        assert_eq!(lines[2], "  2 more pours wait (drop: all of them are none)");
        let one = standing(&far_off(), 1);
        assert!(
            one.ends_with("\n  1 more pour waits (drop: it is none)"),
            "{one}"
        );
        assert_eq!(standing(&far_off(), 0).lines().count(), 2);
    }

    #[test]
    fn yes_is_no_answer_and_is_told_so_kindly() {
        let text = no_answer("Yes\n", &far_off());
        assert!(
            text.starts_with("! \"yes\" could mean either here"),
            "{text}"
        );
        assert!(
            text.contains("answers: keep (the value is right)"),
            "{text}"
        );
        let text = no_answer("dunno", &far_off());
        assert!(
            text.starts_with("! \"dunno\" is not an answer to this"),
            "{text}"
        );
    }

    #[test]
    fn keep_says_what_it_means_where_a_question_turns_it_round() {
        let question = OpenQuestion {
            about: QuestionAbout::WhichAgain,
            answers: vec![AnswerWord::Again, AnswerWord::Keep],
            ..far_off()
        };
        assert_eq!(
            answers(&question),
            "again (void that reading and measure it again), or keep (leave that reading as it is \
             and go on here)"
        );
    }

    #[test]
    fn what_is_typed_at_a_dial_is_a_value_in_its_unit() {
        let question = OpenQuestion {
            about: QuestionAbout::OldZero,
            shown: "0.0180 in".into(),
            answers: vec![AnswerWord::Keep, AnswerWord::Again, AnswerWord::Type],
            ..far_off()
        };
        let text = answers(&question);
        assert!(text.ends_with(", or type the right value (in)"), "{text}");
    }

    #[test]
    fn which_way_a_scale_runs_names_the_step_that_spares_the_question() {
        let question = OpenQuestion {
            about: QuestionAbout::WhichWay,
            shown: String::new(),
            answers: vec![AnswerWord::Refill, AnswerWord::Delivered, AnswerWord::Again],
            ..far_off()
        };
        let text = standing(&question, 0);
        assert!(text.contains("refill (it was filled), delivered (it was poured out), or again"));
        assert!(text.contains("`benchhand gauge direction`"), "{text}");
    }
}
