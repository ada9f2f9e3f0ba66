//! How a station stands to its shop, as the API shows it.

use benchhand_shop::{ShopState, ShopStation};
use benchhand_wire::{ShopShown, ShopStationShown, ShopTrouble, StationRoute};

use super::live;
use super::setting::ShopSetting;
use crate::store::station::StationCard;

/// What is known beside the state of the exchange.
pub(super) struct Beside<'a> {
    /// This station's own routes.
    pub routes: Vec<StationRoute>,
    /// A job's name here, by its identity.
    pub name_of: &'a dyn Fn(&str) -> Option<String>,
}

/// Puts together what is known.
pub(super) fn shown(
    setting: Option<&ShopSetting>,
    card: Option<&StationCard>,
    state: Option<&ShopState>,
    beside: &Beside<'_>,
) -> ShopShown {
    let address = setting.map(|setting| match setting.address() {
        Ok(address) => address.shown(),
        Err(fault) => fault.to_string(),
    });
    let nothing = ShopState::default();
    let of = state.unwrap_or(&nothing);
    let since = of
        .connected_since
        .and_then(|at| jiff::Timestamp::try_from(at).ok());
    let here = card.map(|card| card.station.0.as_str());
    let stations = of.stations.iter().map(|one| station(one, of, here, beside));
    let troubles = of.troubles.iter().map(|trouble| ShopTrouble {
        job: trouble.job.to_string(),
        station: trouble.station.to_string(),
        told: trouble.words.clone(),
    });
    let was = card.and_then(|card| card.was.last());
    let parted = was.map(|was| {
        format!(
            "this data folder was the station {was} until another machine wrote under its name too; \
             what this machine alone kept counts as this station's. Look whether two machines run \
             from copies of one data folder"
        )
    });
    ShopShown {
        address,
        name: setting.map(|setting| setting.name.clone()),
        station: card.map(|card| card.station.to_string()),
        letter: card.and_then(|card| card.letter.clone()),
        connected_since: since.map(|at| format!("{at:.0}")),
        waiting: state.map(|state| state.waiting),
        compared: of.compared,
        sent: of.sent,
        taken_in: of.taken_in,
        fault: of.fault.as_ref().map(ToString::to_string),
        parted,
        may_change: of.rights.may_change,
        older_tables: of.older_tables,
        stations: stations.collect(),
        troubles: troubles.collect(),
    }
}

/// One station, with what it said of itself last.
fn station(
    one: &ShopStation,
    of: &ShopState,
    here: Option<&str>,
    beside: &Beside<'_>,
) -> ShopStationShown {
    let is_here = here == Some(one.station.as_str());
    let said = of.said.iter().find(|said| said.station == one.station);
    let (heard_s, waiting, routes) = match is_here {
        true => (None, Some(of.waiting), beside.routes.clone()),
        false => (
            said.map(|said| said.said.elapsed().as_secs()),
            said.map(|said| said.waiting),
            said.map(|said| live::routes(said, beside.name_of))
                .unwrap_or_default(),
        ),
    };
    let wrong = said.filter(|_| !is_here).map(|said| said.wrong.lines());
    ShopStationShown {
        station: one.station.to_string(),
        letter: one.letter.clone(),
        name: one.name.clone(),
        here: is_here,
        heard_s,
        waiting,
        unfetched: of.unfetched.get(&one.station).copied().unwrap_or_default(),
        wrong: wrong
            .map(|lines| lines.map(str::to_owned).collect())
            .unwrap_or_default(),
        routes,
    }
}
