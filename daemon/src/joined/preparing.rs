//! The tables of a shop, made by the role that owns its database: no station is registered by it.

use std::path::Path;

use benchhand_shop::{PasswordSource, ShopAddress, ShopPace, StationId};
use benchhand_wire::{PrepareShop, Reason, Refusal, ShopPrepared};
use tokio::runtime::{Builder, Handle};

use super::unusable;
use crate::known::keeper::Keeper;

/// Makes the tables or brings them up to date, and gives this data folder's station to another role
/// where that is asked for. It needs no running daemon.
///
/// # Errors
/// Where the shop cannot be used, or the role does not own it, and what to do.
pub(crate) fn prepare(keeper: &Keeper, ask: &PrepareShop) -> Result<ShopPrepared, Refusal> {
    let address = ShopAddress::parse(&ask.url, ask.certificate.as_deref().map(Path::new));
    let address = address.map_err(|e| Refusal::new(Reason::BadInput, e.to_string()))?;
    let station = match &ask.give_to {
        Some(_) => Some(own_station(keeper)?),
        None => None,
    };
    let give = station.as_ref().zip(ask.give_to.as_deref());
    let (passwords, pace) = (PasswordSource::of_environment(), ShopPace::default());
    let preparing = benchhand_shop::prepare(&address, &passwords, give, &pace);
    let done = match Handle::try_current() {
        Ok(runtime) => runtime.block_on(preparing),
        Err(_) => {
            let runtime = Builder::new_current_thread().enable_all().build();
            let runtime = runtime.map_err(|e| unusable(e.to_string()))?;
            runtime.block_on(preparing)
        }
    };
    let done = done.map_err(|e| unusable(e.to_string()))?;
    Ok(ShopPrepared {
        address: address.shown(),
        version: done.version,
        stations_group: done.stations_group,
        readers_group: done.readers_group,
        given_to: ask.give_to.clone(),
    })
}

/// The station that this data folder is.
fn own_station(keeper: &Keeper) -> Result<StationId, Refusal> {
    let card = keeper.station()?;
    let station = card.and_then(|card| StationId::parse(&card.station.0));
    station.ok_or_else(|| {
        let found = "this data folder is no station yet, so there is none to give";
        let todo = "leave --give-to out, and join with the role itself";
        Refusal::new(Reason::Conflict, found).todo(todo)
    })
}
