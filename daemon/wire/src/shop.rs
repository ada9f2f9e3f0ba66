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

/// Makes the tables of a shop, or brings them up to date, as the role that owns its database. No station
/// is registered by it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PrepareShop {
    /// `postgresql://ROLE@HOST/DATABASE`; one with a password in it is refused.
    pub url: String,
    /// A file of certificates (PEM) that are believed in place of the platform's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub certificate: Option<String>,
    /// The role that is to connect as this data folder's station from now on, where another one
    /// registered it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub give_to: Option<String>,
}

/// The tables are there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShopPrepared {
    /// Database, host and role in words.
    pub address: String,
    /// The version of the tables.
    pub version: i32,
    /// The group that a station's role must be a member of.
    pub stations_group: String,
    /// The group of roles that only read.
    pub readers_group: String,
    /// The role that this data folder's station was given to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub given_to: Option<String>,
}

impl Ask for PrepareShop {
    const PATH: &'static str = "shop/prepare";
    const CARRY: Carry = Carry::Change;
    type Answer = ShopPrepared;
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
    /// The version of the shop's tables, where it is older than this program's: lines are exchanged,
    /// and what came with newer tables is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub older_tables: Option<i32>,
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
    /// Whether it is this one.
    #[serde(default)]
    pub here: bool,
    /// How many seconds ago it was last heard; absent where it was not, and for this one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heard_s: Option<u64>,
    /// How many of its own lines it had not sent then; absent where it was not heard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub waiting: Option<u64>,
    /// How many of its lines the shop holds that are not here yet.
    #[serde(default)]
    pub unfetched: u64,
    /// What it says is wrong there.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub wrong: Vec<String>,
    /// The routes that run there; those of a station that was not heard for a minute are left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub routes: Vec<StationRoute>,
}

/// A route that runs at a station of the shop, as it said last.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StationRoute {
    /// The job's name here; the first digits of its identity where it is not here yet.
    pub job: String,
    /// Whether the job is here.
    pub known: bool,
    /// The route.
    pub route: String,
    /// What it measures.
    pub title: String,
    /// The spot of its stop; absent once all are done.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spot: Option<String>,
    /// How many of its stops are done.
    pub done: u32,
    /// How many stops it has.
    pub of: u32,
    /// What the gauge of the stop shows, e.g. `64.20 cc`; empty where nothing.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub shown: String,
    /// Whether that value holds still.
    #[serde(default)]
    pub holds: bool,
    /// What the person there is asked; empty where nothing.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub asks: String,
    /// How many seconds ago it was said; 0 for this station's own.
    pub said_s: u64,
}

/// A route that another station of the shop began on a job and did not end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RouteElsewhere {
    /// Short for the station: A, B, C …
    pub station: String,
    /// What people call it; empty where that is not known here.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// The route, by its name.
    pub route: String,
    /// What goes on there now, where it was heard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub now: Option<StationRoute>,
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
