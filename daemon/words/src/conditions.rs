//! The conditions of a reading, as a person is asked for them.

use benchhand_wire::ConditionKept;

/// A condition in a builder's words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConditionWords {
    /// What stands beside the field.
    pub label: String,
    /// What helps to say it; empty where the label says all.
    pub help: &'static str,
    /// What may be said, as it is kept and in words; empty where it is a number with its unit or any
    /// word.
    pub choices: &'static [(&'static str, &'static str)],
}

const TEMPERATURE: &str = "With its unit, e.g. 21.5 degC or 70 degF.";

/// Words that may be said, each with what a person reads.
type WordChoices = &'static [(&'static str, &'static str)];

/// The conditions that figures use.
const KNOWN: [(&str, &str, &str, WordChoices); 8] = [
    (
        "liquid",
        "Liquid in the burette",
        "",
        &[
            ("water", "water"),
            ("other", "another one: its density is the engine file's"),
        ],
    ),
    (
        "liquid/temperature",
        "Temperature of the liquid",
        TEMPERATURE,
        &[],
    ),
    (
        "chamber/temperature",
        "Temperature of the head",
        TEMPERATURE,
        &[],
    ),
    (
        "valves-and-plugs",
        "Valves and plugs in the chambers",
        "",
        &[
            ("running", "those that will run"),
            ("others", "others: volumes are not the engine's"),
        ],
    ),
    (
        "fill-hole/volume",
        "Liquid in the plate's fill hole",
        "What stands in it at the end of a pour, e.g. 0.3 cc. It is taken off. 0 cc where you stop at its lower edge.",
        &[],
    ),
    (
        "air/temperature",
        "Temperature of the room's air",
        TEMPERATURE,
        &[],
    ),
    (
        "air/pressure",
        "Pressure of the room's air",
        "As it is here, not reduced to the sea: e.g. 1008 hPa or 29.8 inHg.",
        &[],
    ),
    (
        "air/humidity",
        "Humidity of the room's air",
        "e.g. 45 %RH",
        &[],
    ),
];

/// A condition by its name. One that no figure uses is called as it is named.
pub fn condition(name: &str) -> ConditionWords {
    let known = KNOWN.iter().find(|(known, ..)| *known == name);
    match known {
        Some((_, label, help, choices)) => ConditionWords {
            label: (*label).to_owned(),
            help,
            choices,
        },
        None => ConditionWords {
            label: crate::spots::capital(&name.replace(['/', '-', '_'], " ")),
            help: "",
            choices: &[],
        },
    }
}

/// That a condition holds for what is to come, and leaves out what was kept before; empty where it
/// leaves nothing out.
pub fn left_out(kept: &ConditionKept) -> String {
    let Some(first) = &kept.first_left_out else {
        return String::new();
    };
    let readings = match kept.left_out {
        1 => "reading that was kept before has".to_owned(),
        _ => "readings that were kept before have".to_owned(),
    };
    format!(
        "It holds for the readings to come. {} {readings} nothing said of it: to take them in, say it from reading number {first} on.",
        kept.left_out
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_condition_is_asked_for_in_words_and_an_unknown_one_by_its_name() {
        assert!(condition("fill-hole/volume").help.contains("taken off"));
        assert_eq!(condition("liquid").choices[0].0, "water");
        assert_eq!(
            condition("oil/shop_temperature").label,
            "Oil shop temperature"
        );
    }
}
