//! The shop: several stations with one common record.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Joins the shop whose record lies at a URL.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct JoinShop {
    /// `postgresql://ROLE@HOST/DATABASE`; one with a password in it is refused.
    pub url: String,
    /// A file of certificates (PEM) that are believed in place of the platform's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub certificate: Option<String>,
    /// What people call this station.
    pub name: String,
}

impl Ask for JoinShop {
    const PATH: &'static str = "shop/join";
    const CARRY: Carry = Carry::Change;
    type Answer = ShopShown;
}

/// Leaves the shop. Everything that is here stays here.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LeaveShop {}

/// The shop was left.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShopLeft {
    /// The shop that was left, in words; `null` where this station belonged to none.
    pub left: Option<String>,
}

impl Ask for LeaveShop {
    const PATH: &'static str = "shop/leave";
    const CARRY: Carry = Carry::Change;
    type Answer = ShopLeft;
}

/// Asks how this station stands to its shop.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ShowShop {}

impl Ask for ShowShop {
    const PATH: &'static str = "shop";
    const CARRY: Carry = Carry::Question;
    type Answer = ShopShown;
}

/// How this station stands to its shop.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShopShown {
    /// Database, host and role in words; `null` where this station belongs to no shop.
    pub address: Option<String>,
    /// What people call this station.
    pub name: Option<String>,
    /// This station's number; `null` where it never joined a shop.
    pub station: Option<String>,
    /// Short for this station, unique in the shop: A, B, C …
    pub letter: Option<String>,
    /// Since when it is connected, RFC 3339; `null` while it is not.
    pub connected_since: Option<String>,
    /// How many lines of its own journals the shop is not known to hold; `null` where no daemon runs.
    pub waiting: Option<u64>,
    /// Whether the shop was asked since the daemon started. Before that `waiting` is all there is.
    pub compared: bool,
    /// How many lines were sent since the daemon started.
    pub sent: u64,
    /// How many lines of other stations were taken in since the daemon started.
    pub taken_in: u64,
    /// Why it is not connected, and what to do.
    pub fault: Option<String>,
    /// That this data folder became a new station since another machine goes on as the one that it
    /// was, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub parted: Option<String>,
    /// Whether its role may change or delete rows, which a station needs not.
    pub may_change: bool,
    /// The stations of the shop, in the order in which they joined.
    pub stations: Vec<ShopStationShown>,
    /// Journals that are not exchanged as they should be, and lines that were changed in the database.
    pub troubles: Vec<ShopTrouble>,
}

/// A station of the shop.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShopStationShown {
    /// Its number.
    pub station: String,
    /// Short for it, unique in the shop.
    pub letter: String,
    /// What people call it.
    pub name: String,
}

/// A journal that is not exchanged as it should be.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShopTrouble {
    /// The job, by the hash of its opening line.
    pub job: String,
    /// The station that writes the journal.
    pub station: String,
    /// What is wrong, and what becomes of it.
    pub told: String,
}
