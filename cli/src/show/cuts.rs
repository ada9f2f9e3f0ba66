//! Cuts and the stages that they open, and heads that change their banks.

use benchhand_wire::{CutCorrected, CutMade, CutTakenBack, HeadsExchanged, StageInfo};
use benchhand_words::spoken::changed;

use super::{count, moment};

/// The result of noting a cut.
pub(crate) fn made(job: &str, answer: &CutMade) -> String {
    let depth = answer.depth.as_deref();
    let depth = depth.map_or(String::new(), |depth| format!(", {depth} deep"));
    format!(
        "Job {job} is at stage \"{}\" now{depth} (entry {}); readings of before are kept apart.",
        answer.stage, answer.id
    )
}

/// The result of correcting a cut.
pub(crate) fn corrected(job: &str, answer: &CutCorrected) -> String {
    let CutCorrected {
        stage,
        cut,
        changes,
        cylinders,
        now,
        count_for,
        ..
    } = answer;
    let readings = count(answer.readings as usize, "reading", "readings");
    let moved = match answer.readings {
        0 => String::new(),
        1 => format!("\nIts {readings} counts for \"{count_for}\" now."),
        _ => format!("\nIts {readings} count for \"{count_for}\" now."),
    };
    if !answer.stands {
        return format!(
            "The cut that opened \"{stage}\" is taken back (entry {}); job {job} is at stage \
             \"{now}\".{moved}",
            answer.id
        );
    }
    let depth = answer.depth.as_deref();
    let depth = depth.map_or(String::new(), |depth| format!(", {depth} deep"));
    format!(
        "Stage \"{stage}\" of job {job}: {cut}{depth} (changes {}; entry {}). What was measured at \
         it stays.{moved}",
        changed(changes, cylinders),
        answer.id
    )
}

/// A line for each stage, and for each cut that was taken back.
pub(super) fn stages(stages: &[StageInfo], taken_back: &[CutTakenBack]) -> String {
    let mut text = String::new();
    for stage in stages {
        text += &format!("  {} since {}", stage.name, moment(&stage.since));
        if !stage.cut.is_empty() {
            let depth = stage.depth.as_deref();
            let depth = depth.map_or(String::new(), |depth| format!(", {depth} deep"));
            let changes = changed(&stage.changes, &stage.cylinders);
            text += &format!(": {}{depth} (changes {changes})", stage.cut);
        }
        if let Some(why) = &stage.corrected {
            text += &format!(", corrected: {why}");
        }
        text += "\n";
    }
    for gone in taken_back {
        let at = moment(&gone.at);
        let by = gone
            .by
            .as_ref()
            .map_or(String::new(), |by| format!(" by {by}"));
        text += &format!(
            "  {} was taken back{by} on {at}: {} ({})\n",
            gone.stage, gone.cut, gone.reason
        );
    }
    text
}

/// Heads that changed their banks.
pub(crate) fn heads_exchanged(answer: &HeadsExchanged) -> String {
    let mut text = match answer.readings {
        0 => "The readings had gone along before.".to_owned(),
        readings => format!(
            "{} went along with the heads:",
            count(readings, "reading", "readings")
        ),
    };
    for (from, to) in &answer.cylinders {
        text.push_str(&format!("\n  cylinder {from} to {to}"));
    }
    for (bank, mark) in &answer.heads {
        text.push_str(&format!("\nHead {mark} is on bank {bank} now."));
    }
    text
}
