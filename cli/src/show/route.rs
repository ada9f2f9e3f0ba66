//! The state of a route.

use benchhand_wire::{OpenQuestion, RouteProgress, StopState, TakenUp};

use super::asked;
use super::count;
use super::machine::cautions;
use super::table::Table;

/// Most stops that are listed. A larger number is only counted.
const LISTED: usize = 8;

/// The state of a route in a few lines: what to do now, what is done, what is left.
pub(crate) fn standing(progress: &RouteProgress) -> String {
    let stood = taken_up(progress);
    format!("{}\n{stood}{}\n", headline(progress), now(progress))
}

/// The stops, one on each line, with their readings.
pub(crate) fn whole(progress: &RouteProgress) -> String {
    let mut table = Table::new(&["", "stop", ">round", "state", ">reading", "gauge"]);
    for (at, stop) in progress.stops.iter().enumerate() {
        let here = if progress.at == Some(at) { ">" } else { "" };
        table.row(vec![
            here.to_owned(),
            stop.spot.clone(),
            stop.round.to_string(),
            stop_state(stop.state).to_owned(),
            stop.shown.clone(),
            stop.gauge.clone(),
        ]);
    }
    format!(
        "{}\n{}{}{}\n",
        headline(progress),
        table.text(),
        to_check(progress),
        now(progress)
    )
}

/// The text before a route begins: its title, the cautions, and its progress.
pub(crate) fn beginning(progress: &RouteProgress) -> String {
    let mut text = format!("{}\n", headline(progress));
    text += &taken_up(progress);
    text += &cautions(&progress.cautions);
    text += &to_check(progress);
    for asked in &progress.asks {
        match &asked.known {
            Some(known) => text += &format!("{}: {known}\n", asked.name),
            None if asked.before.is_some() => {
                text += &format!(
                    "{} was {} before; say it again: benchhand condition {} {0} VALUE\n",
                    asked.name,
                    asked.before.as_deref().unwrap_or_default(),
                    progress.job
                );
            }
            None => {
                text += &format!(
                    "{} is not known: benchhand condition {} {} VALUE\n",
                    asked.name, progress.job, asked.name
                );
            }
        }
    }
    text
}

/// The points that no signal shows and that the person must check.
fn to_check(progress: &RouteProgress) -> String {
    let checks = progress.checks.iter();
    checks.map(|check| format!("? {check}\n")).collect()
}

/// The state of a route that is taken up after more than a day, and the changes since.
fn taken_up(progress: &RouteProgress) -> String {
    let taken_up = progress.taken_up.as_ref();
    let stood = taken_up.map(|taken_up| stood(&progress.job, taken_up));
    stood.unwrap_or_default()
}

fn stood(job: &str, taken_up: &TakenUp) -> String {
    let mut text = format!(
        "Its last reading is of {} UTC, {}.\n",
        taken_up.last, taken_up.ago
    );
    let listed = |list: &[String]| match list.len() {
        0 => "none".to_owned(),
        1..=LISTED => list.join(", "),
        all => {
            let more = all - LISTED;
            let named = list[..LISTED].join(", ");
            format!("{named} and {more} more (benchhand job show {job})")
        }
    };
    text += &format!("  kept: {}\n", listed(&taken_up.kept));
    for open in &taken_up.open {
        text += &format!("  open: {open}\n");
    }
    if let Some(next) = &taken_up.next {
        text += &format!("  next: {next}\n");
    }
    match taken_up.changed.as_slice() {
        [] => text += "  changed since: nothing that was said here\n",
        changed => {
            text += "  changed since:\n";
            for change in changed {
                text += &format!("    {change}\n");
            }
        }
    }
    text
}

/// `chamber volumes (chambers) on v8: 5 of 16 stops, 1 skipped`.
pub(crate) fn headline(progress: &RouteProgress) -> String {
    let of = |state| {
        progress
            .stops
            .iter()
            .filter(|stop| stop.state == state)
            .count()
    };
    let taken = of(StopState::Taken) + of(StopState::Held);
    let mut text = format!(
        "{} ({}) on {}: {taken} of {} taken",
        progress.title,
        progress.route,
        progress.job,
        count(progress.stops.len(), "stop", "stops"),
    );
    match of(StopState::Skipped) {
        0 => {}
        skipped => text += &format!(", {skipped} skipped"),
    }
    if progress.done && !progress.running {
        text += ", done";
    } else if !progress.running {
        text += ", stands half-way";
    }
    text
}

/// The next action, or how to continue.
pub(crate) fn now(progress: &RouteProgress) -> String {
    if let (Some(question), false) = (&progress.asked, progress.running) {
        return left_open(progress, question);
    }
    if progress.done && !progress.running {
        return format!("Done. benchhand report {}", progress.job);
    }
    if !progress.running {
        return format!(
            "Take it up again: benchhand measure {} {}",
            progress.job, progress.route
        );
    }
    if let Some(question) = &progress.asked {
        return asked::standing(question, progress.waiting);
    }
    let so_far = match progress.so_far.as_str() {
        "" => String::new(),
        so_far => format!("{so_far} so far; "),
    };
    match progress.at.and_then(|at| progress.stops.get(at)) {
        Some(stop) => format!(
            "now {} (round {}): {so_far}{}",
            stop.spot, stop.round, progress.prompt
        ),
        None => progress.prompt.clone(),
    }
}

/// The question that an ended route left open. What waits is kept safe and counts for nothing yet.
fn left_open(progress: &RouteProgress, question: &OpenQuestion) -> String {
    let waits = match progress.waiting {
        0 => String::new(),
        waiting => format!(
            " {} behind it.",
            count(waiting as usize, "value waits", "values wait")
        ),
    };
    format!(
        "The route has ended, and its question is open still: {}{waits}\n\
         benchhand measure {} {} asks again.",
        question.text, progress.job, progress.route
    )
}

fn stop_state(state: StopState) -> &'static str {
    match state {
        StopState::Left => "left",
        StopState::Held => "held",
        StopState::Taken => "taken",
        StopState::Skipped => "skipped",
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use benchhand_wire::StopDone;

    use super::*;

    /// Eight chambers, of which `taken` have a reading.
    pub(crate) fn chambers(taken: usize, running: bool) -> RouteProgress {
        let stops = (1..=8).map(|cylinder| {
            let state = if cylinder <= taken {
                StopState::Taken
            } else {
                StopState::Left
            };
            StopDone {
                spot: format!("chamber/{cylinder}"),
                round: 1,
                state,
                gauge: "burette".into(),
                kind: "volume".into(),
                unit: "cc".into(),
                counts: Default::default(),
                reading: (cylinder <= taken).then_some(cylinder as u64),
                shown: if cylinder <= taken {
                    "64.21 cc".into()
                } else {
                    String::new()
                },
                means: String::new(),
            }
        });
        RouteProgress {
            job: "v8".into(),
            route: "chambers".into(),
            title: "chamber volumes".into(),
            running,
            done: taken == 8,
            at: (taken < 8).then_some(taken),
            prompt: "fill the chamber".into(),
            stops: stops.collect(),
            asked: None,
            waiting: 0,
            so_far: String::new(),
            cautions: vec!["no open flame".into()],
            asks: Vec::new(),
            checks: Vec::new(),
            taken_up: None,
        }
    }

    /// Nobody can tell from the question alone whether the route runs on.
    #[test]
    fn an_end_at_an_open_question_says_that_the_route_has_ended() {
        let mut ended = chambers(2, false);
        ended.asked = Some(crate::show::asked::tests::far_off());
        ended.waiting = 2;
        let text = standing(&ended);
        for words in [
            "stands half-way",
            "The route has ended, and its question is open still: chamber 1: 90.00 cc",
            "2 values wait behind it.",
            "benchhand measure v8 chambers asks again.",
        ] {
            assert!(text.contains(words), "{words:?} in {text}");
        }
        assert!(!text.contains("answers:"), "{text}");
    }

    #[test]
    fn a_running_route_says_what_to_do_now() {
        let text = standing(&chambers(3, true));
        assert!(text.contains("3 of 8 stops taken"), "{text}");
        assert!(
            text.contains("now chamber/4 (round 1): fill the chamber"),
            "{text}"
        );
    }

    #[test]
    fn what_went_in_so_far_stands_at_the_stop() {
        let mut progress = chambers(3, true);
        progress.so_far = "20.00 cc".into();
        let text = standing(&progress);
        assert!(
            text.contains("now chamber/4 (round 1): 20.00 cc so far; fill the chamber"),
            "{text}"
        );
    }

    #[test]
    fn a_route_taken_up_says_where_it_stood_and_what_changed() {
        let mut progress = chambers(3, true);
        progress.taken_up = Some(TakenUp {
            last: "2026-03-02 09:14".into(),
            ago: "3 weeks ago".into(),
            kept: vec!["chamber/1".into(), "chamber/2".into()],
            open: vec!["chamber/3: 60.00 cc, expected about 46.0 cc".into()],
            next: Some("chamber/4".into()),
            changed: vec![
                "milled 1: 0.010 in off".into(),
                "gauge dial: direction -1, was 1".into(),
            ],
        });
        let lines = [
            "Its last reading is of 2026-03-02 09:14 UTC, 3 weeks ago.",
            "  kept: chamber/1, chamber/2",
            "  open: chamber/3: 60.00 cc, expected about 46.0 cc",
            "  next: chamber/4",
            "  changed since:",
            "    milled 1: 0.010 in off",
            "    gauge dial: direction -1, was 1",
        ];
        for text in [beginning(&progress), standing(&progress)] {
            assert!(text.contains(&lines.join("\n")), "{text}");
        }
        progress.taken_up.as_mut().unwrap().changed.clear();
        assert!(beginning(&progress).contains("nothing that was said here"));
        progress.taken_up = None;
        assert!(!beginning(&progress).contains("last reading"));
    }

    #[test]
    fn a_route_that_stands_half_way_says_how_to_take_it_up() {
        let text = standing(&chambers(3, false));
        assert!(text.contains("stands half-way"), "{text}");
        assert!(text.contains("benchhand measure v8 chambers"), "{text}");
    }

    /// The last chamber's drops may still come, so the text does not point to the report yet.
    #[test]
    fn a_route_whose_last_reading_is_open_says_so() {
        let mut progress = chambers(8, true);
        progress.prompt = "late drops still count to the last one".into();
        let text = standing(&progress);
        assert!(text.contains("8 of 8 stops taken\n"), "{text}");
        assert!(text.contains("late drops still count"), "{text}");
        assert!(!text.contains("benchhand report"), "{text}");
    }

    #[test]
    fn a_route_that_is_done_leads_to_the_report() {
        let text = whole(&chambers(8, false));
        assert!(text.contains("8 of 8 stops taken, done"), "{text}");
        assert!(text.contains("benchhand report v8"), "{text}");
    }
}
