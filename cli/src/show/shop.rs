//! How this station stands to its shop.

use benchhand_wire::{ShopPrepared, ShopShown};
use benchhand_words::shop as words;

/// The shop, line by line.
pub(crate) fn shown(shop: &ShopShown) -> String {
    let Some(address) = &shop.address else {
        return "This station belongs to no shop. Join one: benchhand shop join \
                postgresql://ROLE@HOST/DATABASE"
            .to_owned();
    };
    let letter = shop.letter.as_deref().unwrap_or("no letter yet");
    let name = shop.name.as_deref().unwrap_or_default();
    let mut text = format!("Shop: {address}\nThis station: {letter}, {name}\n");
    for line in [words::connection(shop), words::waiting(shop)] {
        if !line.is_empty() {
            text += &format!("{line}\n");
        }
    }
    for station in &shop.stations {
        let (heard, behind) = (words::heard(station), words::behind(station));
        text += &format!(
            "  {:<3} {}: {heard}, {behind}\n",
            station.letter, station.name
        );
        for route in &station.routes {
            let now = words::route(route);
            text += &format!("      {} of job {}: {now}\n", route.route, route.job);
        }
    }
    for told in words::measured_together(shop) {
        text += &format!("! {told}\n");
    }
    for note in words::notes(shop) {
        text += &format!("! {note}\n");
    }
    text.trim_end().to_owned()
}

/// The tables that were made, and what to do next.
pub(crate) fn prepared(shop: &ShopPrepared) -> String {
    let mut text = format!(
        "The tables are there, version {}: {}\n",
        shop.version, shop.address
    );
    match &shop.given_to {
        Some(role) => text += &format!("This station connects as {role} from now on.\n"),
        None => {
            let (stations, readers) = (&shop.stations_group, &shop.readers_group);
            text += &format!(
                "Next, give each station a role of its own, on the server:\n  \
                 create role STATION login password '…' in role {stations};\n\
                 and whoever only reads one in {readers}.\n"
            );
        }
    }
    text.trim_end().to_owned()
}
