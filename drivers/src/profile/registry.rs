//! The profiles that are known, as a value.

use std::collections::BTreeMap;

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
        "modbus-pressure-pair-inh2o.toml",
        include_str!("../../profiles/modbus-pressure-pair-inh2o.toml"),
    ),
    (
        "modbus-pressure-pair.toml",
        include_str!("../../profiles/modbus-pressure-pair.toml"),
    ),
];

/// Profiles by name.
#[derive(Debug, Clone, Default)]
pub struct Registry {
    profiles: BTreeMap<String, Profile>,
}

impl Registry {
    /// No profiles.
    #[must_use]
    pub fn empty() -> Self {
        Self::default()
    }

    /// The profiles that come with the program. A test loads each of them; one that could not
    /// be loaded would be left out here.
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

    /// Adds a profile; one of the same name is replaced, so that a shop can have its own.
    ///
    /// # Errors
    /// The first mistake in the text, with line and column.
    pub fn add(&mut self, text: &str, file: &str) -> Result<&Profile, ProfileError> {
        let profile = Profile::parse(text, file)?;
        let name = profile.name().to_owned();
        Ok(self.profiles.entry(name).insert_entry(profile).into_mut())
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
