//! Tries shipped profiles whose frames are so particular that they hardly occur by chance.

use crate::candidate::ProfileCandidate;
use crate::heard::HeardBytes;
use crate::trial::try_profile;
use benchhand_drivers::profile::{BUILT_IN, Profile, TalkMode};

/// The profiles that are tried. Plain lines are left to the analysis of text.
const PARTICULAR: &[&str] = &[
    "bcd13-length",
    "bcd13-length-packed",
    "binary-length-i24",
    "counted-pressure-f32",
    "exponent-pressure",
    "flagged-pressure-crc16",
    "framed-length-xor",
    "hex-length",
];

/// Candidates from the shipped profiles that read all of the heard bytes.
pub(crate) fn candidates(heard: &HeardBytes) -> Vec<ProfileCandidate> {
    if heard.asked.is_some() {
        return Vec::new();
    }
    PARTICULAR
        .iter()
        .filter_map(|name| candidate(name, heard))
        .collect()
}

fn candidate(name: &str, heard: &HeardBytes) -> Option<ProfileCandidate> {
    let file = format!("{name}.toml");
    let (_, text) = BUILT_IN.iter().find(|(known, _)| *known == file)?;
    let shipped = Profile::parse(text, &file).ok()?;
    let text = with_line(text, &shipped, heard)?;
    let tried = try_profile(&text, heard)?;
    let samples = tried.samples.len();
    if samples < 4 || tried.troubles > 1 + samples / 20 {
        return None;
    }
    let last = tried
        .samples
        .iter()
        .rev()
        .find(|sample| sample.channel == 0 && sample.value.is_some())?;
    // A gauge keeps its unit and decimals. If they change, the bytes are not such frames.
    let steady = |sample: &&benchhand_drivers::Sample| {
        sample.unit == last.unit && (sample.resolution - last.resolution).abs() < 1e-12
    };
    let same_channel = tried.samples.iter().filter(|sample| sample.channel == 0);
    if !same_channel.clone().all(|sample| steady(&sample)) {
        return None;
    }
    let single = shipped.channels().len() == 1;
    // A checksum that always fits proves the frame. It proves neither which of two channels is
    // meant nor the scale of bare counts.
    let proven = matches!(name, "bcd13-length" | "bcd13-length-packed");
    Some(ProfileCandidate {
        line: heard.line,
        mode: TalkMode::Stream,
        unit: proven.then_some(last.unit),
        confidence: if proven {
            0.95
        } else if single {
            0.75
        } else {
            0.6
        },
        profile: text,
        last_value: last.value,
        reasons: vec![format!(
            "every frame is one of the shipped profile \"{name}\""
        )],
    })
}

/// The shipped text with the settings at which the bytes were heard.
fn with_line(text: &str, shipped: &Profile, heard: &HeardBytes) -> Option<String> {
    let (own, found) = (shipped.line(), heard.line);
    let text = text.replacen(
        &format!("baud = {}", own.baud),
        &format!("baud = {}", found.baud),
        1,
    );
    let text = text.replacen(
        &format!("format = \"{}\"", own.format),
        &format!("format = \"{}\"", found.format),
        1,
    );
    let name = format!("name = \"{}\"", shipped.name());
    text.contains(&name)
        .then(|| text.replacen(&name, "name = \"found-gauge\"", 1))
}
