//! The request, answer and event types of the local API.
//!
//! Serde types only: nothing here opens a port, a file or a socket. A request type names its
//! own path and what it answers with, so that the server, the client over HTTP and the client
//! inside one process cannot drift apart.

mod archive;
mod backup;
mod board;
mod chart;
mod check;
mod condition;
mod cut;
mod decide;
mod documents;
mod engine;
mod event;
mod examine;
mod export;
mod find;
mod gauge;
mod heads;
mod history;
mod job;
mod link;
mod long_work;
mod order;
mod reading;
mod recompute;
mod refusal;
mod route;
mod sheet;
mod shop;
mod stream;
mod taken_up;

use serde::Serialize;
use serde::de::DeserializeOwned;

pub use archive::{ArchiveWritten, JobPacked, JobUnpacked, LARGEST_ARCHIVE, PackJob, UnpackJob};
pub use backup::{BackupRestored, BackupWritten};
pub use board::{
    BankShape, BoardAddress, CloseNetwork, EngineShape, NetworkClosed, OpenBoard, OpenNetwork,
    Pairing, ShowEngine,
};
pub use chart::{ChartDrawn, ChartJob};
pub use check::{
    Against, ChannelShows, CheckLeak, CheckPlate, CompareGauge, ComparePoint, Compared,
    ComparedPoint, GaugeShows, LeakChecked, PlateChecked, ReadLive, Shows, WaterSaid,
};
pub use condition::{Asked, AskedChoice, ConditionKept, SetCondition};
pub use cut::{CorrectCut, CutCorrected, CutJob, CutMade};
pub use decide::{DecideAnswer, DecideJob, OtherSide};
pub use documents::{DOCUMENTS, DocumentSchema, SCHEMAS, document_schema};
pub use engine::{EngineFileText, EngineSet, ReadEngine, SetEngine};
pub use event::{Announced, EVENTS, Event, SaidAs, State, Watch};
pub use examine::{Examination, Examine, MachineFinding, MachinePart, MachineState};
pub use export::{TablesWritten, WorkbookWritten};
pub use find::{
    CheckProfile, FindGauge, Finding, FoundGauge, FoundLine, ProfileChecked, UNIT_UNTOLD,
};
pub use gauge::{
    BuretteCounts, CapturePhase, CheckGauge, Checked, GaugeAnswer, GaugeCorrection, GaugeList,
    GaugeSetup, GaugeState, Gauges, LastMinute, LiveValue, RemoveGauge, SetGauge, ShownMinute,
    ShownValue, ZeroGauge, Zeroed,
};
pub use heads::{ExchangeHeads, HeadsExchanged};
pub use history::{
    GaugeHistory, GaugeHistoryAnswer, GaugeInJob, GaugeInShort, GaugeScatter, JobsLike,
    JobsLikeAnswer, LikeJob, PastCheck, ReadingOfJob, ReadingsAt, ReadingsAtAnswer, Sizes,
};
pub use job::{
    AcceptDamage, CardShown, CopyOf, CutTakenBack, DamageAccepted, JobDetail, JobList, JobReport,
    JobSummary, Jobs, NewJob, ReportAnswer, ShowJob, ShownReading, StageInfo, UnreadableJob,
    Verified, VerifyJob,
};
pub use link::{Hello, HelloAnswer, Port, PortState, Ports, PortsAnswer, StopDaemon, Stopping};
pub use long_work::{HowFar, HowFarAnswer, LONGEST_WORK_NAME, WorkUnderWay};
pub use order::{
    JobOrders, OrderJob, OrderKept, OrderShown, OrdersAnswer, PartOrdered, PartToOrder,
};
pub use reading::{
    EnterReading, Entered, ImportReadings, Imported, Levels, MoveReading, Moved, ReadingNumber,
    ReadingTraced, Trace, TraceReading, TraceSample, VoidReading, Voided, said_number,
};
pub use recompute::{RecomputeJob, Recomputed, RecomputedElsewhere, RecomputedReading};
pub use refusal::{MendingStep, Place, Reason, Refusal};
pub use route::{
    AnswerWord, Control, ControlRoute, DialHand, FigureRule, OpenQuestion, QuestionAbout,
    RouteInfo, RouteList, RouteProgress, Routes, StartRoute, StopDone, StopState, Typed,
};
pub use sheet::{
    MakeSheet, SheetChange, SheetChecked, SheetJournal, SheetMade, SheetNote, SheetWritten,
};
pub use shop::{
    JoinShop, LeaveShop, PrepareShop, RouteElsewhere, ShopLeft, ShopPrepared, ShopShown,
    ShopStationShown, ShopTrouble, ShowShop, StationRoute,
};
pub use stream::{CaptureLine, Played, PlayedSample, ReplayNote, ReplayedStream};
pub use taken_up::TakenUp;

/// Version of the API, the first part of every path.
pub const API: &str = "v1";

/// The header that carries the token of the local API.
pub const TOKEN_HEADER: &str = "authorization";

/// The header that makes a repeated write count once (the name of the IETF draft
/// "The Idempotency-Key HTTP Header Field").
pub const KEY_HEADER: &str = "idempotency-key";

/// How a request is carried: a question by GET with its fields in the query, an inquiry by POST with
/// its fields as a JSON body, a change likewise and with a write key in [`KEY_HEADER`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carry {
    /// Changes nothing.
    Question,
    /// Changes nothing either, but has fields that do not fit a query.
    Inquiry,
    /// Changes something that is kept, or something at the bench.
    Change,
}

/// One kind of request.
pub trait Ask: Serialize + DeserializeOwned + Send + 'static {
    /// The path below `/v1/`.
    const PATH: &'static str;
    /// Whether it changes anything.
    const CARRY: Carry;
    /// What it is answered with.
    type Answer: Serialize + DeserializeOwned + Send + 'static;
}

/// Hands the name of every request type, in one list, to the macro `with`.
///
/// What the daemon answers and what the API's description describes are both made from this list.
#[macro_export]
macro_rules! every_request {
    ($with:ident) => {
        $with! {
            Hello,
            Ports,
            Examine,
            StopDaemon,
            FindGauge,
            CheckProfile,
            ExchangeHeads,
            RecomputeJob,
            HowFar,
            Gauges,
            LastMinute,
            SetGauge,
            RemoveGauge,
            ZeroGauge,
            CheckGauge,
            GaugeShows,
            CompareGauge,
            GaugeHistory,
            CheckPlate,
            CheckLeak,
            NewJob,
            Jobs,
            ShowJob,
            CutJob,
            CorrectCut,
            JobReport,
            ChartJob,
            DecideJob,
            MakeSheet,
            OrderJob,
            JobOrders,
            VerifyJob,
            AcceptDamage,
            PackJob,
            UnpackJob,
            JobsLike,
            EnterReading,
            ImportReadings,
            VoidReading,
            MoveReading,
            TraceReading,
            ReadingsAt,
            Routes,
            StartRoute,
            ControlRoute,
            Watch,
            ShowEngine,
            ReadEngine,
            SetEngine,
            OpenBoard,
            OpenNetwork,
            CloseNetwork,
            JoinShop,
            PrepareShop,
            LeaveShop,
            ShowShop,
            SetCondition,
        }
    };
}

/// A figure as every JSON document of this project shows it.
#[derive(Debug, Clone, PartialEq, Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Figure {
    /// The value, in `unit`.
    pub value: f64,
    /// Its standard uncertainty, in `unit`; `null` where it is not known.
    pub u: Option<f64>,
    /// The unit's symbol; `"1"` for a ratio.
    pub unit: String,
}
