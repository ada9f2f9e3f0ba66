//! Routes of other stations on a job that is measured here too: what the journals say of them, and
//! which of them the person at this station was told of.

use std::collections::BTreeSet;

use benchhand_wire::{Event, SaidAs};
use benchhand_words::shop::{measured_too, named};

use crate::live::Hub;
use crate::store::part::StationPart;
use crate::store::station::StationId;
use crate::store::view::JobView;

/// A route that another station began on a job and did not end.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct RouteBeside {
    /// The job's name here.
    pub job: String,
    /// The number of the fact that began the route.
    pub begun: u64,
    /// The station.
    pub station: StationId,
    /// Its letter, or some digits of its identity.
    pub label: String,
    /// The route, by its name.
    pub route: String,
}

/// The routes of other stations on a job, by their journals.
pub(crate) fn beside(view: &JobView) -> Vec<RouteBeside> {
    let own = view.own().station();
    let others = view.parts().filter(|part| part.station() != own);
    let begun = |part: &StationPart| {
        let route = part.route()?;
        Some(RouteBeside {
            job: view.name().to_owned(),
            begun: route.seq,
            station: part.station()?.clone(),
            label: part.label().to_owned(),
            route: route.started.route.clone(),
        })
    };
    others.filter_map(begun).collect()
}

/// What a person was told of.
#[derive(Debug, Default)]
pub(super) struct RoutesTold(BTreeSet<RouteBeside>);

impl RoutesTold {
    /// Tells of the routes that began since. `now` are those on the jobs that are measured here, and
    /// `names_of` knows the letter and the name of a station.
    pub fn tell(
        &mut self,
        hub: &Hub,
        now: Vec<RouteBeside>,
        names_of: impl Fn(&StationId) -> Option<(String, String)>,
    ) {
        let now: BTreeSet<RouteBeside> = now.into_iter().collect();
        for one in now.difference(&self.0) {
            let station = match names_of(&one.station) {
                Some((letter, name)) => named(&letter, &name),
                None => named(&one.label, ""),
            };
            hub.announce(Event::Say {
                job: Some(one.job.clone()),
                said_as: SaidAs::Note,
                text: measured_too(&one.route, &station),
            });
        }
        self.0 = now;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(begun: u64) -> RouteBeside {
        RouteBeside {
            job: "v8".to_owned(),
            begun,
            station: StationId("b".repeat(32)),
            label: "B".to_owned(),
            route: "chambers".to_owned(),
        }
    }

    fn told(hub: &Hub) -> Vec<String> {
        let said = |announced: &benchhand_wire::Announced| match &announced.event {
            Event::Say { text, .. } => Some(text.clone()),
            _ => None,
        };
        hub.watch(Some(0))
            .caught_up
            .iter()
            .filter_map(said)
            .collect()
    }

    #[test]
    fn each_route_is_told_once_while_it_runs() {
        let (hub, mut routes) = (Hub::default(), RoutesTold::default());
        let flow = |_: &StationId| Some(("B".to_owned(), "flow room".to_owned()));
        routes.tell(&hub, vec![one(4)], flow);
        routes.tell(&hub, vec![one(4)], flow);
        let at_b = "chambers is measured on this job at station B (flow room) too: the same spot \
                    measured at two stations is two set-ups";
        assert_eq!(told(&hub), [at_b]);
        // It ended, and began again; the shop's list of stations is not there.
        routes.tell(&hub, Vec::new(), flow);
        routes.tell(&hub, vec![one(9)], |_| None);
        let last = "chambers is measured on this job at station B too: the same spot measured at two \
                    stations is two set-ups";
        assert_eq!(told(&hub), [at_b, last]);
    }
}
