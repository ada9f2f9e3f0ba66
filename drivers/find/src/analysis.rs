//! Finds every candidate for the heard bytes: known profiles, text, frames of bytes.

use crate::candidate::ProfileCandidate;
use crate::heard::HeardBytes;
use crate::{binary, front, known, text};

/// Every candidate for the heard bytes, the surest first.
#[must_use]
pub fn analyse(heard: &[HeardBytes]) -> Vec<ProfileCandidate> {
    let mut all: Vec<ProfileCandidate> = heard.iter().flat_map(candidates).collect();
    all.sort_by(|a, b| b.confidence.total_cmp(&a.confidence));
    all
}

fn candidates(heard: &HeardBytes) -> Vec<ProfileCandidate> {
    let trimmed = front::trimmed(heard);
    let heard = &trimmed;
    let bytes = heard.bytes();
    if bytes.len() < 4 {
        return Vec::new();
    }
    let mut all = known::candidates(heard);
    all.extend(text::candidates(heard));
    // Bytes that read as text are not tried as frames of bytes.
    if !all.iter().any(|candidate| candidate.confidence >= 0.5) {
        all.extend(binary::candidates(heard));
    }
    all
}
