//! The progress of a route, as it is shown.

use benchhand_blueprint::{Engine, Spot};
use benchhand_wire::{OpenQuestion, RouteProgress, StopDone, StopState};
use jiff::Timestamp;

use super::run::{ArrangedStop, RouteRun, StopQuestion};
use crate::known::others::beside_the_others;
use crate::known::told;
use crate::known::words;
use crate::known::zero_checks;
use crate::route::{FigureRule, Route, StopOutcome};
use crate::store::view::JobView;

/// The progress of a route.
pub(crate) fn progress(
    job: &str,
    route: &Route,
    run: &RouteRun,
    engine: &Engine,
    (view, now): (&JobView, Timestamp),
    orifice: Option<&str>,
) -> RouteProgress {
    let at = run.walk().at();
    let prompt = match at {
        _ if run.on_hold() => match run.poured_on_hold() {
            Some(poured) => format!("on hold: {poured}"),
            None => "on hold; continue to go on".to_owned(),
        },
        Some(stop) => match run.wants_refill() {
            Some(true) => "refill the burette, then pour the rest".to_owned(),
            Some(false) => amid_a_chamber(route, &run.stops()[stop].stop.prompt),
            None => run.stops()[stop].stop.prompt.clone(),
        },
        None if run.finished() => "done".to_owned(),
        None => "all stops taken; late drops still count to the last one; end the route if there are none"
            .to_owned(),
    };
    let became = run.walk().became();
    let prompt = run.question().map_or(prompt, |q| q.text.clone());
    let mut stops: Vec<StopDone> = run
        .stops()
        .iter()
        .zip(became)
        .map(|(arranged, &became)| stop_done(arranged, became, view, engine))
        .collect();
    say_what_the_newest_means(&mut stops, run, view);
    RouteProgress {
        job: job.to_owned(),
        route: route.name.clone(),
        title: route.title.clone(),
        running: !run.finished(),
        done: run.walk().done(),
        at,
        prompt,
        stops,
        asked: run.question().map(|question| open_question(question, run)),
        waiting: u32::try_from(run.waiting()).unwrap_or(u32::MAX),
        so_far: run.so_far().map_or_else(String::new, |taken| {
            let told = at.and_then(|at| run.stops().get(at)?.told);
            words::value(
                taken.value,
                taken.unit.symbol(),
                Some(taken.resolution),
                told,
            )
        }),
        cautions: route.cautions.clone(),
        asks: crate::known::conditions::asked(&route.ask, view, now),
        checks: to_check(run, orifice, view),
        taken_up: None,
    }
}

/// The prompt without what is set up anew before a further round: the chamber is begun.
fn amid_a_chamber(route: &Route, prompt: &str) -> String {
    let set_up = route.next_round.as_ref().map(|anew| format!("{anew}. "));
    let rest = set_up.and_then(|anew| prompt.split_once(&anew));
    rest.map_or(prompt, |(_, rest)| rest).to_owned()
}

/// What a person should check before the first stop, and after the last.
fn to_check(run: &RouteRun, orifice: Option<&str>, view: &JobView) -> Vec<String> {
    let counts =
        |s: &&ArrangedStop| s.stop.figure != FigureRule::AsCaptured && s.basis.zero.is_some();
    let gauges = run.stops().iter().filter(counts);
    let mut gauges: Vec<&str> = gauges.map(|s| s.gauge.as_str()).collect();
    gauges.dedup();
    let flow = |s: &ArrangedStop| matches!(s.stop.spot, Spot::Flow { .. });
    let orifice = orifice.filter(|_| run.stops().iter().any(flow));
    zero_checks::to_check(view, &gauges, orifice, run.walk().done())
}

fn open_question(question: &StopQuestion, run: &RouteRun) -> OpenQuestion {
    OpenQuestion {
        about: question.doubt.about(),
        spot: run.stops()[question.stop].stop.spot.to_string(),
        shown: question.shown.clone(),
        text: question.text.clone(),
        answers: question.answers(),
    }
}

fn stop_done(
    arranged: &ArrangedStop,
    became: StopOutcome,
    view: &JobView,
    engine: &Engine,
) -> StopDone {
    let (state, reading) = match became {
        StopOutcome::Left => (StopState::Left, None),
        StopOutcome::Held(id) => (StopState::Held, Some(id)),
        StopOutcome::Taken(id) => (StopState::Taken, Some(id)),
        StopOutcome::Skipped => (StopState::Skipped, None),
    };
    let shown = reading
        .and_then(|id| view.reading(id))
        .map(|kept| told::shown(Some(engine), kept));
    StopDone {
        spot: arranged.stop.spot.to_string(),
        round: arranged.stop.round,
        state,
        gauge: arranged.gauge.clone(),
        kind: arranged.stop.kind.clone(),
        unit: told::symbol_of(engine, &arranged.stop.spot).to_owned(),
        counts: arranged.stop.figure,
        reading,
        shown: shown.unwrap_or_default(),
        means: String::new(),
    }
}

/// The newest reading is compared with the other cylinders: only now may a person know, whose hand
/// would follow an expectation.
fn say_what_the_newest_means(stops: &mut [StopDone], run: &RouteRun, view: &JobView) {
    let newest = stops.iter_mut().filter(|stop| stop.reading.is_some());
    let Some(newest) = newest.max_by_key(|stop| stop.reading) else {
        return;
    };
    if let Some(reading) = newest.reading.and_then(|id| view.reading(id)) {
        let newest_told = newest.unit.parse().ok();
        let spots = run.stops().iter().map(|arranged| &arranged.stop.spot);
        newest.means = beside_the_others(view, reading, spots, newest_told);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::{RouteChoices, expand, shipped};

    #[test]
    fn amid_a_chamber_nothing_is_set_up_for_the_next_round() {
        let (name, text) = shipped().find(|(name, _)| *name == "chambers").unwrap();
        let route = Route::parse(text, name).unwrap();
        let stops = expand(&route, &[1, 2], &RouteChoices::default()).unwrap();
        let prompts: Vec<String> = stops
            .iter()
            .map(|stop| amid_a_chamber(&route, &stop.prompt))
            .collect();
        assert!(stops[2].prompt.starts_with("Round 2: "), "{stops:?}");
        for prompt in &prompts {
            assert!(prompt.starts_with("Fill chamber"), "{prompt}");
        }
    }
}
