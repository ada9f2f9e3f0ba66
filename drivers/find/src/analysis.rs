//! Every reading of what was heard: known profiles, text, frames of bytes.

use crate::candidate::Candidate;
use crate::heard::Heard;
use crate::{binary, front, known, text};

/// Every reading of what was heard, the surest first.
#[must_use]
pub fn analyse(heard: &[Heard]) -> Vec<Candidate> {
    let mut all: Vec<Candidate> = heard.iter().flat_map(candidates).collect();
    all.sort_by(|a, b| b.confidence.total_cmp(&a.confidence));
    all
}

fn candidates(heard: &Heard) -> Vec<Candidate> {
    let trimmed = front::trimmed(heard);
    let heard = &trimmed;
    let bytes = heard.bytes();
    if bytes.len() < 4 {
        return Vec::new();
    }
    let mut all = known::candidates(heard);
    all.extend(text::candidates(heard));
    // Bytes that read as text are not looked at as anything else.
    if !all.iter().any(|candidate| candidate.confidence >= 0.5) {
        all.extend(binary::candidates(heard));
    }
    all
}
