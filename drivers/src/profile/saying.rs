//! What a gauge says of itself in one word or bit, beside its value.

/// What a status word says of the value beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Saying {
    /// Nothing of interest.
    Nothing,
    /// The value rests.
    Stable,
    /// The value moves.
    Unstable,
    /// The gauge is beyond its range: there is no value.
    Overrange,
    /// The display is held.
    Hold,
    /// The battery is low.
    LowBattery,
    /// The gauge does not work: there is no value.
    Fault,
    /// Its button was pressed.
    Button,
}

/// The words for them in a profile.
pub(crate) const SAYINGS: &[(&str, Saying)] = &[
    ("nothing", Saying::Nothing),
    ("stable", Saying::Stable),
    ("unstable", Saying::Unstable),
    ("overrange", Saying::Overrange),
    ("hold", Saying::Hold),
    ("low-battery", Saying::LowBattery),
    ("fault", Saying::Fault),
    ("button", Saying::Button),
];

impl Saying {
    /// A profile's word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        let own = SAYINGS.iter().find(|(_, saying)| *saying == self);
        own.map_or("nothing", |(word, _)| word)
    }
}
