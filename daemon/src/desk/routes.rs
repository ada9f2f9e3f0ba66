//! Requests about routes: listing them, starting one, steering it.

use std::collections::BTreeMap;
use std::sync::Arc;

use benchhand_blueprint::Engine;
use benchhand_blueprint::known_word::meant;
use benchhand_wire::{
    ControlRoute, FigureRule, Reason, Refusal, RouteInfo, RouteList, RouteProgress, Routes,
    StartRoute, StopDone, StopState,
};

use super::{Answers, Desk};
use crate::known::conditions;
use crate::known::initials::by;
use crate::known::inputs;
use crate::known::quantities::bad;
use crate::known::shop::of_route;
use crate::known::told;
use crate::live::{RouteAtTakeUp, RouteOrder, taken_up};
use crate::route::{
    MEAN_S, Route, RouteChoices, RouteWalk, StopOutcome, free_route, with_means_of,
};
use crate::store::view::JobView;

impl Answers<Routes> for Desk {
    fn answer(&self, ask: Routes, _: Option<&str>) -> Result<RouteList, Refusal> {
        let mut routes = self.shop.routes()?;
        let view = match &ask.job {
            Some(job) => Some(self.keeper.view(job)?.0),
            None => None,
        };
        if let Some(view) = &view {
            self.with_free_routes(view, &mut routes)?;
        }
        let now = self.keeper.clock().now_utc();
        let asked = |names: &[String]| match &view {
            Some(view) => {
                let asked = conditions::asked(names, view, now).into_iter();
                let asked = asked.map(|one| conditions::with_left_out(one, view));
                asked.collect()
            }
            None => names
                .iter()
                .map(|name| conditions::asked_of_nobody(name))
                .collect(),
        };
        let routes = routes.into_values().map(|(route, _)| RouteInfo {
            needs: route.needs(),
            asked: asked(&route.ask),
            name: route.name,
            title: route.title,
            cautions: route.cautions,
            asks: route.ask,
            rounds: route.rounds,
            lists: route.lists,
        });
        Ok(RouteList {
            routes: routes.collect(),
        })
    }
}

impl Answers<StartRoute> for Desk {
    fn answer(&self, ask: StartRoute, _: Option<&str>) -> Result<RouteProgress, Refusal> {
        let station = self.station()?;
        let mut routes = self.shop.routes()?;
        let own = ask.text.as_deref();
        let own = own
            .map(|text| self.shop.read_route(text, &ask.route))
            .transpose()?;
        if let Some(own) = &own {
            routes.insert(own.0.name.clone(), own.clone());
        }
        let (view, _) = self.keeper.view(&ask.job)?;
        self.with_free_routes(&view, &mut routes)?;
        let (route, text) = named(&mut routes, &ask.route)?;
        let anew = ask.afresh || own.is_some();
        let chosen = !ask.cylinders.is_empty() || !ask.lists.is_empty() || ask.rounds.is_some();
        let begun = || mean_as_begun(&view, &route).filter(|_| !anew && !chosen);
        let mean_s = ask.mean_s.or_else(begun);
        let (route, text) = self.with_means_of(mean_s, route, text)?;
        let choices = RouteChoices {
            cylinders: ask.cylinders,
            lists: ask.lists,
            rounds: ask.rounds,
            units: None,
        };
        let (job, gauges, afresh) = (ask.job, ask.gauges, ask.afresh);
        let order = RouteOrder {
            by: by(&self.keeper, ask.by)?,
            job,
            route,
            text,
            choices,
            gauges,
            mean_s,
            afresh,
        };
        self.wait_for_ports()?;
        let begun = station.with(move |station| station.start_route(order))??;
        // Kept only now: a route that could not begin replaces none.
        if let Some((route, text)) = &own
            && let Err(error) = self.shop.keep_route(route, text)
        {
            tracing::error!(route = route.name, %error, "the route runs, and its text could not be kept");
        }
        Ok(begun)
    }
}

impl Desk {
    /// The route with means over so many seconds, where a person said how many.
    fn with_means_of(
        &self,
        seconds: Option<f64>,
        route: Route,
        text: String,
    ) -> Result<(Route, String), Refusal> {
        let Some(seconds) = seconds else {
            return Ok((route, text));
        };
        if !MEAN_S.contains(&seconds) {
            let (least, most) = (MEAN_S.start(), MEAN_S.end());
            return Err(
                bad(format!("a mean of {seconds} s")).expected(format!("{least} to {most} s"))
            );
        }
        let changed = with_means_of(seconds, &text, &route.name).map_err(|e| of_route(&e))?;
        match changed {
            Some(text) => self.shop.read_route(&text, &route.name),
            None => Err(bad(format!("the route {} takes no mean", route.name))),
        }
    }
}

/// The seconds of a mean with which the same route was begun, where it stands half-way.
fn mean_as_begun(view: &JobView, route: &Route) -> Option<f64> {
    let started = &view.route()?.started;
    started.mean_s.filter(|_| started.route == route.name)
}

/// The route of a name that may be given in the singular or the plural: `chamber` is `chambers`.
fn named<T>(routes: &mut BTreeMap<String, T>, said: &str) -> Result<T, Refusal> {
    let found = meant(said, routes.keys().map(String::as_str)).map(str::to_owned);
    let near = match found {
        Ok(name) => match routes.remove(&name) {
            Some(route) => return Ok(route),
            None => None,
        },
        Err(near) => near.map(str::to_owned),
    };
    let known = routes.keys().cloned().collect::<Vec<_>>().join(", ");
    let todo = match near {
        Some(near) => format!("did you mean {near}? or give one of your own with --route-file"),
        None => "or give one of your own with --route-file".to_owned(),
    };
    Err(
        Refusal::new(Reason::NotFound, format!("there is no route {said:?}"))
            .expected(format!("one of {known}"))
            .todo(todo),
    )
}

impl Answers<ControlRoute> for Desk {
    fn answer(&self, ask: ControlRoute, key: Option<&str>) -> Result<RouteProgress, Refusal> {
        let key = key.map(str::to_owned);
        self.station()?
            .with(move |station| station.control(&ask.job, &ask.control, key.as_deref()))?
    }
}

impl Desk {
    /// Puts the routes of the free spots that the job's engine file states among these. A route of
    /// the same name that is there already stays. Where the engine file cannot be used, there are
    /// none.
    fn with_free_routes(
        &self,
        view: &JobView,
        routes: &mut BTreeMap<String, (Route, String)>,
    ) -> Result<(), Refusal> {
        // An edit that is not loaded yet counts, where it can be used: a route that begins loads it.
        let edited = self.keeper.engine_on_disk(view.name()).ok();
        let edited = edited.and_then(|found| Engine::from_toml(&found.text).ok());
        let engine = match edited {
            Some(engine) => Arc::new(engine),
            None => match inputs::engine(view) {
                Ok(engine) => engine,
                Err(_) => return Ok(()),
            },
        };
        for (name, stated) in &engine.free {
            let text = free_route(name, stated);
            let route = Route::parse(&text, name).map_err(|e| of_route(&e))?;
            routes.entry(route.name.clone()).or_insert((route, text));
        }
        Ok(())
    }

    /// An unfinished route, as far as the journal tells.
    pub(super) fn standing(&self, view: &JobView) -> Result<Option<RouteProgress>, Refusal> {
        let Some(standing) = view.route() else {
            return Ok(None);
        };
        let name = &standing.started.route;
        let mut routes = self.shop.routes()?;
        self.with_free_routes(view, &mut routes)?;
        let title = routes
            .get(name)
            .map(|(r, _)| r.title.clone())
            .unwrap_or_default();
        let engine = told::engine(&self.keeper, view).ok();
        let mut seen = std::collections::BTreeMap::<&str, usize>::new();
        let stops: Vec<StopDone> = standing
            .started
            .stops
            .iter()
            .enumerate()
            .map(|(at, spot)| {
                let nth = seen.entry(spot).or_default();
                let live: Vec<_> = view
                    .at_spot(view.stage(), spot)
                    .filter(|r| r.state.is_live())
                    .collect();
                let reading = live.get(*nth).copied();
                *nth += 1;
                StopDone {
                    spot: spot.clone(),
                    round: u32::try_from(*nth).unwrap_or(u32::MAX),
                    state: match reading {
                        Some(_) => StopState::Taken,
                        None if standing.passed(at) => StopState::Skipped,
                        None => StopState::Left,
                    },
                    gauge: reading.and_then(|r| r.gauge.clone()).unwrap_or_default(),
                    kind: String::new(),
                    unit: String::new(),
                    counts: FigureRule::default(),
                    reading: reading.map(|r| r.id),
                    shown: reading
                        .map(|r| told::shown(engine.as_deref(), r))
                        .unwrap_or_default(),
                    means: String::new(),
                }
            })
            .collect();
        let became = stops.iter().map(|stop| match (stop.reading, stop.state) {
            (Some(id), _) => StopOutcome::Taken(id),
            (None, StopState::Skipped) => StopOutcome::Skipped,
            (None, _) => StopOutcome::Left,
        });
        let walk = RouteWalk::standing(became.collect(), standing.at());
        let at = walk.at();
        let begun_with = standing.started.gauges.iter();
        let gauges = begun_with.filter_map(|one| {
            let known = self.shop.gauge(&one.gauge).ok()?;
            Some((one.gauge.clone(), known.text))
        });
        let now = self.keeper.clock().now_utc();
        let text = routes.get(name).map(|(route, text)| {
            let begun = self.with_means_of(standing.started.mean_s, route.clone(), text.clone());
            begun.map_or_else(|_| text.clone(), |(_, text)| text)
        });
        let taken_up = taken_up(&RouteAtTakeUp {
            view,
            engine: engine.as_deref(),
            now,
            spots: standing.started.stops.clone(),
            became: walk.became(),
            next: at,
            gauges: gauges.collect(),
            route: text.as_ref().map(|text| (name.as_str(), text.as_str())),
        });
        Ok(Some(RouteProgress {
            job: view.name().to_owned(),
            route: name.clone(),
            title,
            running: false,
            done: at.is_none(),
            at,
            prompt: format!(
                "stands half-way; take it up with `benchhand measure {} {name}`",
                view.name()
            ),
            stops,
            asked: None,
            waiting: 0,
            so_far: String::new(),
            cautions: Vec::new(),
            asks: routes
                .get(name)
                .map(|(r, _)| crate::known::conditions::asked(&r.ask, view, now))
                .unwrap_or_default(),
            checks: Vec::new(),
            taken_up,
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_route_is_found_in_the_singular_and_a_slip_is_asked_about() {
        let routes = || {
            let shipped = crate::route::shipped();
            shipped.map(|(name, _)| (name.to_owned(), name)).collect()
        };
        let found = |said: &str| named(&mut routes(), said);
        for (said, name) in [
            ("chamber", "chambers"),
            ("Chambers", "chambers"),
            ("bore", "bores"),
            ("deck sides", "deck-sides"),
            ("valve gap", "valve-gaps"),
            ("deck", "deck"),
        ] {
            assert_eq!(found(said), Ok(name), "{said}");
        }
        let refused = found("chamebrs").unwrap_err().to_string();
        assert!(refused.contains("did you mean chambers?"), "{refused}");
        let refused = found("camshaft").unwrap_err().to_string();
        assert!(!refused.contains("did you mean"), "{refused}");
        assert!(refused.contains("deck-sides"), "{refused}");
    }
}
