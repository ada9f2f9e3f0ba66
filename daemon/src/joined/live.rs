//! What goes on at this station, told to the others of the shop about once a second, and what they
//! said of theirs.
//!
//! The station's thread is asked only where something has happened since, and waits for nothing. A
//! text that was not sent before the next one comes is gone.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use benchhand_shop::{JobId, ROUTES_MOST, ShopLink, StationSaid};
use benchhand_wire::{
    CapturePhase, FigureRule, GaugeState, LiveValue, RouteProgress, StationRoute, StopState,
};
use serde::{Deserialize, Serialize};

use super::beside::{RouteBeside, RoutesTold, beside};
use crate::known::keeper::Keeper;
use crate::live::{Hub, StationHandle};

/// How often it is looked whether something has happened.
const EVERY: Duration = Duration::from_secs(1);

/// What was said longer ago is not shown any more.
const GONE: Duration = Duration::from_secs(60);

/// How long a question or a title may be among what is told, in characters.
const TEXT_MOST: usize = 300;

/// A route as one station tells the others of it. A newer program may say more.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct ToldRoute {
    /// The job's identity.
    job: String,
    route: String,
    #[serde(default)]
    title: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    spot: Option<String>,
    #[serde(default)]
    done: u32,
    #[serde(default)]
    of: u32,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    shown: String,
    #[serde(default)]
    holds: bool,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    asks: String,
}

impl ToldRoute {
    fn of(job: &str, progress: &RouteProgress, gauges: &[GaugeState]) -> Self {
        let done = |state: &StopState| *state != StopState::Left;
        let stop = progress.at.and_then(|at| progress.stops.get(at));
        let live = stop.and_then(|stop| {
            let gauge = gauges.iter().find(|one| one.setup.name == stop.gauge)?;
            gauge.live.first()
        });
        let counts = stop.map(|stop| stop.counts).unwrap_or_default();
        let shown = live.and_then(|live| figure(live, counts));
        let holds =
            live.is_some_and(|live| matches!(live.phase, CapturePhase::Still | CapturePhase::Held));
        let asks = progress.asked.as_ref().map(|asked| asked.text.as_str());
        let count = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        Self {
            job: job.to_owned(),
            route: progress.route.clone(),
            title: in_short(&progress.title),
            spot: stop.map(|stop| stop.spot.clone()),
            done: count(
                progress
                    .stops
                    .iter()
                    .filter(|stop| done(&stop.state))
                    .count(),
            ),
            of: count(progress.stops.len()),
            shown: shown.unwrap_or_default(),
            holds,
            asks: in_short(asks.unwrap_or_default()),
        }
    }

    fn shown(self, said_s: u64, name_of: &dyn Fn(&str) -> Option<String>) -> StationRoute {
        let name = name_of(&self.job);
        StationRoute {
            known: name.is_some(),
            job: name.unwrap_or_else(|| self.job.chars().take(8).collect()),
            route: self.route,
            title: self.title,
            spot: self.spot,
            done: self.done,
            of: self.of,
            shown: self.shown,
            holds: self.holds,
            asks: self.asks,
            said_s,
        }
    }
}

/// What the board's digits show of a live value: what went in where pours are taken, else counted from
/// zero where the stop counts so.
fn figure(live: &LiveValue, counts: FigureRule) -> Option<String> {
    let value = live.value?;
    let from_zero = match counts {
        FigureRule::AsCaptured => None,
        FigureRule::BelowZero => live.zeroed,
        FigureRule::AboveZero => live.zeroed.map(|zeroed| -zeroed),
    };
    let value = live.poured.or(from_zero).unwrap_or(value);
    let decimals = usize::from(live.decimals);
    let shown = format!("{value:.decimals$}");
    let is_zero = shown.parse::<f64>().is_ok_and(|shown| shown == 0.0);
    let shown = match shown.strip_prefix('-') {
        Some(plain) if is_zero => plain,
        _ => &shown,
    };
    Some(format!("{shown} {}", live.unit))
}

fn in_short(text: &str) -> String {
    text.chars().take(TEXT_MOST).collect()
}

/// The routes as text, as many as the shop's table takes; empty where none runs.
fn written(routes: &[ToldRoute]) -> String {
    let mut routes = routes;
    while let Some((_, fewer)) = routes.split_last() {
        match serde_json::to_string(routes) {
            Ok(text) if text.len() <= ROUTES_MOST => return text,
            _ => routes = fewer,
        }
    }
    String::new()
}

/// The routes that a station said, where it was heard lately. What is not understood is left out.
pub(super) fn routes(
    said: &StationSaid,
    name_of: &dyn Fn(&str) -> Option<String>,
) -> Vec<StationRoute> {
    let age = said.said.elapsed();
    if age > GONE {
        return Vec::new();
    }
    let told: Vec<ToldRoute> = serde_json::from_str(&said.routes).unwrap_or_default();
    let shown = |one: ToldRoute| one.shown(age.as_secs(), name_of);
    told.into_iter().map(shown).collect()
}

/// This station's own routes, in the same form.
pub(super) fn own_routes(station: &StationHandle) -> Vec<StationRoute> {
    let Ok((routes, gauges)) = station.with(|station| (station.routes(), station.gauges())) else {
        return Vec::new();
    };
    let shown = |route: &RouteProgress| {
        let named = |_: &str| Some(route.job.clone());
        ToldRoute::of("", route, &gauges).shown(0, &named)
    };
    routes.iter().map(shown).collect()
}

/// What goes on here: the routes as text, and the routes of other stations on their jobs.
#[derive(Default)]
struct GoesOn {
    text: String,
    beside: Vec<RouteBeside>,
    /// The jobs' identities by their names, which are looked up once.
    jobs: BTreeMap<String, JobId>,
}

/// Tells the link which routes run here, and the person at this station which routes of others run on
/// the same jobs, for as long as it is asked to.
pub(super) async fn tell(
    station: StationHandle,
    hub: Arc<Hub>,
    keeper: Arc<Keeper>,
    link: Arc<ShopLink>,
) {
    let mut now = GoesOn::default();
    let mut told = RoutesTold::default();
    let mut seen = None;
    loop {
        let last = hub.last_id();
        // While a route runs nothing need be announced that is news to others: the last of several
        // values in quick succession is not, nor is what another station begins.
        if seen != Some(last) || !now.text.is_empty() {
            let (of, keeper) = (station.clone(), Arc::clone(&keeper));
            let known = std::mem::take(&mut now.jobs);
            let asked = tokio::task::spawn_blocking(move || goes_on(&of, &keeper, known)).await;
            // Where the station cannot be asked just now, what was said before stands.
            if let Ok(Some(asked)) = asked {
                now = asked;
                seen = Some(last);
                link.say(now.text.clone());
                let state = link.state();
                told.tell(&hub, std::mem::take(&mut now.beside), |station| {
                    let state = state.borrow();
                    let mut all = state.stations.iter();
                    let one = all.find(|one| one.station.as_str() == station.0)?;
                    Some((one.letter.clone(), one.name.clone()))
                });
            }
        }
        tokio::time::sleep(EVERY).await;
    }
}

/// `None` where the station cannot be asked.
fn goes_on(
    station: &StationHandle,
    keeper: &Keeper,
    mut jobs: BTreeMap<String, JobId>,
) -> Option<GoesOn> {
    let asked = station.with(|station| (station.routes(), station.gauges()));
    let (routes, gauges) = asked.ok()?;
    let (mut told, mut others) = (Vec::new(), Vec::new());
    for route in &routes {
        if !jobs.contains_key(&route.job)
            && let Ok(Some(id)) = keeper.job_identity(&route.job)
            && let Some(id) = JobId::parse(&id.0)
        {
            jobs.insert(route.job.clone(), id);
        }
        if let Some(id) = jobs.get(&route.job) {
            told.push(ToldRoute::of(id.as_str(), route, &gauges));
        }
        // Where the job cannot be read the route itself says so.
        others.extend(keeper.look(&route.job, beside).unwrap_or_default());
    }
    Some(GoesOn {
        text: written(&told),
        beside: others,
        jobs,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(job: &str) -> ToldRoute {
        ToldRoute {
            job: job.to_owned(),
            route: "chambers".to_owned(),
            title: "chambers".to_owned(),
            spot: Some("chamber/3".to_owned()),
            done: 2,
            of: 8,
            shown: "64.20 cc".to_owned(),
            holds: true,
            asks: "?".repeat(TEXT_MOST),
        }
    }

    fn said(routes: String, ago: Duration) -> StationSaid {
        StationSaid {
            station: benchhand_shop::StationId::of([1; 16]),
            said: std::time::Instant::now().checked_sub(ago).unwrap(),
            waiting: 0,
            wrong: String::new(),
            routes,
        }
    }

    #[test]
    fn the_others_see_what_the_digits_at_the_station_show() {
        let mut live = LiveValue {
            value: Some(6.0),
            zeroed: Some(-1.0),
            decimals: 3,
            unit: "mm".to_owned(),
            channel: "length".to_owned(),
            poured: None,
            phase: CapturePhase::Still,
            stillness: 1.0,
            status: String::new(),
        };
        let shown = |live: &LiveValue, counts| figure(live, counts).unwrap();
        assert_eq!(shown(&live, FigureRule::AboveZero), "1.000 mm");
        assert_eq!(shown(&live, FigureRule::BelowZero), "-1.000 mm");
        assert_eq!(shown(&live, FigureRule::AsCaptured), "6.000 mm");
        live.zeroed = Some(-0.0001);
        assert_eq!(shown(&live, FigureRule::BelowZero), "0.000 mm");
        live.poured = Some(2.5);
        assert_eq!(shown(&live, FigureRule::AsCaptured), "2.500 mm");
        live.value = None;
        assert_eq!(figure(&live, FigureRule::AsCaptured), None);
    }

    #[test]
    fn many_routes_are_cut_to_what_the_table_takes() {
        let all: Vec<ToldRoute> = (0..40).map(|_| one(&"a".repeat(64))).collect();
        let text = written(&all);
        assert!(text.len() <= ROUTES_MOST);
        let name_of = |_: &str| Some("v8".to_owned());
        let shown = routes(&said(text, Duration::ZERO), &name_of);
        assert!(shown.len() > 5, "{}", shown.len());
        assert_eq!((shown[0].job.as_str(), shown[0].known), ("v8", true));
        assert_eq!(written(&[]), "");
    }

    #[test]
    fn what_is_old_says_so_and_vanishes_after_a_minute() {
        let text = written(&[one(&"a".repeat(64))]);
        let nobody = |_: &str| None;
        let old = routes(&said(text.clone(), Duration::from_secs(12)), &nobody);
        assert_eq!((old[0].said_s, old[0].job.as_str()), (12, "aaaaaaaa"));
        assert!(!old[0].known);
        assert!(routes(&said(text, Duration::from_secs(61)), &nobody).is_empty());
    }

    #[test]
    fn what_a_newer_program_says_is_understood_as_far_as_it_goes() {
        let newer = r#"[{"job":"a","route":"flow","colour":"red"}]"#;
        let name_of = |_: &str| None;
        let shown = routes(&said(newer.to_owned(), Duration::ZERO), &name_of);
        assert_eq!(shown[0].route, "flow");
        assert!(routes(&said("{}".to_owned(), Duration::ZERO), &name_of).is_empty());
    }
}
