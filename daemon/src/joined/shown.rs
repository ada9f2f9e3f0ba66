//! How a station stands to its shop, as the API shows it.

use benchhand_shop::ShopState;
use benchhand_wire::{ShopShown, ShopStationShown, ShopTrouble};

use super::setting::ShopSetting;
use crate::store::station::StationCard;

/// Puts together what is known.
pub(super) fn shown(
    setting: Option<&ShopSetting>,
    card: Option<&StationCard>,
    state: Option<&ShopState>,
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
    let stations = of.stations.iter().map(|station| ShopStationShown {
        station: station.station.to_string(),
        letter: station.letter.clone(),
        name: station.name.clone(),
    });
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
        stations: stations.collect(),
        troubles: troubles.collect(),
    }
}
