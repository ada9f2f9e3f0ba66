//! How the station stands to the shop, to be shown.

use std::collections::BTreeMap;
use std::time::SystemTime;

use crate::fault::ShopFault;
use crate::record::{JobId, StationId};
use crate::rows::ShopStation;
use crate::said::StationSaid;
use crate::schema::ShopRights;

/// A journal that cannot be exchanged as it should, or a line that was changed in the database.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JournalTrouble {
    /// The job.
    pub job: JobId,
    /// The station that writes the journal.
    pub station: StationId,
    /// What is wrong, and what becomes of it.
    pub words: String,
}

/// How the station stands to the shop.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ShopState {
    /// This station.
    pub station: Option<StationId>,
    /// Since when it is connected; `None` while it is not.
    pub connected_since: Option<SystemTime>,
    /// How many of its own lines the shop is not known to hold. Before the first connection since the
    /// program started that is all of them, since nobody has asked.
    pub waiting: u64,
    /// Whether the heads of all journals have been compared since the program started: before that
    /// `waiting` is a guess upwards.
    pub compared: bool,
    /// How many lines were sent since the program started.
    pub sent: u64,
    /// How many lines of other stations were taken in since the program started.
    pub taken_in: u64,
    /// Why it is not connected.
    pub fault: Option<ShopFault>,
    /// Journals that are not exchanged as they should be.
    pub troubles: Vec<JournalTrouble>,
    /// That this station became another one, and why.
    pub parted: Option<String>,
    /// What the role may do beyond what a station needs.
    pub rights: ShopRights,
    /// The version of the tables, where it is an older one than this program's: lines are exchanged,
    /// and what came with newer ones is left out.
    pub older_tables: Option<i32>,
    /// How many lines of other stations the shop held at the last comparison that are not here yet.
    pub unfetched: BTreeMap<StationId, u64>,
    /// What each station said of itself last.
    pub said: Vec<StationSaid>,
    /// The stations of the shop, in the order in which they joined.
    pub stations: Vec<ShopStation>,
}
