//! The recorded streams with their expected samples.

use std::path::PathBuf;

use benchhand_drivers::stream::Stream;
use benchhand_drivers::{Profile, ProfileRegistry, Sample, SampleStatus, TalkMode};
use serde_json::Value;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../recorded-streams")
}

pub(crate) struct Case {
    pub(crate) name: String,
    pub(crate) stream: Stream,
    pub(crate) profile: Profile,
    pub(crate) expected: Vec<Sample>,
}

pub(crate) fn cases() -> Vec<Case> {
    let registry = ProfileRegistry::builtin();
    let mut names: Vec<String> = std::fs::read_dir(folder())
        .unwrap()
        .filter_map(|entry| entry.unwrap().file_name().into_string().ok())
        .filter_map(|name| name.strip_suffix(".ndjson").map(str::to_owned))
        .collect();
    names.sort();
    names
        .into_iter()
        .map(|name| case(name, &registry))
        .collect()
}

fn case(name: String, registry: &ProfileRegistry) -> Case {
    let text = std::fs::read(folder().join(format!("{name}.ndjson"))).unwrap();
    let stream = Stream::parse(&text).unwrap_or_else(|error| panic!("{name}: {error}"));
    let profile = registry.get(&stream.header.profile).unwrap().clone();
    let text = std::fs::read_to_string(folder().join(format!("{name}.expected.json"))).unwrap();
    let expected: Value = serde_json::from_str(&text).unwrap();
    let expected = expected["samples"].as_array().unwrap();
    let expected = expected
        .iter()
        .map(|sample| sample_of(sample, &profile))
        .collect();
    Case {
        name,
        stream,
        profile,
        expected,
    }
}

fn sample_of(value: &Value, profile: &Profile) -> Sample {
    let name = value["channel"].as_str().unwrap();
    let channel = profile
        .channels()
        .iter()
        .position(|channel| channel.name == name)
        .unwrap();
    let says: Vec<&str> = value["says"]
        .as_array()
        .unwrap()
        .iter()
        .map(|word| word.as_str().unwrap())
        .collect();
    let says = |word| says.contains(&word);
    Sample {
        at_us: value["at_us"].as_u64().unwrap(),
        channel: u8::try_from(channel).unwrap(),
        value: value["value"].as_f64(),
        unit: value["unit"].as_str().unwrap().parse().unwrap(),
        resolution: value["resolution"].as_f64().unwrap(),
        status: SampleStatus {
            stable: match (says("stable"), says("unstable")) {
                (true, _) => Some(true),
                (_, true) => Some(false),
                _ => None,
            },
            overrange: says("overrange"),
            hold: says("hold"),
            low_battery: says("low-battery"),
            fault: says("fault"),
            button: profile.mode() == TalkMode::Button,
        },
    }
}
