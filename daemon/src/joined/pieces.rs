//! Pieces: what a station recorded about one reading. This station asks other stations for the
//! pieces that it needs, and makes those that they ask for.

use std::sync::{Arc, OnceLock};

use benchhand_shop::{JobId, PieceAbout, PieceKey, ShopState, ShopStation};
use benchhand_wire::Refusal;
use benchhand_words::shop::{ago, named};

use super::{JoinedShop, locked};

/// After how many seconds without a word a station counts as away.
const AWAY_S: u64 = 90;

/// Makes the piece about an own reading: of the job of that name, by its number in the own journal, and
/// what is asked about it.
type Maker = dyn Fn(&str, u64, &PieceAbout) -> Result<Vec<u8>, Refusal> + Send + Sync;

/// Who makes pieces; empty before anybody does.
#[derive(Clone, Default)]
pub(crate) struct PieceMaker(Arc<OnceLock<Box<Maker>>>);

impl PieceMaker {
    /// The piece about an own reading; `None` where nobody makes pieces yet.
    pub fn make(
        &self,
        job: &str,
        seq: u64,
        about: &PieceAbout,
    ) -> Option<Result<Vec<u8>, Refusal>> {
        self.0.get().map(|make| make(job, seq, about))
    }
}

/// A piece that was wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum WantedPiece {
    /// It is here.
    Here(Vec<u8>),
    /// Why it is not, and what to do, for people.
    Away {
        /// In a sentence of its own.
        why: String,
        /// Whether its holder is there and was asked, so that it comes in a moment.
        awaited: bool,
    },
}

impl WantedPiece {
    fn away(why: String) -> Self {
        let awaited = false;
        Self::Away { why, awaited }
    }
}

impl JoinedShop {
    /// Hands over who makes pieces.
    pub(crate) fn makes_pieces(
        &self,
        make: impl Fn(&str, u64, &PieceAbout) -> Result<Vec<u8>, Refusal> + Send + Sync + 'static,
    ) {
        // A daemon has one maker of pieces, so this never finds another.
        let _ = self.maker.0.set(Box::new(make));
    }

    /// What a station's recorded streams tell about a reading of its own, by its number in that
    /// station's journal. If the piece is not here, it is asked for, and nothing waits for it.
    ///
    /// # Errors
    /// Where the job's identity cannot be read.
    pub(crate) fn piece(
        &self,
        holder: &str,
        job: &str,
        seq: u64,
        about: PieceAbout,
    ) -> Result<WantedPiece, Refusal> {
        let Some(state) = self.state() else {
            return Ok(WantedPiece::away(lies_at("", "", "no shop is joined")));
        };
        let mut stations = state.stations.iter();
        let station = stations.find(|one| one.station.as_str() == holder);
        let job = self.keeper.job_identity(job)?;
        let id = job.and_then(|job| JobId::parse(&job.0));
        let (Some(station), Some(job)) = (station, id) else {
            let why = "that station is not known here yet";
            return Ok(WantedPiece::away(lies_at("", "", why)));
        };
        let key = PieceKey {
            holder: station.station.clone(),
            job,
            seq,
            about,
        };
        let came = locked(&self.running)
            .as_ref()
            .and_then(|running| running.link.want_piece(&key));
        Ok(match came {
            Some(Ok(piece)) => WantedPiece::Here(piece),
            Some(Err(why)) => {
                let who = named(&station.letter, &station.name);
                let why = format!("What was recorded lies at {who}, which says: {why}");
                WantedPiece::away(why)
            }
            None => waiting(&state, station),
        })
    }
}

fn lies_at(letter: &str, name: &str, why: &str) -> String {
    let who = named(letter, name);
    format!("What was recorded lies at {who}: {why}")
}

/// Why a piece that was asked for is not here.
fn waiting(state: &ShopState, station: &ShopStation) -> WantedPiece {
    let said = state.said.iter().find(|one| one.station == station.station);
    let heard = said.map(|said| said.said.elapsed().as_secs());
    let why = match (state.connected_since, state.older_tables, heard) {
        (None, ..) => "the shop is not connected now; it is asked for when it is".to_owned(),
        (_, Some(_), _) => "the shop's tables are older than this program and have no place for \
             it; `benchhand shop prepare` as the owner brings them up to date"
            .to_owned(),
        (_, _, Some(seconds)) if seconds <= AWAY_S => {
            "it is asked for; look again in a moment".to_owned()
        }
        (_, _, Some(seconds)) => format!(
            "that station is away (last heard {}); it is sent when it is back",
            ago(seconds)
        ),
        (_, _, None) => "that station is away; it is sent when it is back".to_owned(),
    };
    let is_there = heard.is_some_and(|seconds| seconds <= AWAY_S);
    WantedPiece::Away {
        why: lies_at(&station.letter, &station.name, &why),
        awaited: is_there && state.connected_since.is_some() && state.older_tables.is_none(),
    }
}
