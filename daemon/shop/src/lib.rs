//! The transport between a station's journals and the shop's common record on PostgreSQL.
//!
//! A line of a journal is text here, with its place, its hash and the hash before it. What facts say,
//! how jobs are stored and how figures come about is not known. Nothing here is waited for by whoever
//! keeps a reading: [`ShopLink`] is one task beside the record, and its state can be shown.

#![cfg_attr(test, allow(clippy::unwrap_used))]

mod address;
mod connecting;
mod exchange;
mod fault;
mod introducing;
mod kept;
mod line;
mod link;
mod pace;
mod password;
mod pieces;
mod record;
mod rows;
mod said;
mod schema;
mod state;
mod version;

pub use address::{AddressFault, ShopAddress};
pub use fault::ShopFault;
pub use introducing::{PreparedShop, ShopIntroduction, introduce, prepare};
pub use line::{JournalLine, UnsoundLine};
pub use link::ShopLink;
pub use pace::ShopPace;
pub use password::PasswordSource;
pub use pieces::{PIECE_MOST, PieceAnswer};
pub use record::{JobId, JournalHead, PieceAbout, PieceKey, RecordFault, StationId, StationRecord};
pub use rows::ShopStation;
pub use said::{ROUTES_MOST, StationSaid};
pub use schema::ShopRights;
pub use state::{JournalTrouble, ShopState};
pub use version::SCHEMA;
