//! The set of known profiles.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use super::{Profile, ProfileError};

/// The profiles that come with the program: name and text.
pub const BUILT_IN: &[(&str, &str)] = &[
    (
        "ascii-length-polled.toml",
        include_str!("../../profiles/ascii-length-polled.toml"),
    ),
    (
        "ascii-length.toml",
        include_str!("../../profiles/ascii-length.toml"),
    ),
    (
        "ascii-mass-polled.toml",
        include_str!("../../profiles/ascii-mass-polled.toml"),
    ),
    (
        "ascii-mass.toml",
        include_str!("../../profiles/ascii-mass.toml"),
    ),
    (
        "ascii-pressure-polled.toml",
        include_str!("../../profiles/ascii-pressure-polled.toml"),
    ),
    (
        "ascii-pressure.toml",
        include_str!("../../profiles/ascii-pressure.toml"),
    ),
    (
        "ascii-volume-polled.toml",
        include_str!("../../profiles/ascii-volume-polled.toml"),
    ),
    (
        "ascii-volume.toml",
        include_str!("../../profiles/ascii-volume.toml"),
    ),
    (
        "asked-pressure-pair.toml",
        include_str!("../../profiles/asked-pressure-pair.toml"),
    ),
    (
        "bcd-pressure-lrc.toml",
        include_str!("../../profiles/bcd-pressure-lrc.toml"),
    ),
    (
        "bcd13-length-button.toml",
        include_str!("../../profiles/bcd13-length-button.toml"),
    ),
    (
        "bcd13-length-packed.toml",
        include_str!("../../profiles/bcd13-length-packed.toml"),
    ),
    (
        "bcd13-length.toml",
        include_str!("../../profiles/bcd13-length.toml"),
    ),
    (
        "binary-length-i24.toml",
        include_str!("../../profiles/binary-length-i24.toml"),
    ),
    (
        "columns-mass.toml",
        include_str!("../../profiles/columns-mass.toml"),
    ),
    (
        "comma-mass.toml",
        include_str!("../../profiles/comma-mass.toml"),
    ),
    (
        "counted-pressure-f32.toml",
        include_str!("../../profiles/counted-pressure-f32.toml"),
    ),
    (
        "exponent-pressure.toml",
        include_str!("../../profiles/exponent-pressure.toml"),
    ),
    (
        "flagged-pressure-crc16.toml",
        include_str!("../../profiles/flagged-pressure-crc16.toml"),
    ),
    (
        "framed-length-xor.toml",
        include_str!("../../profiles/framed-length-xor.toml"),
    ),
    (
        "hex-length.toml",
        include_str!("../../profiles/hex-length.toml"),
    ),
    (
        "labelled-flow.toml",
        include_str!("../../profiles/labelled-flow.toml"),
    ),
    (
        "modbus-mass-i32.toml",
        include_str!("../../profiles/modbus-mass-i32.toml"),
    ),
    (
        "modbus-pressure-pair-inh2o.toml",
        include_str!("../../profiles/modbus-pressure-pair-inh2o.toml"),
    ),
    (
        "modbus-pressure-pair.toml",
        include_str!("../../profiles/modbus-pressure-pair.toml"),
    ),
    (
        "modbus-two-gauges.toml",
        include_str!("../../profiles/modbus-two-gauges.toml"),
    ),
    (
        "probes-length.toml",
        include_str!("../../profiles/probes-length.toml"),
    ),
    (
        "set-up-volume.toml",
        include_str!("../../profiles/set-up-volume.toml"),
    ),
    (
        "seven-bit-mass.toml",
        include_str!("../../profiles/seven-bit-mass.toml"),
    ),
];

/// Profiles by name.
#[derive(Debug, Clone, Default)]
pub struct ProfileRegistry {
    profiles: BTreeMap<String, Profile>,
}

impl ProfileRegistry {
    /// No profiles.
    #[must_use]
    pub fn empty() -> Self {
        Self::default()
    }

    /// The profiles that come with the program. A test loads each of them. A profile that could
    /// not be loaded would be left out here.
    #[must_use]
    pub fn builtin() -> Self {
        let mut registry = Self::empty();
        for (file, text) in BUILT_IN {
            if let Err(error) = registry.add(text, file) {
                tracing::error!(%error, "a built-in profile was left out");
            }
        }
        registry
    }

    /// Adds a profile. It replaces a profile of the same name, so a shop can have its own.
    ///
    /// # Errors
    /// The first mistake in the text, with line and column.
    pub fn add(&mut self, text: &str, file: &str) -> Result<&Profile, ProfileError> {
        let profile = Profile::parse(text, file)?;
        let slot = self.profiles.entry(profile.name().to_owned());
        Ok(match slot {
            Entry::Vacant(slot) => slot.insert(profile),
            Entry::Occupied(slot) => {
                let known = slot.into_mut();
                *known = profile;
                known
            }
        })
    }

    /// The profile of this name.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Profile> {
        self.profiles.get(name)
    }

    /// All names, sorted.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.profiles.keys().map(String::as_str)
    }

    /// All profiles, sorted by name.
    pub fn profiles(&self) -> impl Iterator<Item = &Profile> {
        self.profiles.values()
    }
}
