//! A question to the person at the bench, with its answers.

use benchhand_wire::{AnswerWord, OpenQuestion, QuestionAbout};

use super::count;

/// The question on a line of its own, its answers below, and how many pours wait behind it.
pub(crate) fn standing(question: &OpenQuestion, waiting: u32) -> String {
    let mut text = format!("? {}\n  answers: {}", question.text, answers(question));
    match waiting {
        0 => {}
        1 => text += "\n  1 more pour waits",
        more => text += &format!("\n  {} wait", count(more as usize, "pour", "more pours")),
    }
    text
}

/// The answers, each with what it means here: `keep (the value is right), again (…)`.
pub(crate) fn answers(question: &OpenQuestion) -> String {
    let answers = question.answers.iter();
    let answers: Vec<&str> = answers.map(|word| answer(question.about, *word)).collect();
    answers.join(", ")
}

/// What is said to someone whose line is no answer.
pub(crate) fn no_answer(line: &str, question: &OpenQuestion) -> String {
    let word = line.trim().to_lowercase();
    let why = match word.as_str() {
        "yes" | "y" | "no" | "n" | "ok" | "okay" => "could mean either here, so nothing was done",
        _ => "is no answer to this",
    };
    format!(
        "! {word:?} {why}. {}\n  answers: {}",
        question.text,
        answers(question)
    )
}

fn answer(about: QuestionAbout, word: AnswerWord) -> &'static str {
    use AnswerWord::{Again, Delivered, Keep, Refill, Skip, Split, Type};
    match (about, word) {
        (QuestionAbout::WhichAgain, Again) => "again (yes, take the last reading anew)",
        (QuestionAbout::WhichAgain, Keep) => "keep (no, go on at this stop)",
        (QuestionAbout::OneOrTwo, Keep) => "keep (all of it is one pour)",
        (QuestionAbout::LostPour, Skip) => "skip (leave this stop without a value)",
        (QuestionAbout::Earlier, Keep) => "keep (that reading is right)",
        (QuestionAbout::BrokenOff, Keep) => "keep (nothing more went in)",
        (QuestionAbout::Earlier | QuestionAbout::BrokenOff, Again) => {
            "again (measure that stop anew)"
        }
        (QuestionAbout::OldZero, Keep) => "keep (the zero still stands)",
        (_, Keep) => "keep (the value is right)",
        (_, Again) => "again (measure this stop anew)",
        (_, Type) => "or type the right value with its unit",
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
            "  answers: keep (the value is right), again (measure this stop anew), or type the \
             right value with its unit, refill (no pour of a chamber)"
        );
        assert_eq!(lines[2], "  2 more pours wait");
        assert!(standing(&far_off(), 1).ends_with("\n  1 more pour waits"));
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
            text.starts_with("! \"dunno\" is no answer to this"),
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
            "again (yes, take the last reading anew), keep (no, go on at this stop)"
        );
    }
}
