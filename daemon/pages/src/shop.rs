//! The shop of several stations: who is there, what goes on now, and the jobs of all.

use askama::Template;
use benchhand_wire::{JobList, JobSummary, ShopShown, ShopStationShown, StationRoute};
use benchhand_words::shop as words;

use crate::{Page, PageFrame, address};

#[derive(Template)]
#[template(path = "shop.html")]
struct ShopPage<'a> {
    frame: &'a PageFrame,
    shop: &'a ShopShown,
    jobs: &'a [JobSummary],
}

/// A route with the station that runs it.
struct RouteNow<'a> {
    station: &'a ShopStationShown,
    route: &'a StationRoute,
}

/// The stations of the shop, what is measured at each now, and every job. The jobs are those of this
/// data folder, which are all of the shop's once they were fetched.
///
/// # Errors
/// A fault of the template.
pub fn shop(frame: &PageFrame, shop: &ShopShown, list: &JobList) -> Page {
    ShopPage {
        frame,
        shop,
        jobs: &list.jobs,
    }
    .render()
}

impl ShopPage<'_> {
    fn routes(&self) -> Vec<RouteNow<'_>> {
        let of = |station| move |route| RouteNow { station, route };
        let stations = self.shop.stations.iter();
        stations
            .flat_map(|station| station.routes.iter().map(of(station)))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::PageSection;

    fn frame() -> PageFrame {
        PageFrame {
            title: "The shop".to_owned(),
            section: PageSection::Jobs,
            job: None,
            told: None,
            at_the_machine: true,
        }
    }

    fn station(letter: &str, name: &str) -> ShopStationShown {
        ShopStationShown {
            station: letter.to_lowercase().repeat(32),
            letter: letter.to_owned(),
            name: name.to_owned(),
            here: letter == "A",
            heard_s: (letter != "A").then_some(1),
            waiting: Some(0),
            unfetched: 0,
            wrong: Vec::new(),
            routes: Vec::new(),
        }
    }

    fn measuring(job: &str, route: &str) -> StationRoute {
        StationRoute {
            job: job.to_owned(),
            known: true,
            route: route.to_owned(),
            title: route.to_owned(),
            spot: Some("chamber/3".to_owned()),
            done: 2,
            of: 8,
            shown: "64.20 cc".to_owned(),
            holds: true,
            asks: "is it <one> pour?".to_owned(),
            said_s: 12,
        }
    }

    fn job(name: &str) -> JobSummary {
        JobSummary {
            name: name.to_owned(),
            engine: "an invented engine".to_owned(),
            opened: "2026-03-02T09:14:05Z".to_owned(),
            changed: "2026-03-02T10:00:00Z".to_owned(),
            stage: "as received".to_owned(),
            readings: 3,
            folder: String::new(),
            lacks: Vec::new(),
            damage: None,
        }
    }

    #[test]
    fn the_page_says_who_measures_what_and_what_is_wrong() {
        let mut flow = station("B", "flow room");
        flow.routes = vec![measuring("v8", "flow")];
        flow.wrong = vec!["line 7 was changed".to_owned()];
        flow.waiting = Some(4);
        let mut here = station("A", "deck stand");
        here.routes = vec![measuring("v8", "deck")];
        let shop_shown = ShopShown {
            address: Some("shop on server as deck_stand".to_owned()),
            name: Some("deck stand".to_owned()),
            station: Some("a".repeat(32)),
            letter: Some("A".to_owned()),
            connected_since: Some("2026-03-02T09:14:05Z".to_owned()),
            waiting: Some(0),
            compared: true,
            sent: 4,
            taken_in: 2,
            fault: None,
            may_change: false,
            older_tables: None,
            parted: None,
            stations: vec![here, flow],
            troubles: Vec::new(),
        };
        let list = JobList {
            jobs: vec![job("v8"), job("twin")],
            unreadable: Vec::new(),
        };
        let page = shop(&frame(), &shop_shown, &list).expect("a page");
        for expected in [
            "flow room",
            "4 not sent yet",
            "chamber 3, 2 of 8 done: 64.20 cc, holds still",
            "12 s ago",
            "line 7 was changed",
            "Several routes run on job v8: deck at A, flow at B",
            "/jobs/twin/report",
        ] {
            assert!(page.contains(expected), "{expected}\n{page}");
        }
        assert!(!page.contains("<one>"), "a question is text, no HTML");
    }
}
