//! A journal under another name: the same facts, chained anew behind an opening line that says
//! whose copy it is.

use crate::store::copied::CopiedJob;
use crate::store::fact::{Fact, OpenedJob, content_hash};
use crate::store::line::{self, EncodedLine, FactText, NO_LINE};
use crate::store::scan::lines;

/// Chains a sound journal of whole lines anew for a job called `name`. Numbers and times stay, and
/// so do the keys of all lines but the first: another request opened the copy. A line whose damage
/// was accepted stays as it is.
///
/// # Errors
/// Where a line cannot be written as JSON; every line that was read can.
pub(crate) fn chained_anew(
    journal: &[u8],
    name: &str,
    copy_of: &CopiedJob,
) -> Result<Vec<u8>, serde_json::Error> {
    let mut copy = Vec::with_capacity(journal.len() + 256);
    let mut prev = NO_LINE.to_owned();
    // By line, the hash of its bytes as they were and as they are now.
    let mut hashes: Vec<(String, String)> = Vec::new();
    for text in lines(journal) {
        let Ok(entry) = line::decode(text) else {
            copy.extend_from_slice(text);
            copy.push(b'\n');
            let hash = content_hash(text);
            hashes.push((hash.clone(), hash));
            continue;
        };
        let anew = |key: Option<&str>, fact: &Fact| -> Result<EncodedLine, serde_json::Error> {
            let text = FactText::naming(fact, entry.of_station.as_ref())?;
            let envelope = (entry.seq, entry.at, &entry.beside);
            line::encode(envelope, key, entry.batch, &prev, &text)
        };
        let fresh = match &entry.fact {
            Fact::Opened(opened) => anew(
                None,
                &Fact::Opened(OpenedJob {
                    job: name.to_owned(),
                    copy_of: Some(copy_of.clone()),
                    ..opened.clone()
                }),
            )?,
            Fact::DamageKnown { line, hash, reason } => {
                let place = usize::try_from(line.saturating_sub(1)).unwrap_or(usize::MAX);
                let found = hashes.get(place).filter(|(was, _)| was == hash);
                let hash = found.map_or(hash, |(_, now)| now).clone();
                let (line, reason) = (*line, reason.clone());
                let fact = Fact::DamageKnown { line, hash, reason };
                anew(entry.key.as_deref(), &fact)?
            }
            _ => line::chained(text, &prev),
        };
        let bytes = fresh.bytes.strip_suffix(b"\n").unwrap_or(&fresh.bytes);
        hashes.push((content_hash(text), content_hash(bytes)));
        copy.extend_from_slice(&fresh.bytes);
        prev = fresh.hash;
    }
    Ok(copy)
}
