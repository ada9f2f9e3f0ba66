//! A journal under another name: the same facts, chained anew behind an opening line that says
//! whose copy it is.

use std::collections::BTreeMap;

use crate::store::copied::CopiedJob;
use crate::store::fact::{Fact, OpenedJob, content_hash};
use crate::store::line::{self, EncodedLine, FactText, NO_LINE};
use crate::store::scan::lines;
use crate::store::station::{JobId, StationId};

/// What a journal becomes a copy as.
#[derive(Debug)]
pub(crate) struct CopiedAs<'a> {
    /// The copy's name.
    pub(crate) name: &'a str,
    /// Whose copy it is.
    pub(crate) of: CopiedJob,
    /// The copy's identity, once its opening line is known.
    pub(crate) job: Option<JobId>,
    /// Of a job of several stations: which stations take their places in the copy.
    pub(crate) stations: BTreeMap<StationId, StationId>,
}

impl CopiedAs<'_> {
    fn is_of_several(&self) -> bool {
        !self.stations.is_empty()
    }

    fn station(&self, of: &StationId) -> StationId {
        self.stations.get(of).unwrap_or(of).clone()
    }
}

/// Chains a sound journal of whole lines anew for a job with another name. Numbers and times stay, and
/// so do the keys of all lines but the first: another request opened the copy. A line whose damage
/// was accepted stays as it is.
///
/// # Errors
/// Where a line cannot be written as JSON; every line that was read can.
pub(crate) fn chained_anew(
    journal: &[u8],
    copy: &CopiedAs<'_>,
) -> Result<Vec<u8>, serde_json::Error> {
    let mut chained = Vec::with_capacity(journal.len() + 256);
    let mut prev = NO_LINE.to_owned();
    // By line, the hash of its bytes as they were and as they are now.
    let mut hashes: Vec<(String, String)> = Vec::new();
    for text in lines(journal) {
        let Ok(entry) = line::decode(text) else {
            chained.extend_from_slice(text);
            chained.push(b'\n');
            let hash = content_hash(text);
            hashes.push((hash.clone(), hash));
            continue;
        };
        let of_station = entry.of_station.as_ref().map(|of| copy.station(of));
        let mut beside = entry.beside.clone();
        if let Some(on) = &mut beside.on {
            on.station = on.station.as_ref().map(|of| copy.station(of));
        }
        let same = of_station == entry.of_station && beside == entry.beside;
        let anew = |key: Option<&str>, fact: &Fact| -> Result<EncodedLine, serde_json::Error> {
            let text = FactText::naming(fact, of_station.as_ref())?;
            let envelope = (entry.seq, entry.at, &beside);
            line::encode(envelope, key, entry.batch, &prev, &text)
        };
        let fresh = match &entry.fact {
            Fact::Opened(opened) => anew(
                None,
                &Fact::Opened(OpenedJob {
                    job: copy.name.to_owned(),
                    copy_of: Some(copy.of.clone()),
                    ..opened.clone()
                }),
            )?,
            Fact::Joined(joined) if copy.is_of_several() => {
                let mut joined = joined.clone();
                joined.station = copy.station(&joined.station);
                if let Some(parted) = &mut joined.parted {
                    parted.from = copy.station(&parted.from);
                }
                if let Some(job) = &copy.job {
                    joined.job = job.clone();
                }
                anew(entry.key.as_deref(), &Fact::Joined(joined))?
            }
            Fact::DamageKnown { line, hash, reason } => {
                let place = usize::try_from(line.saturating_sub(1)).unwrap_or(usize::MAX);
                let found = hashes.get(place).filter(|(was, _)| was == hash);
                let hash = found.map_or(hash, |(_, now)| now).clone();
                let (line, reason) = (*line, reason.clone());
                let fact = Fact::DamageKnown { line, hash, reason };
                anew(entry.key.as_deref(), &fact)?
            }
            _ if same => line::chained(text, &prev),
            fact => anew(entry.key.as_deref(), fact)?,
        };
        let bytes = fresh.bytes.strip_suffix(b"\n").unwrap_or(&fresh.bytes);
        hashes.push((content_hash(text), content_hash(bytes)));
        chained.extend_from_slice(&fresh.bytes);
        prev = fresh.hash;
    }
    Ok(chained)
}
