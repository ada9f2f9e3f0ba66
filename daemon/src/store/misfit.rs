//! Why a fact does not fit what is known of a job.

use crate::store::reading::ReadingId;

/// Why a fact does not fit what is known.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Misfit {
    /// The journal does not begin with the opening of its job.
    #[error("the journal does not begin with the opening of its job")]
    NotOpened,
    /// The job was opened before.
    #[error("the job {0:?} is open already")]
    OpenedTwice(String),
    /// No reading is that entry.
    #[error("entry {0} of this job is no reading; list the job's readings for their numbers")]
    NoReading(ReadingId),
    /// Initials that are none.
    #[error("initials are at most 8 letters or digits")]
    Initials,
    /// The reading was voided before.
    #[error("reading {number} was voided before ({reason}); nothing is left to change")]
    Voided {
        /// The reading's number for people.
        number: String,
        /// Why it was voided.
        reason: String,
    },
    /// Another reading replaced it.
    #[error("reading {number} was revised since, by entry {by}; look at it again")]
    Superseded {
        /// The reading's number for people.
        number: String,
        /// The entry that counts now.
        by: ReadingId,
    },
    /// Only a held reading can be revised or made final.
    #[error(
        "reading {0} is final and is not revised; void it with a reason and take another instead"
    )]
    NotHeld(String),
    /// Only a reading that was taken back can be restored.
    #[error("reading {0} counts; only a voided reading can be restored")]
    NotVoided(String),
    /// A revision names no reading.
    #[error("a revised reading must name the reading whose place it takes")]
    RevisesNothing,
    /// A row of an import names a reading to replace, which it cannot.
    #[error("row {0} of the import names a reading whose place it takes; imported rows cannot")]
    ImportSupersedes(usize),
    /// An import without rows.
    #[error("the import of {0:?} holds no reading; nothing was kept")]
    EmptyImport(String),
    /// An order of nothing.
    #[error("the order names nothing that is ordered or taken back; nothing was kept")]
    OrdersNothing,
    /// A size that one order names twice.
    #[error("{0} is named twice in one order; name it once")]
    OrderedTwice(String),
    /// Nothing is to be taken back.
    #[error("no order of {0} stands; there is nothing to take back")]
    NotOrdered(String),
    /// No stage has that name.
    #[error("there is no stage {found:?}; the job's stages are {known}")]
    NoStage {
        /// The name that was given.
        found: String,
        /// The stages there are, in order.
        known: String,
    },
    /// A stage with that name was opened before.
    #[error("the stage {0:?} was opened before; give the new stage a name of its own")]
    StageTwice(String),
    /// No cut is that entry.
    #[error("entry {0} of this job is no cut")]
    NoCut(u64),
    /// The job's first stage is what the parts came as.
    #[error("the stage {0:?} is what the parts came as; no cut opened it")]
    NotOpenedByACut(String),
    /// The cut was taken back before.
    #[error("the cut that opened {0:?} was taken back before; nothing is left to take back")]
    CutGone(String),
    /// The reading is at another spot than stated.
    #[error("reading {number} lies at {actual}, not at {said}; look at it again before moving it")]
    Elsewhere {
        /// The reading's number for people.
        number: String,
        /// The spot of the reading.
        actual: String,
        /// The spot that was stated.
        said: String,
    },
    /// The reading lies there already.
    #[error("reading {number} lies at {spot} already")]
    AlreadyThere {
        /// The reading's number for people.
        number: String,
        /// The reading's spot.
        spot: String,
    },
    /// The named route does not run.
    #[error("the route {said:?} does not run; {}", running(.actual))]
    NotRunning {
        /// The route that was named.
        said: String,
        /// The route that runs.
        actual: Option<String>,
    },
    /// The route has no such stop or round.
    #[error("the route {route:?} has {stops} stops and {rounds} rounds; there is no {what}")]
    OffRoute {
        /// The route.
        route: String,
        /// How many stops it has.
        stops: usize,
        /// How many rounds it has.
        rounds: u32,
        /// What was asked for.
        what: String,
    },
    /// A hash that is not its content's.
    #[error("the hash of {name:?} is {found}, but its content gives {computed}")]
    WrongHash {
        /// The input's name.
        name: String,
        /// What the fact says.
        found: String,
        /// What the content gives.
        computed: String,
    },
    /// A word that must be there is empty or holds control characters.
    #[error("{what} is {found:?}; expected some printable text without line breaks")]
    BadText {
        /// What it would say.
        what: &'static str,
        /// What was found.
        found: String,
    },
    /// Not a finite number.
    #[error("{what} is {found}, which is no number that can be measured")]
    NotFinite {
        /// Which quantity.
        what: &'static str,
        /// What was found.
        found: f64,
    },
    /// An uncertainty or spread that cannot be.
    #[error("{what} is {found}; expected a number above 0, or none at all where nothing is known")]
    BadUncertainty {
        /// Which.
        what: &'static str,
        /// What was found.
        found: f64,
    },
}

fn running(actual: &Option<String>) -> String {
    match actual {
        Some(route) => format!("{route:?} does"),
        None => "none does; start it first".to_owned(),
    }
}
