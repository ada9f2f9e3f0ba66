//! Records of several kinds that alternate: `A…` and `B…`, or `1,…` and `2,…`.

use crate::records::Record;
use crate::seven::share;

/// Records that begin alike, and the beginnings of the other kinds.
pub(crate) struct RecordClass {
    pub(crate) prefix: Vec<u8>,
    pub(crate) records: Vec<Record>,
    pub(crate) others: Vec<Vec<u8>>,
}

/// Separates records into kinds that alternate: `A…` and `B…`, or `1,…` and `2,…`.
pub(crate) fn classes(records: &[Record]) -> Vec<RecordClass> {
    let prefixes: Vec<Vec<u8>> = records.iter().map(|record| prefix(&record.text)).collect();
    let mut distinct: Vec<Vec<u8>> = prefixes.clone();
    distinct.sort();
    distinct.dedup();
    let turns = prefixes
        .windows(2)
        .filter(|pair| pair[0] != pair[1])
        .count();
    let often = |wanted: &Vec<u8>| {
        share(
            prefixes.iter().filter(|prefix| *prefix == wanted).count(),
            prefixes.len(),
        ) > 0.15
    };
    let one = || {
        vec![RecordClass {
            prefix: Vec::new(),
            records: records.to_vec(),
            others: Vec::new(),
        }]
    };
    // Status words come in runs; channels alternate.
    let take_turns = (2..=4).contains(&distinct.len())
        && distinct.iter().all(often)
        && distinct.iter().all(|prefix| !prefix.is_empty())
        && share(turns, prefixes.len()) > 0.6
        && records.len() >= 6
        && distinct
            .iter()
            .all(|prefix| !starts_another(prefix, &distinct));
    if !take_turns {
        return one();
    }
    distinct
        .iter()
        .map(|own| RecordClass {
            prefix: own.clone(),
            records: records
                .iter()
                .zip(&prefixes)
                .filter(|(_, prefix)| *prefix == own)
                .map(|(record, _)| record.clone())
                .collect(),
            others: distinct
                .iter()
                .filter(|other| *other != own)
                .cloned()
                .collect(),
        })
        .collect()
}

pub(crate) fn starts_another(prefix: &[u8], all: &[Vec<u8>]) -> bool {
    all.iter()
        .any(|other| &other[..] != prefix && other.starts_with(prefix))
}

/// The leading letters with digits behind them, or a small number with its separator.
pub(crate) fn prefix(text: &[u8]) -> Vec<u8> {
    let letters = text
        .iter()
        .take_while(|byte| byte.is_ascii_alphabetic())
        .count();
    let digits = text[letters..]
        .iter()
        .take_while(|byte| byte.is_ascii_digit())
        .count();
    let end = letters + digits;
    let parted = matches!(
        text.get(end),
        Some(b',' | b':' | b';' | b' ' | b'=' | b'+' | b'-')
    );
    if !parted || end == 0 || digits > 2 {
        // A number follows these letters directly.
        return text[..if digits > 2 || text.get(end) == Some(&b'.') {
            letters
        } else {
            0
        }]
            .to_vec();
    }
    let separator = usize::from(!matches!(text[end], b'+' | b'-'));
    text[..end + separator].to_vec()
}
