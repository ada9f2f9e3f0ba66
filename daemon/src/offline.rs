//! Recorded streams without a station: what they hold, and what capture makes of them. Files of
//! readings without a job.
//!
//! Needs no data folder, no port and no clock; the stream carries its own times.

mod rows;

use benchhand_blueprint::{Quantity, Unit};
use benchhand_drivers::stream::{Stream, StreamOrigin, TimedDecoded, decode_stream, samples_of};
use benchhand_drivers::{Decoded, DriverOptions, Profile, ProfileRegistry, QuantityKind, Sample};
use benchhand_wire::{
    CaptureLine, Played, PlayedSample, Reason, Refusal, ReplayNote, ReplayedStream,
};

use crate::capture::{self, CaptureEvent, CaptureMode, CaptureSettings, Sigma};
use crate::known::refusals::{at_place, of_profile};
use crate::known::register::state_count;
use crate::known::words;

pub use rows::row_doubts;

/// A profile of the user's own: its file's name and its text.
pub type OwnProfile<'a> = Option<(&'a str, &'a str)>;

/// Decodes the text of a recorded stream; faults name `name`. `own` replaces the built-in profile.
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
    Ok(Played {
        profile: profile.name().to_owned(),
        origin: match stream.header.origin {
            StreamOrigin::Synthesised => "synthesised".to_owned(),
            StreamOrigin::Captured => "captured".to_owned(),
        },
        troubles: troubles(&decoded),
        samples: samples_of(&decoded).into_iter().map(shown).collect(),
    })
}

/// Captures readings from the text of a recorded stream, by the rule of `mode` (`settle`,
/// `pour`, `extreme`, `average` or `press`) with its documented start values; `turn` (`high` or
/// `low`) belongs to `extreme`. `count` is the size of one count of the gauge, as `0.0005 in`,
/// where that is larger than one of its last digit. The end of the stream ends the route.
///
/// # Errors
/// As for [`play`], and where mode and turn do not fit, the gauge measures nothing that `mode`
/// is for, or `count` is no size in a unit of the stream's kind.
pub fn replay(
    text: &str,
    name: &str,
    own: OwnProfile<'_>,
    mode: &str,
    turn: Option<&str>,
    count: Option<&str>,
) -> Result<ReplayedStream, Refusal> {
    let settings = settings(mode, turn)?;
    let (stream, profile) = open(text, name, own)?;
    let decoded = decode_stream(&stream, &profile, DriverOptions::default());
    let mut samples = samples_of(&decoded);
    if let Some(first) = samples.iter().find(|s| s.channel == 0) {
        fits(&settings, mode, first)?;
    }
    if let (Some(count), Some(first)) = (count, samples.first()) {
        let size: Quantity = count.parse().map_err(bad)?;
        let symbol = first.unit.symbol();
        let expected = format!("a size above 0 in a unit such as {symbol}, which the gauge sends");
        if symbol
            .parse()
            .is_ok_and(|own: Unit| size.unit.kind() != own.kind())
        {
            let found = format!("the unit of resolution {count:?} does not fit the gauge");
            return Err(bad(found).expected(expected));
        }
        if size.value <= 0.0 {
            return Err(bad(format!("resolution {count:?}")).expected(expected));
        }
        for sample in &mut samples {
            state_count(sample, Some(count));
        }
    }
    let values = samples.iter().filter(|s| s.value.is_some()).count();
    let replayed = capture::replay(samples, &settings, Sigma::unknown());
    let lines: Vec<CaptureLine> = replayed.events.iter().filter_map(line).collect();
    let said = replayed.events.iter().filter_map(|(at_us, event)| {
        let text = match event {
            CaptureEvent::Note(note) => note.to_string(),
            CaptureEvent::Withdrawn { why, .. } => format!("withdrawn: {why}"),
            _ => return None,
        };
        Some((*at_us, text))
    });
    let mut said: Vec<(u64, String)> = said.chain(troubles(&decoded)).collect();
    said.sort_by_key(|(at_us, _)| *at_us);
    let why = || why_nothing(settings.mode(), values, &said);
    Ok(ReplayedStream {
        why_nothing: lines.is_empty().then(why),
        notes: gathered(said),
        lines,
    })
}

fn line((at_us, event): &(u64, CaptureEvent)) -> Option<CaptureLine> {
    let (state, _, taken) = event.reading()?;
    Some(CaptureLine {
        state: state.to_owned(),
        value: taken.value,
        unit: taken.unit.symbol().to_owned(),
        n: taken.n,
        sd: taken.sd,
        at_us: *at_us,
    })
}

fn troubles(decoded: &[TimedDecoded]) -> Vec<(u64, String)> {
    let trouble = |timed: &TimedDecoded| match &timed.decoded {
        Decoded::Trouble(trouble) => Some((timed.at_us, words::trouble(trouble))),
        Decoded::Sample(_) => None,
    };
    decoded.iter().filter_map(trouble).collect()
}

/// The notes, with equal ones in a row told once.
fn gathered(said: Vec<(u64, String)>) -> Vec<ReplayNote> {
    let mut notes: Vec<ReplayNote> = Vec::new();
    for (at_us, text) in said {
        match notes.last_mut() {
            Some(last) if last.text == text => last.times += 1,
            _ => notes.push(ReplayNote {
                state: "note".to_owned(),
                text,
                times: 1,
                at_us,
            }),
        }
    }
    notes
}

/// Why a stream gave no reading, as far as that is known.
fn why_nothing(mode: CaptureMode, values: usize, said: &[(u64, String)]) -> String {
    if values == 0 {
        let frames = if said.is_empty() {
            "nothing was received"
        } else {
            "no frame could be read as a value; was it recorded with this profile?"
        };
        return format!("the stream holds no value: {frames}");
    }
    if !said.is_empty() {
        return "nothing could be taken; what was noticed is said with its time".to_owned();
    }
    let why = match mode {
        CaptureMode::Settle => {
            "the gauge never left its first rest, or never came to rest after it"
        }
        CaptureMode::Pour => "no delivery of at least 0.5 cc ended in a rest",
        CaptureMode::Extreme => "the value never rose and fell by 0.25 mm about a turn",
        CaptureMode::Average => "there was no flow for long enough: 30 counts from zero, for 3 s",
        CaptureMode::Press => "no button was pressed on the gauge",
    };
    format!("{why} (of {values} values)")
}

/// A gauge that measures nothing this mode is for gives no reading, or a meaningless one.
fn fits(settings: &CaptureSettings, mode: &str, first: &Sample) -> Result<(), Refusal> {
    let kind = first.unit.kind();
    let (right, wanted, instead) = match settings.mode() {
        CaptureMode::Pour => (
            matches!(kind, QuantityKind::Volume | QuantityKind::Mass),
            "a burette or a balance: volume or mass",
            "a length is captured with --mode settle or extreme, a pressure with average",
        ),
        CaptureMode::Extreme => (
            kind == QuantityKind::Length,
            "a dial or a bore gauge: a length",
            "a volume or mass is captured with --mode pour, a pressure with average",
        ),
        CaptureMode::Settle | CaptureMode::Average | CaptureMode::Press => return Ok(()),
    };
    if right {
        return Ok(());
    }
    let found = format!("--mode {mode} for a gauge that sends {}", first.unit);
    Err(bad(found).expected(wanted).todo(instead))
}

fn settings(mode: &str, turn: Option<&str>) -> Result<CaptureSettings, Refusal> {
    if let Some(turn) = turn.filter(|_| mode != "extreme") {
        let found = format!("--turn {turn} with --mode {mode}");
        return Err(bad(found)
            .expected("a turn only with --mode extreme")
            .todo("leave --turn away"));
    }
    let mut table = toml::Table::new();
    table.insert("mode".to_owned(), mode.into());
    if let Some(turn) = turn {
        table.insert("turn".to_owned(), turn.into());
    }
    toml::Value::Table(table)
        .try_into()
        .map_err(|e: toml::de::Error| {
            bad(format!("mode {mode:?}: {}", e.message()))
                .expected("mode settle, pour, extreme, average or press; turn high or low")
        })
}

fn bad(error: impl std::fmt::Display) -> Refusal {
    Refusal::new(Reason::BadInput, error.to_string())
}

fn open(text: &str, name: &str, own: OwnProfile<'_>) -> Result<(Stream, Profile), Refusal> {
    let stream = Stream::parse(text.as_bytes()).map_err(|e| {
        let found = format!("{name} is no sound recorded stream");
        let todo = if e.line <= 1 {
            "check that this is the file that was meant: a recorded stream begins with its header"
        } else {
            "play it up to there by cutting the file, or take another recording"
        };
        at_place(found, name, e.line, 1, e.to_string()).todo(todo)
    })?;
    let registry = ProfileRegistry::builtin();
    if let Some((file, text)) = own {
        // Whatever name the stream has for the profile, it is the gauge's own.
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
