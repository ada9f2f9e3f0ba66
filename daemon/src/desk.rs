//! One place that answers every request, over HTTP or inside one process.
//!
//! A request's path decides which of the modules below answers it. They turn requests into facts
//! and views into answers. The blueprint knows what figures mean, the drivers know how bytes are
//! read.

mod archive;
mod board;
mod charts;
mod compare;
pub(crate) mod conditions;
mod cut_depth;
mod cuts;
mod decide;
mod engine;
mod examine;
mod find;
mod flow_bench;
mod gauges;
mod heads;
mod history;
mod importing;
mod jobs;
mod long_work;
mod machine;
mod orders;
mod questions;
mod readings;
mod recompute;
mod repeats;
mod reporting;
mod routes;
mod sheets;
mod shop;
mod trace;
mod zeroing;

use std::path::Path;
use std::sync::{Arc, OnceLock};

use benchhand_wire::{Ask, Carry, Reason, Refusal};
use serde_json::Value;
use tokio::sync::Notify;

use crate::clock::SystemClock;
use crate::joined::JoinedShop;
use crate::known::keeper::Keeper;
use crate::known::shop::Shop;
use crate::known::shop_name::{self, ShopUsual};
use crate::live::{Hub, StationHandle};
use benchhand_files::RealFiles;
pub(crate) use board::LetsIn;
use long_work::LongWorks;
use repeats::Repeats;

/// Answers requests on one data folder.
#[derive(Debug)]
pub struct Desk {
    keeper: Arc<Keeper>,
    hub: Arc<Hub>,
    shop: Shop,
    station: Option<StationHandle>,
    repeats: Repeats,
    works: LongWorks,
    stop_asked: Notify,
    gate: OnceLock<Arc<dyn LetsIn>>,
    joined: OnceLock<Arc<JoinedShop>>,
}

/// A type that answers one kind of request.
pub(crate) trait Answers<A: Ask> {
    /// The answer, or the refusal. A change with the same `key` counts once.
    fn answer(&self, ask: A, key: Option<&str>) -> Result<A::Answer, Refusal>;
}

macro_rules! requests {
    ($($ask:ident),* $(,)?) => {
        impl Desk {
            /// Answers the request at `path` (an [`Ask::PATH`]) with the JSON of its answer. A
            /// change with the same `key` counts once. Blocks on the disk.
            ///
            /// # Errors
            /// The refusal, as it goes over the wire.
            pub fn dispatch(
                &self,
                path: &str,
                body: Value,
                key: Option<&str>,
            ) -> Result<Value, Refusal> {
                match path {
                    $(benchhand_wire::$ask::PATH =>
                        self.run::<benchhand_wire::$ask>(body, key),)*
                    _ => Err(Desk::unknown(path)),
                }
            }

            /// The path of every request, with the way in which it is carried.
            pub fn requests() -> impl Iterator<Item = (&'static str, Carry)> {
                [$((benchhand_wire::$ask::PATH, benchhand_wire::$ask::CARRY)),*].into_iter()
            }
        }
    };
}

benchhand_wire::every_request!(requests);

impl Desk {
    /// Opens the data folder without live gauges, for a single command. Nothing is created or
    /// locked before something is to be kept.
    ///
    /// # Errors
    /// Where the folder's own profiles or routes cannot be read.
    pub fn open(data: &Path) -> Result<Desk, Refusal> {
        let clock = Arc::new(SystemClock::new());
        let keeper = Keeper::passing(data.to_owned(), Arc::new(RealFiles), clock);
        Ok(Desk::new(Arc::new(keeper), Arc::new(Hub::default()), None))
    }

    /// A desk that uses what the daemon holds.
    pub(crate) fn new(keeper: Arc<Keeper>, hub: Arc<Hub>, station: Option<StationHandle>) -> Desk {
        let shop = Shop::new(Arc::clone(&keeper));
        Desk {
            keeper,
            hub,
            shop,
            station,
            repeats: Repeats::default(),
            works: LongWorks::default(),
            stop_asked: Notify::new(),
            gate: OnceLock::new(),
            joined: OnceLock::new(),
        }
    }

    /// Opens every gauge of the register. A gauge whose entry cannot be used is named in the log
    /// and left out; it does not hold up the others.
    pub(crate) fn open_gauges(&self) -> Result<(), Refusal> {
        let (gauges, faults) = self.shop.gauges()?;
        for fault in faults {
            tracing::warn!(%fault, "a gauge of the register cannot be used");
        }
        for gauge in gauges {
            self.station()?
                .with(move |station| station.open_gauge(gauge))??;
        }
        Ok(())
    }

    /// Hands over the gate of the API that asks this desk.
    pub(crate) fn let_in_by(&self, gate: Arc<dyn LetsIn>) {
        // A desk has one API; a second gate is never set.
        let _ = self.gate.set(gate);
    }

    /// Hands over the exchange with the shop, which this desk shows and steers.
    pub(crate) fn goes_with(&self, joined: Arc<JoinedShop>) {
        // A daemon has one; a second is never set.
        let _ = self.joined.set(joined);
    }

    /// Resolves once a client has asked the daemon to stop.
    pub(crate) async fn stop_was_asked(&self) {
        self.stop_asked.notified().await;
    }

    /// Where events are announced.
    pub(crate) fn hub(&self) -> &Hub {
        &self.hub
    }

    /// The refusal of a request that there is not.
    pub(crate) fn unknown(path: &str) -> Refusal {
        Refusal::new(Reason::NotFound, format!("no request is called {path:?}"))
            .todo("the API's document at /openapi.json names them all")
    }

    /// How the request at `path` is carried, if there is such a request.
    pub fn carry_of(path: &str) -> Option<Carry> {
        Desk::requests()
            .find(|(p, _)| *p == path)
            .map(|(_, carry)| carry)
    }

    /// Answers a question of this process's own.
    ///
    /// # Errors
    /// The refusal, as it goes over the wire.
    pub(crate) fn ask<A: Ask>(&self, ask: A) -> Result<A::Answer, Refusal>
    where
        Self: Answers<A>,
    {
        self.answer(ask, None)
    }

    /// What the shop usually does, where nobody says otherwise.
    pub(crate) fn usual(&self) -> ShopUsual {
        shop_name::usual(&self.keeper)
    }

    fn run<A: Ask>(&self, body: Value, key: Option<&str>) -> Result<Value, Refusal>
    where
        Self: Answers<A>,
    {
        let repeatable = match (key, A::CARRY) {
            (Some(key), Carry::Change) => Some((key, print_of(A::PATH, &body))),
            _ => None,
        };
        let ask: A =
            serde_json::from_value(body).map_err(|e| unclear(Reason::BadInput, A::PATH, &e))?;
        let work = || {
            serde_json::to_value(self.answer(ask, key)?)
                .map_err(|e| unclear(Reason::Unavailable, A::PATH, &e))
        };
        match repeatable {
            Some((key, print)) => self.repeats.once(key, print, Box::new(work)),
            None => work(),
        }
    }

    /// The live station, which only a running daemon has.
    fn station(&self) -> Result<&StationHandle, Refusal> {
        self.station.as_ref().ok_or_else(|| {
            Refusal::new(
                Reason::Unavailable,
                "this needs live gauges, and no daemon runs",
            )
            .todo("start one with `benchhand serve`")
        })
    }
}

/// The hash of a request. Its text may be large and is not held for it.
fn print_of(path: &str, body: &Value) -> blake3::Hash {
    let mut print = blake3::Hasher::new();
    print.update(path.as_bytes());
    print.update(b" ");
    // Neither a value nor a hasher fails.
    let _ = serde_json::to_writer(&mut print, body);
    print.finalize()
}

/// JSON that is not the request's, or not its answer's.
fn unclear(reason: Reason, path: &str, error: &serde_json::Error) -> Refusal {
    Refusal::new(reason, format!("{path}: {error}"))
}
