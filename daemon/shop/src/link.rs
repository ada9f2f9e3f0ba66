//! The task that keeps a station and its shop in step, and the handle to it.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use tokio::sync::watch;
use tokio::task::JoinHandle;

use crate::address::ShopAddress;
use crate::connecting::ShopConnection;
use crate::exchange::{Exchange, ExchangeEnd, ExchangeMemory};
use crate::fault::ShopFault;
use crate::kept::KeptLines;
use crate::pace::ShopPace;
use crate::password::PasswordSource;
use crate::pieces::{PieceAnswer, PieceShelf};
use crate::record::{JobId, PieceKey, StationId, StationRecord};
use crate::rows::ShopRows;
use crate::said::OwnRoutes;
use crate::schema;
use crate::state::ShopState;
use crate::version::SCHEMA;

/// A running exchange with the shop. Nobody waits for it.
#[derive(Debug)]
pub struct ShopLink {
    kept: Arc<KeptLines>,
    routes: Arc<OwnRoutes>,
    shelf: Arc<PieceShelf>,
    told: Arc<watch::Sender<ShopState>>,
    stop: watch::Sender<bool>,
    task: Mutex<Option<JoinHandle<()>>>,
}

impl ShopLink {
    /// Starts the exchange on the current runtime. `name` is what people call this station.
    ///
    /// # Panics
    /// Outside of a runtime of tokio.
    pub fn start(
        record: Arc<dyn StationRecord>,
        address: ShopAddress,
        passwords: PasswordSource,
        name: &str,
        pace: ShopPace,
    ) -> Self {
        let kept = Arc::new(KeptLines::default());
        let told = Arc::new(watch::Sender::new(ShopState::default()));
        let routes = Arc::new(OwnRoutes::default());
        let shelf = Arc::new(PieceShelf::default());
        let (stop, mut stopped) = watch::channel(false);
        let memory = ExchangeMemory {
            record,
            kept: Arc::clone(&kept),
            routes: Arc::clone(&routes),
            shelf: Arc::clone(&shelf),
            state: Arc::clone(&told),
            name: name.to_owned(),
            pace,
        };
        let task = tokio::spawn(async move {
            tokio::select! {
                () = keep_in_step(memory, address, passwords) => {}
                _ = stopped.changed() => {}
            }
        });
        Self {
            kept,
            routes,
            shelf,
            told,
            stop,
            task: Mutex::new(Some(task)),
        }
    }

    /// Notes that this station's journal of a job is on the disk up to this line. It costs next to
    /// nothing and waits for nobody.
    pub fn kept(&self, job: &JobId, number: u64) {
        self.kept.reached(job, number);
        self.told.send_if_modified(|state| {
            let waiting = self.kept.waiting();
            let differs = state.waiting != waiting;
            state.waiting = waiting;
            differs
        });
    }

    /// Says which routes run here, in place of what was said before: a text of at most
    /// [`ROUTES_MOST`](crate::ROUTES_MOST) bytes (a longer one counts as none), empty where none runs.
    /// The others hear of it within about a second, if they hear of it at all; nobody waits.
    pub fn say(&self, routes: String) {
        if self.routes.put(routes) {
            self.kept.woken.notify_one();
        }
    }

    /// A piece of another station's recorded stream, or why that station has none. `None` while the
    /// piece is not here; it is then asked for. If many are wanted, the oldest request makes room.
    /// Nobody waits.
    pub fn want_piece(&self, key: &PieceKey) -> Option<PieceAnswer> {
        let (answer, is_new) = self.shelf.want(key);
        if is_new {
            self.kept.woken.notify_one();
        }
        answer
    }

    /// How the station stands to the shop, now and whenever it changes.
    pub fn state(&self) -> watch::Receiver<ShopState> {
        self.told.subscribe()
    }

    /// Ends the exchange. What was not sent is sent after the next start.
    pub async fn stop(&self) {
        self.stop.send_replace(true);
        let task = self
            .task
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .take();
        if let Some(task) = task {
            // This fails only if the task broke, and its state has shown that already.
            drop(task.await);
        }
    }
}

/// Connects again and again, for as long as the program runs.
async fn keep_in_step(mut memory: ExchangeMemory, at: ShopAddress, passwords: PasswordSource) {
    let mut attempt = 0;
    let mut counted = false;
    loop {
        let me = memory.record.station();
        memory
            .state
            .send_modify(|state| state.station = Some(me.clone()));
        if !counted {
            counted = count(&memory, &me).await;
        }
        let end = one_connection(&mut memory, &at, &passwords).await;
        let was_connected = memory.state.borrow().connected_since.is_some();
        match end {
            ExchangeEnd::Failed(fault) => {
                // A connection that worked for a while begins the waits anew.
                attempt = if was_connected { 1 } else { attempt + 1 };
                let news = memory.state.borrow().fault.as_ref() != Some(&fault);
                if news {
                    tracing::warn!(%fault, "the shop");
                }
                memory.state.send_modify(|state| {
                    state.connected_since = None;
                    state.fault = Some(fault);
                });
                tokio::time::sleep(memory.pace.wait(attempt, me.as_str())).await;
            }
            ExchangeEnd::Parted(words) => {
                tracing::warn!(words, "the shop");
                memory.kept.forget();
                counted = false;
                memory.state.send_modify(|state| {
                    state.connected_since = None;
                    state.compared = false;
                    state.parted = Some(words);
                });
            }
        }
    }
}

/// Counts this station's lines before the shop is asked what it holds. Returns whether that worked.
async fn count(memory: &ExchangeMemory, me: &StationId) -> bool {
    let record = Arc::clone(&memory.record);
    let Ok(Ok(heads)) = tokio::task::spawn_blocking(move || record.heads()).await else {
        return false;
    };
    for head in heads.iter().filter(|head| head.station == *me) {
        memory.kept.reached(&head.job, head.number);
    }
    memory
        .state
        .send_modify(|state| state.waiting = memory.kept.waiting());
    true
}

async fn one_connection(
    memory: &mut ExchangeMemory,
    at: &ShopAddress,
    passwords: &PasswordSource,
) -> ExchangeEnd {
    match connected(memory, at, passwords).await {
        Ok(()) => ExchangeEnd::Failed(ShopFault::Ended("it was over".to_owned())),
        Err(end) => end,
    }
}

async fn connected(
    memory: &mut ExchangeMemory,
    at: &ShopAddress,
    passwords: &PasswordSource,
) -> Result<(), ExchangeEnd> {
    let pace = memory.pace;
    let mut connection = ShopConnection::open(at, passwords, &pace).await?;
    let tables = schema::prepare(&connection.client, at).await?;
    let rows = ShopRows::new(&connection.client, at, &pace).await?;
    tracing::info!(shop = at.shown(), "connected to the shop");
    memory.state.send_modify(|state| {
        state.connected_since = Some(SystemTime::now());
        state.fault = None;
        state.rights = tables.rights;
        state.older_tables = (tables.version < SCHEMA).then_some(tables.version);
    });
    Exchange::new(rows, memory, tables.version)
        .run(&mut connection.heard)
        .await
}
