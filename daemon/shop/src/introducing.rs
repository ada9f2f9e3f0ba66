//! The first connection of a station: whether the shop can be used, and by which letter it goes there.

use crate::address::ShopAddress;
use crate::connecting::ShopConnection;
use crate::fault::ShopFault;
use crate::pace::ShopPace;
use crate::password::PasswordSource;
use crate::record::StationId;
use crate::rows::{ShopRows, ShopStation};
use crate::schema::{self, ShopRights};

/// What a station finds at its shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShopIntroduction {
    /// Short for this station, unique in the shop: A, B, C …
    pub letter: String,
    /// What its role may do beyond what a station needs.
    pub rights: ShopRights,
    /// All stations, this one among them, in the order in which they joined.
    pub stations: Vec<ShopStation>,
}

/// Connects once: makes the tables where they are missing and the role may, and puts the station into
/// the list. A station that is listed already keeps its letter.
///
/// # Errors
/// Where the shop cannot be used, and what to do.
pub async fn introduce(
    at: &ShopAddress,
    passwords: &PasswordSource,
    station: &StationId,
    name: &str,
    pace: &ShopPace,
) -> Result<ShopIntroduction, ShopFault> {
    let connection = ShopConnection::open(at, passwords, pace).await?;
    let rights = schema::prepare(&connection.client, at).await?;
    let rows = ShopRows::new(&connection.client, at, pace).await?;
    let letter = rows.register(station, name).await?;
    let stations = rows.stations().await?;
    Ok(ShopIntroduction {
        letter,
        rights,
        stations,
    })
}
