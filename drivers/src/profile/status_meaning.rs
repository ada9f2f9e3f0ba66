//! The meanings of a gauge's status words and bits.

/// The meaning of a status word for the value beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StatusMeaning {
    /// Nothing of interest.
    Nothing,
    /// The value rests.
    Stable,
    /// The value moves.
    Unstable,
    /// The gauge is beyond its range, so there is no value.
    Overrange,
    /// The display is held.
    Hold,
    /// The battery is low.
    LowBattery,
    /// The gauge reports a fault of its own, so there is no value.
    Fault,
    /// The gauge's button was pressed.
    Button,
}

/// The profile's word for each meaning.
pub(crate) const STATUS_WORDS: &[(&str, StatusMeaning)] = &[
    ("nothing", StatusMeaning::Nothing),
    ("stable", StatusMeaning::Stable),
    ("unstable", StatusMeaning::Unstable),
    ("overrange", StatusMeaning::Overrange),
    ("hold", StatusMeaning::Hold),
    ("low-battery", StatusMeaning::LowBattery),
    ("fault", StatusMeaning::Fault),
    ("button", StatusMeaning::Button),
];

impl StatusMeaning {
    /// The profile's word for this meaning.
    #[must_use]
    pub fn word(self) -> &'static str {
        let own = STATUS_WORDS.iter().find(|(_, meaning)| *meaning == self);
        own.map_or("nothing", |(word, _)| word)
    }
}
