//! Requests about unknown gauges, and about the profiles that describe gauges.

use benchhand_drivers::transport::{OpenError, serial};
use benchhand_drivers::{Profile, TalkMode};
use benchhand_find::{ProfileCandidate, SURE};
use benchhand_find::{SearchError, SearchOptions, search};
use benchhand_wire::{
    CheckProfile, FindGauge, Finding, FoundGauge, FoundLine, ProfileChecked, Reason, Refusal,
    UNIT_UNTOLD,
};

use super::{Answers, Desk};
use crate::known::giving_up;
use crate::known::refusals::of_profile;

impl Answers<FindGauge> for Desk {
    fn answer(&self, ask: FindGauge, _: Option<&str>) -> Result<FoundGauge, Refusal> {
        if let Some(station) = &self.station {
            let open = station.with(|station| station.open_paths())?;
            if open.contains(&ask.port) {
                return Err(Refusal::new(
                    Reason::Conflict,
                    format!("{} is open for a gauge of the register", ask.port),
                )
                .todo("take that gauge out of the register first"));
            }
        }
        let options = SearchOptions {
            allow_queries: ask.allow_queries,
            questions: questions(&ask.questions)?,
            ..SearchOptions::default()
        };
        let gone = giving_up::gone();
        let mut open = |line: &_| serial::open(&ask.port, line);
        let found = search(&mut open, &options, &gone, &mut |_| {}).map_err(|e| refused(&e))?;
        let mut findings = found.iter().map(finding);
        let Some(first) = findings.next() else {
            return Err(refused(&SearchError::Silent));
        };
        Ok(FoundGauge {
            found: first,
            others: findings.collect(),
        })
    }
}

/// The bytes of the questions.
fn questions(texts: &[String]) -> Result<Vec<Vec<u8>>, Refusal> {
    let bytes = |text: &String| {
        let bytes: Result<Vec<u8>, _> = text.chars().map(u8::try_from).collect();
        bytes.ok().filter(|bytes| !bytes.is_empty()).ok_or_else(|| {
            Refusal::new(Reason::BadInput, format!("the question {text:?}"))
                .expected("characters U+0000 to U+00FF, one for each byte")
        })
    };
    texts.iter().map(bytes).collect()
}

fn refused(error: &SearchError) -> Refusal {
    let reason = match error {
        SearchError::Open(OpenError::Absent { .. }) => Reason::PortAbsent,
        SearchError::Open(OpenError::Busy { .. }) => Reason::PortBusy,
        SearchError::Open(OpenError::Forbidden { .. }) => Reason::PortForbidden,
        SearchError::Open(_) => Reason::BadInput,
        _ => Reason::GaugeSilent,
    };
    Refusal::new(reason, error.to_string())
}

fn finding(candidate: &ProfileCandidate) -> Finding {
    let mut reasons = candidate.reasons.clone();
    if candidate.confidence < SURE {
        reasons.push("not sure: watch the value while you move the gauge".to_owned());
    }
    if candidate.unit.is_none() {
        reasons.push(UNIT_UNTOLD.to_owned());
    }
    Finding {
        line: FoundLine {
            baud: candidate.line.baud,
            format: candidate.line.format.to_string(),
        },
        mode: match candidate.mode {
            TalkMode::Poll => "poll".to_owned(),
            _ => "stream".to_owned(),
        },
        unit: candidate.unit.map(|unit| unit.symbol().to_owned()),
        confidence: candidate.confidence,
        profile: candidate.profile.clone(),
        last_value: candidate.last_value,
        reasons,
    }
}

impl Answers<CheckProfile> for Desk {
    fn answer(&self, ask: CheckProfile, _: Option<&str>) -> Result<ProfileChecked, Refusal> {
        let profile = Profile::parse(&ask.text, &ask.file).map_err(|e| of_profile(&e))?;
        let captures = profile.check_captures().map_err(|failures| {
            let words: Vec<String> = failures
                .iter()
                .map(|f| format!("capture {} ({}): {}", f.number, f.note, f.what))
                .collect();
            Refusal::new(
                Reason::BadInput,
                format!("{}: {}", ask.file, words.join("; ")),
            )
            .todo("mend the profile, or the capture if it was copied wrongly")
        })?;
        let channel = |c: &benchhand_drivers::profile::ChannelInfo| {
            let unit = c.unit.map_or("its own unit".to_owned(), |u| u.to_string());
            format!("{}: {} in {unit}", c.name, c.kind.word())
        };
        Ok(ProfileChecked {
            name: profile.name().to_owned(),
            title: profile.title().to_owned(),
            channels: profile.channels().iter().map(channel).collect(),
            captures,
        })
    }
}
