//! Questions that rest on readings typed into the form alone: true top dead centre, and the study of
//! a gauge. Nothing of them is kept.

use benchhand_blueprint::answers::TdcAsked;

use super::questions::{field, needed, question};
use crate::form::{FieldKind, FilledFields, FormField, RequestForm};

/// Where true top dead centre is. Stroke, rod and offset come from the job's engine where empty.
pub const TDC: RequestForm = question(
    "tdc",
    "Where is true top dead centre?",
    "From the degree wheel at equal depth on both sides of it.",
    &[
        FormField {
            kind: FieldKind::Lines,
            ..needed(
                "pairs",
                "Degree wheel before and after",
                "A line for each depth, e.g. 326.4, 33.8 at 0.200 in. Come to each depth in the direction in which the engine runs. With a positive stop: plugs out, battery off, turn by hand, and mind the valves",
            )
        },
        field(
            "u",
            "Standard uncertainty of one reading of the wheel",
            "e.g. 0.25 deg; half of the ± that you would give it.",
        ),
        field("stroke", "Stroke", "As the engine file has it where empty."),
        field(
            "rod",
            "Rod length",
            "As the engine file has it where empty.",
        ),
        field(
            "offset",
            "Offset of pin or bore",
            "As the engine file has it where empty.",
        ),
    ],
);

/// How a gauge repeats, and how much those who use it differ.
pub const STUDY: RequestForm = question(
    "study",
    "A study of a gauge",
    "How it repeats, and how much those who use it differ: each measures each part equally often.",
    &[
        FormField {
            kind: FieldKind::Lines,
            ..needed(
                "csv",
                "Readings",
                "The first line is part,operator,trial,value,unit; then a line for each reading, e.g. 1,AB,1,0.0512,in",
            )
        },
        field(
            "tolerance",
            "Width of the tolerance",
            "With its unit, e.g. 0.002 in: from the least to the most that is allowed.",
        ),
    ],
);

/// What was filled in, as it is asked.
pub fn tdc_asked(filled: &FilledFields) -> TdcAsked {
    let found = |name: &str| {
        let found = filled.iter().find(|(known, _)| known == name);
        found
            .map(|(_, text)| text.trim().to_owned())
            .filter(|text| !text.is_empty())
    };
    let pairs = found("pairs").unwrap_or_default();
    let pairs = pairs.lines().map(str::trim).filter(|line| !line.is_empty());
    TdcAsked {
        pairs: pairs.map(str::to_owned).collect(),
        u: found("u"),
        stroke: found("stroke"),
        rod: found("rod"),
        offset: found("offset"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_line_is_a_pair_and_what_is_empty_was_not_said() {
        let filled = [
            ("pairs", "326.4, 33.8 at 0.200 in\r\n\r\n 340.1, 20.0 \r\n"),
            ("u", " "),
            ("rod", "5.980 in"),
        ];
        let filled = filled.map(|(name, value)| (name.to_owned(), value.to_owned()));
        let asked = tdc_asked(&filled.to_vec());
        assert_eq!(asked.pairs, ["326.4, 33.8 at 0.200 in", "340.1, 20.0"]);
        assert_eq!((asked.u, asked.rod.as_deref()), (None, Some("5.980 in")));
    }
}
