//! Requests about the shop that this station belongs to.

use benchhand_wire::{
    JoinShop, LeaveShop, PrepareShop, Reason, Refusal, RouteElsewhere, ShopLeft, ShopPrepared,
    ShopShown, ShowShop, StationRoute,
};

use super::{Answers, Desk};
use crate::joined::{JoinedShop, beside, prepare, show_at_rest};
use crate::store::view::JobView;

impl Desk {
    /// The exchange with the shop, which only a running daemon has.
    pub(super) fn joined(&self) -> Result<&JoinedShop, Refusal> {
        self.joined.get().map(AsRef::as_ref).ok_or_else(|| {
            let found = "the exchange with a shop needs a running daemon";
            Refusal::new(Reason::Unavailable, found).todo("start one with `benchhand serve`")
        })
    }
}

impl Desk {
    /// Routes of other stations of the shop on a job: what their journals say, and what goes on there
    /// now.
    pub(super) fn elsewhere(&self, view: &JobView) -> Vec<RouteElsewhere> {
        let begun = beside(view);
        if begun.is_empty() {
            return Vec::new();
        }
        // Where the shop cannot be asked, the journals still tell of the routes.
        let shop = self.ask(ShowShop {}).ok();
        let stations = shop.map(|shop| shop.stations).unwrap_or_default();
        let told = begun.into_iter().map(|other| {
            let station = stations.iter().find(|one| one.station == other.station.0);
            let now = station.and_then(|station| {
                let of_job = |one: &&StationRoute| one.known && one.job == view.name();
                station.routes.iter().find(of_job).cloned()
            });
            RouteElsewhere {
                station: station.map_or(other.label, |one| one.letter.clone()),
                name: station.map(|one| one.name.clone()).unwrap_or_default(),
                route: other.route,
                now,
            }
        });
        told.collect()
    }
}

impl Answers<PrepareShop> for Desk {
    fn answer(&self, ask: PrepareShop, _: Option<&str>) -> Result<ShopPrepared, Refusal> {
        prepare(&self.keeper, &ask)
    }
}

impl Answers<JoinShop> for Desk {
    fn answer(&self, ask: JoinShop, _: Option<&str>) -> Result<ShopShown, Refusal> {
        self.joined()?
            .join(&ask.url, ask.certificate.as_deref(), &ask.name)
    }
}

impl Answers<LeaveShop> for Desk {
    fn answer(&self, _: LeaveShop, _: Option<&str>) -> Result<ShopLeft, Refusal> {
        let left = self.joined()?.leave()?;
        Ok(ShopLeft { left })
    }
}

impl Answers<ShowShop> for Desk {
    fn answer(&self, _: ShowShop, _: Option<&str>) -> Result<ShopShown, Refusal> {
        match self.joined.get() {
            Some(joined) => joined.show(),
            None => show_at_rest(&self.keeper),
        }
    }
}
