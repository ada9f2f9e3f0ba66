//! Sentences of the command line on a page: an option is called by the label of its field.
//!
//! Answers and refusals are worded once, for terminal and page alike, and name an option where one
//! is to be filled in. This module does not know what a sentence says.

use benchhand_wire::Refusal;

use super::RequestForm;

impl RequestForm {
    /// A sentence with each option that this form has a field for called by the field's label:
    /// "correct --ratio" becomes "correct “Compression to aim at”".
    #[must_use]
    pub fn in_labels(&self, sentence: &str) -> String {
        let mut parts = sentence.split("--");
        let mut told = parts.next().unwrap_or_default().to_owned();
        for part in parts {
            let letters = |c: char| c.is_ascii_lowercase() || c == '-';
            let end = part.find(|c| !letters(c)).unwrap_or(part.len());
            let (option, rest) = part.split_at(end);
            match self.label_of(option) {
                Some(label) => told.push_str(&format!("“{label}”{rest}")),
                None => told.push_str(&format!("--{part}")),
            }
        }
        told
    }

    /// A refusal in the words of this form.
    #[must_use]
    pub fn refusal_in_labels(&self, refusal: &Refusal) -> Refusal {
        let mut told = refusal.clone();
        for sentence in [&mut told.found, &mut told.expected, &mut told.todo] {
            *sentence = self.in_labels(sentence);
        }
        told
    }

    /// The label of the field that an option fills in.
    fn label_of(&self, option: &str) -> Option<&'static str> {
        let name = option.replace('-', "_");
        let mut fields = self.fields.iter();
        let found = fields.find(|field| field.name.rsplit('.').next() == Some(&name))?;
        Some(found.label)
    }
}

#[cfg(test)]
mod tests {
    use crate::decide::question_of;

    #[test]
    fn an_option_is_called_by_the_label_of_its_field() {
        let mill = question_of("mill").expect("a question");
        assert_eq!(
            mill.in_labels("give both --angle and --far-edge, or --nothing-here"),
            "give both “Angle of a tipped cut” and “Edge of the face from the line of tipping”, or --nothing-here"
        );
        assert_eq!(mill.in_labels("no option -- here"), "no option -- here");
    }
}
