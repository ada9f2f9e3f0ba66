//! A fact as a line of a journal says it.

use crate::store::fact::Fact;
use crate::store::station::StationId;

/// A fact as it is written in a line, without its envelope.
#[derive(Debug)]
pub(crate) struct FactText {
    /// From the mark after `prev` up to the mark before `sum`.
    pub(super) bytes: Vec<u8>,
}

impl FactText {
    /// Writes a fact.
    ///
    /// # Errors
    /// Where a fact cannot be written as JSON; facts that fit a view can.
    pub(crate) fn of(fact: &Fact) -> Result<Self, serde_json::Error> {
        Self::naming(fact, None)
    }

    /// Writes a fact that names one of another station, with the errors of [`FactText::of`].
    pub(crate) fn naming(
        fact: &Fact,
        station: Option<&StationId>,
    ) -> Result<Self, serde_json::Error> {
        let mut bytes = b"\"".to_vec();
        if let Some(station) = station {
            bytes.extend_from_slice(b",\"of_station\":");
            serde_json::to_writer(&mut bytes, station)?;
        }
        let brace = bytes.len();
        serde_json::to_writer(&mut bytes, fact)?;
        // A comma takes the place of the brace that opens the fact's own object.
        if let Some(brace) = bytes.get_mut(brace) {
            *brace = b',';
        }
        bytes.pop();
        Ok(Self { bytes })
    }

    /// BLAKE3 of the fact: equal for equal facts.
    pub(crate) fn print(&self) -> blake3::Hash {
        blake3::hash(&self.bytes)
    }
}
