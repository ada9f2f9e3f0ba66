//! The shop of several stations: how this one stands to it, who is there, and what goes on there.

use std::collections::BTreeMap;

use benchhand_wire::{ShopShown, ShopStationShown, StationRoute};

use crate::spots::said as spot_said;

/// From how many seconds on a station's word is called old.
const OLD_S: u64 = 5;

/// Whether this station is connected, in one sentence, with what to do where it is not.
pub fn connection(shop: &ShopShown) -> String {
    match (&shop.connected_since, &shop.fault, shop.waiting) {
        (Some(since), ..) => format!("Connected since {}", crate::day_and_minute(since)),
        (None, Some(fault), _) => format!("NOT CONNECTED: {fault}"),
        (None, None, Some(_)) => "Not connected yet".to_owned(),
        (None, None, None) => "No daemon runs: nothing is exchanged".to_owned(),
    }
}

/// What is not sent and not fetched yet; empty where nobody knows.
pub fn waiting(shop: &ShopShown) -> String {
    let sent = match (shop.waiting, shop.compared) {
        (None, _) => return String::new(),
        (Some(0), _) => "Nothing waits to be sent".to_owned(),
        (Some(waiting), true) => format!("{} to be sent", lines(waiting)),
        (Some(waiting), false) => format!("Up to {} to be sent", lines(waiting)),
    };
    let unfetched: u64 = shop.stations.iter().map(|one| one.unfetched).sum();
    match unfetched {
        0 => sent,
        more => format!("{sent}; {} to be fetched", lines(more)),
    }
}

fn lines(count: u64) -> String {
    match count {
        1 => "1 line waits".to_owned(),
        count => format!("{count} lines wait"),
    }
}

/// What a person should look at, each with what to do.
pub fn notes(shop: &ShopShown) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some(parted) = &shop.parted {
        notes.push(format!("A new station: {parted}"));
    }
    if shop.may_change {
        notes.push(
            "This role may change and delete rows. Give each station a role of its own, and this \
             station to its role: benchhand shop prepare URL --give-to ROLE (docs/shop.md)"
                .to_owned(),
        );
    }
    if let Some(version) = shop.older_tables {
        notes.push(format!(
            "The shop's tables have version {version}, which is older than this program: readings \
             are exchanged, and what came with newer tables is left out. The role that owns the database \
             brings them up to date: benchhand shop prepare URL"
        ));
    }
    for trouble in &shop.troubles {
        let named = |one: &&ShopStationShown| one.station == trouble.station;
        let station = match shop.stations.iter().find(named) {
            Some(one) => one.letter.as_str(),
            None => start(&trouble.station),
        };
        let job = start(&trouble.job);
        notes.push(format!("Job {job}, station {station}: {}", trouble.told));
    }
    for station in shop.stations.iter().filter(|one| !one.here) {
        for wrong in &station.wrong {
            notes.push(format!("{} says: {wrong}", station_named(station)));
        }
    }
    notes
}

/// The shop in one line, for a page that is about something else.
pub fn in_short(shop: &ShopShown) -> String {
    let count = shop.stations.len();
    let stations = match count {
        0 => String::new(),
        1 => "1 station. ".to_owned(),
        count => format!("{count} stations. "),
    };
    let notes = match notes(shop).len() {
        0 => String::new(),
        1 => " 1 thing to look at.".to_owned(),
        count => format!(" {count} things to look at."),
    };
    let connection = connection(shop);
    let waiting = waiting(shop);
    let waiting = match waiting.is_empty() {
        true => waiting,
        false => format!(" {waiting}."),
    };
    format!("{stations}{connection}.{waiting}{notes}")
}

/// A station as people know it: `station B (flow room)`.
pub fn station_named(station: &ShopStationShown) -> String {
    named(&station.letter, &station.name)
}

/// The same of a letter and a name, of which either may be unknown.
pub fn named(letter: &str, name: &str) -> String {
    match (letter, name) {
        ("", _) => "another station".to_owned(),
        (letter, "") => format!("station {letter}"),
        (letter, name) => format!("station {letter} ({name})"),
    }
}

/// When a station was last heard.
pub fn heard(station: &ShopStationShown) -> String {
    match (station.here, station.heard_s) {
        (true, _) => "here".to_owned(),
        (false, None) => "not heard lately".to_owned(),
        (false, Some(seconds)) => ago(seconds),
    }
}

/// So many seconds ago, as people say it.
pub fn ago(seconds: u64) -> String {
    match seconds {
        0..=1 => "now".to_owned(),
        2..=119 => format!("{seconds} s ago"),
        120..=7199 => format!("{} min ago", seconds / 60),
        _ => format!("{} h ago", seconds / 3600),
    }
}

/// What a station has not sent, and what of it is not here, in words; empty where all is there.
pub fn behind(station: &ShopStationShown) -> String {
    let unsent = match station.waiting {
        Some(0) => String::new(),
        Some(count) => format!("{count} not sent yet"),
        None => "not known".to_owned(),
    };
    let unfetched = match station.unfetched {
        0 => String::new(),
        count => format!("{count} not fetched yet"),
    };
    let both = [unsent, unfetched];
    let told: Vec<&str> = both
        .iter()
        .map(String::as_str)
        .filter(|one| !one.is_empty())
        .collect();
    match told.is_empty() {
        true => "all there".to_owned(),
        false => told.join(", "),
    }
}

/// What goes on in a route now: where it stands, what the gauge shows, what is asked.
pub fn route(route: &StationRoute) -> String {
    let mut text = match &route.spot {
        Some(spot) => format!("{}, {} of {} done", spot_said(spot), route.done, route.of),
        None => format!("all {} done", route.of),
    };
    if !route.shown.is_empty() {
        let holds = if route.holds { ", holds still" } else { "" };
        text += &format!(": {}{holds}", route.shown);
    }
    if !route.asks.is_empty() {
        text += &format!(". Asks: {}", route.asks);
    }
    if route.said_s >= OLD_S {
        text += &format!(" ({})", ago(route.said_s));
    }
    text
}

/// That a route of another station, which is named so, goes on on the same job.
pub fn measured_too(route: &str, station: &str) -> String {
    format!(
        "{route} is measured on this job at {station} too: the same spot measured at two stations is \
         two set-ups"
    )
}

/// The routes that run on a job now, each with its station; empty where none does.
pub fn measured_at(shop: &ShopShown, job: &str) -> String {
    let routes = shop.stations.iter().flat_map(|station| {
        let own = station.routes.iter().filter(|route| route.known);
        own.map(move |route| (station, route))
    });
    let of_job = routes.filter(|(_, route)| route.job == job);
    let named = of_job.map(|(station, route)| format!("{} at {}", route.route, station.letter));
    named.collect::<Vec<_>>().join(", ")
}

/// The jobs on which several routes run at once, each in a sentence that says at which stations.
pub fn measured_together(shop: &ShopShown) -> Vec<String> {
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    for route in shop.stations.iter().flat_map(|station| &station.routes) {
        if route.known {
            *count.entry(&route.job).or_default() += 1;
        }
    }
    let several = count.into_iter().filter(|(_, count)| *count > 1);
    let told = several.map(|(job, _)| {
        format!(
            "Several routes run on job {job}: {}. The same spot measured at two stations is two \
             set-ups",
            measured_at(shop, job)
        )
    });
    told.collect()
}

/// The first digits of an identity, enough to tell it from others.
fn start(identity: &str) -> &str {
    identity.get(..8).unwrap_or(identity)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measuring() -> StationRoute {
        StationRoute {
            job: "v8".to_owned(),
            known: true,
            route: "chambers".to_owned(),
            title: "chambers".to_owned(),
            spot: Some("chamber/3".to_owned()),
            done: 2,
            of: 8,
            shown: "64.20 cc".to_owned(),
            holds: true,
            asks: String::new(),
            said_s: 0,
        }
    }

    #[test]
    fn a_route_says_its_stop_its_value_and_how_old_that_is() {
        let now = measuring();
        assert_eq!(route(&now), "chamber 3, 2 of 8 done: 64.20 cc, holds still");
        let old = StationRoute {
            said_s: 12,
            holds: false,
            asks: "one pour or two?".to_owned(),
            ..now
        };
        assert_eq!(
            route(&old),
            "chamber 3, 2 of 8 done: 64.20 cc. Asks: one pour or two? (12 s ago)"
        );
    }

    #[test]
    fn a_station_says_what_it_has_not_sent_and_what_is_not_here() {
        let station = ShopStationShown {
            station: "b".repeat(32),
            letter: "B".to_owned(),
            name: "flow room".to_owned(),
            here: false,
            heard_s: Some(125),
            waiting: Some(3),
            unfetched: 2,
            wrong: Vec::new(),
            routes: Vec::new(),
        };
        assert_eq!(behind(&station), "3 not sent yet, 2 not fetched yet");
        assert_eq!(heard(&station), "2 min ago");
        assert_eq!(station_named(&station), "station B (flow room)");
    }
}
