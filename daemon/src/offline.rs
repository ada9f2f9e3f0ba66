//! Recorded streams without a bench: what they hold, and what capture makes of it.
//!
//! Needs no data folder, no port and no clock; the stream carries its own times.

use benchhand_blueprint::{Quantity, Unit};
use benchhand_drivers::stream::{Origin, Stream, decode_stream, samples_of};
use benchhand_drivers::{Decoded, DriverOptions, Profile, Registry, Sample};
use benchhand_wire::{CaptureLine, Played, PlayedSample, Reason, Refusal};

use crate::capture::{self, Settings, Sigma};
use crate::desk::refusals::{at_place, of_profile};
use crate::desk::register::state_count;
use crate::live::words;

/// A profile of the user's own: its file's name and its text.
pub type OwnProfile<'a> = Option<(&'a str, &'a str)>;

/// Decodes the text of a recorded stream; `name` is named in faults. `own` is used in the place
/// of the built-in profile.
///
/// # Errors
/// Where the text is no recorded stream, or names a profile that is neither built in nor `own`.
pub fn play(text: &str, name: &str, own: OwnProfile<'_>) -> Result<Played, Refusal> {
    let (stream, profile) = open(text, name, own)?;
    let decoded = decode_stream(&stream, &profile, DriverOptions::default());
    let shown = |sample: Sample| PlayedSample {
        at_us: sample.at_us,
        channel: profile
            .channels()
            .get(usize::from(sample.channel))
            .map(|channel| channel.name.clone())
            .unwrap_or_default(),
        value: sample.value,
        unit: sample.unit.symbol().to_owned(),
        status: words::status(sample.status),
    };
    let troubles = decoded.iter().filter_map(|timed| match &timed.decoded {
        Decoded::Trouble(trouble) => Some((timed.at_us, words::trouble(trouble))),
        Decoded::Sample(_) => None,
    });
    Ok(Played {
        profile: profile.name().to_owned(),
        origin: match stream.header.origin {
            Origin::Synthesised => "synthesised".to_owned(),
            Origin::Captured => "captured".to_owned(),
        },
        troubles: troubles.collect(),
        samples: samples_of(&decoded).into_iter().map(shown).collect(),
    })
}

/// Captures readings from the text of a recorded stream, by the rule of `mode` (`settle`,
/// `pour`, `extreme`, `average` or `press`) with its documented start values; `turn` (`high` or
/// `low`) belongs to `extreme`. `count` is the size of one count of the gauge, as `0.0005 in`,
/// where that is larger than one of its last digit. The end of the stream ends the route.
///
/// # Errors
/// As for [`play`], and where mode and turn do not fit or `count` is no size in a unit of the
/// stream's kind.
pub fn replay(
    text: &str,
    name: &str,
    own: OwnProfile<'_>,
    mode: &str,
    turn: Option<&str>,
    count: Option<&str>,
) -> Result<Vec<CaptureLine>, Refusal> {
    let settings = settings(mode, turn)?;
    let (stream, profile) = open(text, name, own)?;
    let mut samples = samples_of(&decode_stream(&stream, &profile, DriverOptions::default()));
    if let (Some(count), Some(first)) = (count, samples.first()) {
        let kind = first.unit.symbol().parse::<Unit>().map(Unit::kind);
        let size: Quantity = count.parse().map_err(bad)?;
        if kind.is_ok_and(|kind| size.unit.kind() != kind) || size.value <= 0.0 {
            let expected = format!("a size above 0 such as \"0.0005 {}\"", first.unit);
            return Err(bad(format!("resolution {count:?}")).expected(expected));
        }
        for sample in &mut samples {
            state_count(sample, Some(count));
        }
    }
    let replayed = capture::replay(samples, &settings, Sigma::unknown());
    let lines = replayed.events.iter().filter_map(|(at_us, event)| {
        let (state, _, taken) = event.reading()?;
        Some(CaptureLine {
            state: state.to_owned(),
            value: taken.value,
            unit: taken.unit.symbol().to_owned(),
            n: taken.n,
            sd: taken.sd,
            at_us: *at_us,
        })
    });
    Ok(lines.collect())
}

fn settings(mode: &str, turn: Option<&str>) -> Result<Settings, Refusal> {
    let mut table = toml::Table::new();
    table.insert("mode".to_owned(), mode.into());
    if let Some(turn) = turn {
        table.insert("turn".to_owned(), turn.into());
    }
    toml::Value::Table(table)
        .try_into()
        .map_err(|e: toml::de::Error| {
            Refusal::new(
                Reason::BadInput,
                format!("mode {mode:?}, turn {turn:?}: {}", e.message()),
            )
            .expected("mode settle, pour, extreme, average or press; a turn only for extreme")
        })
}

fn bad(error: impl std::fmt::Display) -> Refusal {
    Refusal::new(Reason::BadInput, error.to_string())
}

fn open(text: &str, name: &str, own: OwnProfile<'_>) -> Result<(Stream, Profile), Refusal> {
    let stream = Stream::parse(text.as_bytes()).map_err(|e| {
        let found = format!("{name} is no sound recorded stream");
        at_place(found, name, e.line, 1, e.to_string())
            .todo("play it up to there by cutting the file, or take another recording")
    })?;
    let registry = Registry::builtin();
    if let Some((file, text)) = own {
        // Under whatever name the stream knows it: it is the gauge's own.
        let profile = Profile::parse(text, file).map_err(|e| of_profile(&e))?;
        return Ok((stream, profile));
    }
    let profile = registry
        .get(&stream.header.profile)
        .cloned()
        .ok_or_else(|| {
            let known = registry.names().collect::<Vec<_>>().join(", ");
            let found = format!("{name} names the profile {:?}", stream.header.profile);
            Refusal::new(Reason::NotFound, found)
                .expected(format!("one of {known}"))
                .todo("give the gauge's own profile with --profile-file FILE")
        })?;
    Ok((stream, profile))
}
