//! Requests about the shop that this station belongs to.

use benchhand_wire::{JoinShop, LeaveShop, Reason, Refusal, ShopLeft, ShopShown, ShowShop};

use super::{Answers, Desk};
use crate::joined::{JoinedShop, show_at_rest};

impl Desk {
    /// The exchange with the shop, which only a running daemon has.
    fn joined(&self) -> Result<&JoinedShop, Refusal> {
        self.joined.get().map(AsRef::as_ref).ok_or_else(|| {
            let found = "the exchange with a shop needs a running daemon";
            Refusal::new(Reason::Unavailable, found).todo("start one with `benchhand serve`")
        })
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
