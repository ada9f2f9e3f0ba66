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

/// What the owner's role finds or made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PreparedShop {
    /// The version of the tables.
    pub version: i32,
    /// The group that a station's role must be a member of.
    pub stations_group: String,
    /// The group of roles that only read.
    pub readers_group: String,
}

/// Connects once as the role that owns the database: makes the tables or brings them up to date, and
/// registers no station. Where `give` names a station and a role, that role is the one which connects
/// as this station from now on.
///
/// # Errors
/// Where the shop cannot be used, or the role may not do it, and what to do.
pub async fn prepare(
    at: &ShopAddress,
    passwords: &PasswordSource,
    give: Option<(&StationId, &str)>,
    pace: &ShopPace,
) -> Result<PreparedShop, ShopFault> {
    let connection = ShopConnection::open(at, passwords, pace).await?;
    let tables = schema::prepare(&connection.client, at).await?;
    if !tables.rights.may_change {
        return Err(ShopFault::NotTheOwner(at.role().to_owned()));
    }
    if let Some((station, role)) = give {
        let rows = ShopRows::new(&connection.client, at, pace).await?;
        rows.give(station, role).await?;
    }
    let group = |of: &str| format!("{}_{of}", at.database());
    Ok(PreparedShop {
        version: tables.version,
        stations_group: group("station"),
        readers_group: group("reader"),
    })
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
    let rights = schema::prepare(&connection.client, at).await?.rights;
    let rows = ShopRows::new(&connection.client, at, pace).await?;
    let letter = rows.register(station, name).await?;
    let stations = rows.stations().await?;
    Ok(ShopIntroduction {
        letter,
        rights,
        stations,
    })
}
