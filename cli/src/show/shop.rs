//! How this station stands to its shop.

use benchhand_wire::ShopShown;

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
    text += &match (&shop.connected_since, &shop.fault, shop.waiting) {
        (Some(since), ..) => format!("Connected since {since}\n"),
        (None, Some(fault), _) => format!("NOT CONNECTED: {fault}\n"),
        (None, None, Some(_)) => "Not connected yet\n".to_owned(),
        (None, None, None) => "No daemon runs: nothing is exchanged\n".to_owned(),
    };
    text += &match (shop.waiting, shop.compared) {
        (Some(0), _) => "Nothing waits to be sent\n".to_owned(),
        (Some(waiting), true) => format!("{waiting} lines wait to be sent\n"),
        (Some(waiting), false) => format!("Up to {waiting} lines wait to be sent\n"),
        (None, _) => String::new(),
    };
    for station in &shop.stations {
        text += &format!("  {:<3} {}\n", station.letter, station.name);
    }
    if let Some(parted) = &shop.parted {
        text += &format!("! A new station: {parted}\n");
    }
    if shop.may_change {
        text += "! This role may change and delete rows. Give each station a role of its own \
                 (docs/shop.md).\n";
    }
    for trouble in &shop.troubles {
        let (job, station) = (start(&trouble.job), start(&trouble.station));
        text += &format!("! Job {job}, station {station}: {}\n", trouble.told);
    }
    text.trim_end().to_owned()
}

/// The first digits of an identity, enough to tell it from others.
fn start(identity: &str) -> &str {
    identity.get(..8).unwrap_or(identity)
}
