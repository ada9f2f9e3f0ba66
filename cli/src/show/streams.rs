//! Played and replayed streams.

use benchhand_wire::{CaptureLine, Played, ReplayNote, ReplayedStream};

use super::count;
use super::figure::{digits, unit_after};
use super::table::Table;

/// The samples of a played stream.
pub(crate) fn played(answer: &Played) -> String {
    let mut table = Table::new(&[">seconds", "channel", ">value", "unit", "status"]);
    for sample in &answer.samples {
        table.row(vec![
            seconds(sample.at_us),
            sample.channel.clone(),
            sample
                .value
                .map(|value| digits(value, &sample.unit))
                .unwrap_or_default(),
            sample.unit.clone(),
            sample.status.clone(),
        ]);
    }
    let mut text = table.text();
    text += &format!(
        "{}, decoded with {}; the stream is {}.\n",
        count(answer.samples.len(), "sample", "samples"),
        answer.profile,
        answer.origin
    );
    for (at, trouble) in &answer.troubles {
        text += &format!("  ! {} s: {trouble}\n", seconds(*at));
    }
    text
}

/// The capture events and notes of a replayed stream.
pub(crate) fn replayed(stream: &ReplayedStream) -> String {
    let mut text = match &stream.why_nothing {
        Some(why) => format!("Nothing was captured in this stream: {why}.\n"),
        None => captured(&stream.lines),
    };
    for one in &stream.notes {
        text += &format!("  ! {}\n", note(one));
    }
    text
}

/// A note with its time.
pub(crate) fn note(note: &ReplayNote) -> String {
    let times = if note.times > 1 {
        format!(" ({} times)", note.times)
    } else {
        String::new()
    };
    format!("{} s: {}{times}", seconds(note.at_us), note.text)
}

fn captured(lines: &[CaptureLine]) -> String {
    let mut table = Table::new(&[">seconds", "state", ">value", ">samples", ">sd"]);
    for line in lines {
        table.row(vec![
            seconds(line.at_us),
            line.state.clone(),
            format!(
                "{}{}",
                digits(line.value, &line.unit),
                unit_after(&line.unit)
            ),
            line.n.to_string(),
            line.sd
                .map(|sd| format!("{sd:.2e}"))
                .unwrap_or_else(|| "not known".to_owned()),
        ]);
    }
    table.text()
}

fn seconds(at_us: u64) -> String {
    format!("{}.{:06}", at_us / 1_000_000, at_us % 1_000_000)
}

#[cfg(test)]
mod tests {
    use benchhand_wire::PlayedSample;

    use super::*;

    #[test]
    fn a_status_is_shown_in_place_of_a_number_and_trouble_with_its_time() {
        let text = played(&Played {
            profile: "ascii-length".into(),
            origin: "synthesised".into(),
            samples: vec![PlayedSample {
                at_us: 41_250,
                channel: "length".into(),
                value: None,
                unit: "mm".into(),
                status: "overrange".into(),
            }],
            troubles: vec![(1_500_000, "4 bytes could not be read".into())],
        });
        assert!(text.contains("0.041250"), "{text}");
        assert!(text.contains("overrange"), "{text}");
        assert!(
            text.contains("! 1.500000 s: 4 bytes could not be read"),
            "{text}"
        );
        assert!(
            text.contains("1 sample, decoded with ascii-length"),
            "{text}"
        );
    }

    #[test]
    fn a_stream_without_a_reading_says_so_and_why_and_what_was_noticed_when() {
        let text = replayed(&ReplayedStream {
            lines: Vec::new(),
            notes: vec![ReplayNote {
                state: "note".into(),
                text: "too fast".into(),
                times: 3,
                at_us: 1_500_000,
            }],
            why_nothing: Some("nothing could be taken".into()),
        });
        assert!(text.contains("Nothing was captured"), "{text}");
        assert!(text.contains("nothing could be taken"), "{text}");
        assert!(text.contains("! 1.500000 s: too fast (3 times)"), "{text}");
    }
}
