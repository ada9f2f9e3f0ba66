//! The shop that this data folder belongs to: joining it, leaving it, and the exchange meanwhile.
//!
//! Whoever keeps a reading waits for nothing here: the names of jobs that have news are noted, and a
//! task of its own looks how far their journals go.

mod beside;
mod live;
mod pieces;
mod preparing;
mod record;
mod setting;
mod shown;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use benchhand_shop::{
    JobId, PasswordSource, ShopAddress, ShopLink, ShopPace, ShopState, StationId, introduce,
};
use benchhand_wire::{Reason, Refusal, ShopShown};
use tokio::runtime::Handle;
use tokio::sync::Notify;
use tokio::task::JoinHandle;

use crate::known::keeper::Keeper;
use crate::live::{Hub, StationHandle};
use crate::store::station;
pub(crate) use beside::beside;
pub(crate) use pieces::WantedPiece;
pub(crate) use preparing::prepare;
use record::KeptRecord;
use setting::ShopSetting;

/// How long further news are waited for: those of one burst go together, and whoever kept a reading is
/// answered first.
const GATHER: Duration = Duration::from_millis(20);

/// How long whoever joins waits to be told that the station is connected.
const FIRST_WORD: Duration = Duration::from_secs(5);

/// The shop of a running daemon's data folder.
pub(crate) struct JoinedShop {
    keeper: Arc<Keeper>,
    /// Where the routes of this station run.
    station: StationHandle,
    hub: Arc<Hub>,
    maker: pieces::PieceMaker,
    news: Arc<JobNews>,
    running: Mutex<Option<RunningExchange>>,
}

impl std::fmt::Debug for JoinedShop {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("JoinedShop")
    }
}

/// The exchange with a shop, and the tasks that tell it of what is kept and of what goes on.
struct RunningExchange {
    link: Arc<ShopLink>,
    telling: [JoinHandle<()>; 2],
}

/// Names of jobs in which something was kept since it was last looked.
#[derive(Default)]
struct JobNews {
    jobs: Mutex<BTreeSet<String>>,
    woken: Notify,
}

fn locked<T>(what: &Mutex<T>) -> MutexGuard<'_, T> {
    what.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What the disk refused about the setting.
fn of_disk(error: &std::io::Error) -> Refusal {
    let found = format!("the setting of the shop: {error}");
    Refusal::new(Reason::Storage, found)
}

fn unusable(found: String) -> Refusal {
    Refusal::new(Reason::Unavailable, found)
}

impl JoinedShop {
    /// Begins the exchange, where the data folder belongs to a shop and this thread is one of a
    /// runtime's. A setting that cannot be used is told in the log and by `shop show`.
    pub(crate) fn open(keeper: &Arc<Keeper>, station: &StationHandle, hub: &Arc<Hub>) -> Self {
        let news = Arc::new(JobNews::default());
        let noted = Arc::clone(&news);
        keeper.on_kept(move |job| {
            locked(&noted.jobs).insert(job.to_owned());
            noted.woken.notify_one();
        });
        let joined = Self {
            keeper: Arc::clone(keeper),
            station: station.clone(),
            hub: Arc::clone(hub),
            maker: pieces::PieceMaker::default(),
            news,
            running: Mutex::new(None),
        };
        if let Err(refusal) = joined.begin() {
            tracing::warn!(%refusal, "the shop");
        }
        joined
    }

    fn root(&self) -> PathBuf {
        self.keeper.layout().root().to_owned()
    }

    fn setting(&self) -> Result<Option<ShopSetting>, Refusal> {
        ShopSetting::read(&self.root()).map_err(|e| of_disk(&e))
    }

    /// This data folder's station, if it is one.
    fn own_number(&self) -> Result<Option<StationId>, Refusal> {
        let card = self.keeper.station()?;
        Ok(card.and_then(|card| StationId::parse(&card.station.0)))
    }

    /// Begins the exchange with the shop of the setting.
    fn begin(&self) -> Result<(), Refusal> {
        let Ok(runtime) = Handle::try_current() else {
            return Ok(());
        };
        let (Some(setting), Some(station)) = (self.setting()?, self.own_number()?) else {
            return Ok(());
        };
        let address = setting.address().map_err(|e| unusable(e.to_string()))?;
        let record = KeptRecord {
            keeper: Arc::clone(&self.keeper),
            station: station.clone(),
            maker: self.maker.clone(),
        };
        let _inside = runtime.enter();
        let passwords = PasswordSource::of_environment();
        let pace = ShopPace::default();
        let link = ShopLink::start(Arc::new(record), address, passwords, &setting.name, pace);
        let link = Arc::new(link);
        let kept = tell(
            Arc::clone(&self.news),
            Arc::clone(&self.keeper),
            Arc::clone(&link),
        );
        let goes_on = live::tell(
            self.station.clone(),
            Arc::clone(&self.hub),
            Arc::clone(&self.keeper),
            Arc::clone(&link),
        );
        let telling = [runtime.spawn(kept), runtime.spawn(goes_on)];
        *locked(&self.running) = Some(RunningExchange { link, telling });
        Ok(())
    }

    /// Joins a shop: looks whether it can be used, takes a letter there, and begins the exchange.
    ///
    /// # Errors
    /// Where the data folder belongs to another shop, or the shop cannot be used, and what to do.
    pub(crate) fn join(
        &self,
        url: &str,
        certificate: Option<&str>,
        name: &str,
    ) -> Result<ShopShown, Refusal> {
        let address = ShopAddress::parse(url, certificate.map(Path::new));
        let address = address.map_err(|e| Refusal::new(Reason::BadInput, e.to_string()))?;
        if let Some(known) = self.setting()?
            && known.url != url
        {
            let found = "this station belongs to another shop";
            let todo = "leave it first: benchhand shop leave";
            return Err(Refusal::new(Reason::Conflict, found).todo(todo));
        }
        let runtime = Handle::try_current().map_err(|e| unusable(e.to_string()))?;
        // Drawn first, since the shop lists the station by it.
        let card = self.keeper.join_shop(None)?;
        let station = StationId::parse(&card.station.0)
            .ok_or_else(|| unusable("this data folder's station has no sound number".to_owned()))?;
        let passwords = PasswordSource::of_environment();
        let pace = ShopPace::default();
        let asked = introduce(&address, &passwords, &station, name, &pace);
        let found = runtime.block_on(asked);
        let found = found.map_err(|e| unusable(e.to_string()))?;
        self.keeper.join_shop(Some(&found.letter))?;
        let setting = ShopSetting {
            url: url.to_owned(),
            certificate: certificate.map(Into::into),
            name: name.to_owned(),
        };
        setting.write(&self.root()).map_err(|e| of_disk(&e))?;
        runtime.block_on(self.end());
        self.begin()?;
        let begun = locked(&self.running).as_ref().map(|one| one.link.state());
        if let Some(mut state) = begun {
            let stands =
                |state: &ShopState| state.connected_since.is_some() || state.fault.is_some();
            // What is not known by then is shown later.
            let known = tokio::time::timeout(FIRST_WORD, state.wait_for(stands));
            runtime.block_on(async { drop(known.await) });
        }
        self.show()
    }

    /// Leaves the shop. What was measured and what was taken in stays here.
    ///
    /// # Errors
    /// Where the disk refuses.
    pub(crate) fn leave(&self) -> Result<Option<String>, Refusal> {
        let left = self.setting()?;
        ShopSetting::remove(&self.root()).map_err(|e| of_disk(&e))?;
        if let Ok(runtime) = Handle::try_current() {
            runtime.block_on(self.end());
        }
        let shown = |setting: ShopSetting| setting.address().map(|address| address.shown());
        Ok(left.and_then(|setting| shown(setting).ok()))
    }

    /// How this station stands to its shop.
    ///
    /// # Errors
    /// Where the setting cannot be read.
    pub(crate) fn show(&self) -> Result<ShopShown, Refusal> {
        let state = self.state();
        let card = self.keeper.station()?;
        let name_of = |id: &str| self.name_of(id);
        let beside = shown::Beside {
            routes: match state {
                Some(_) => live::own_routes(&self.station),
                None => Vec::new(),
            },
            name_of: &name_of,
        };
        Ok(shown::shown(
            self.setting()?.as_ref(),
            card.as_ref(),
            state.as_ref(),
            &beside,
        ))
    }

    /// A job's name here, by its identity.
    fn name_of(&self, id: &str) -> Option<String> {
        let id = station::JobId(id.to_owned());
        self.keeper.job_with(&id).ok()
    }

    /// The state of the exchange, while there is one; what was kept before counts as waiting in it.
    fn state(&self) -> Option<ShopState> {
        let running = locked(&self.running);
        let link = Arc::clone(&running.as_ref()?.link);
        drop(running);
        tell_now(&self.news, &self.keeper, &link);
        let state = link.state().borrow().clone();
        Some(state)
    }

    /// Ends the exchange; it goes on after the next start. What it is writing is finished first.
    pub(crate) async fn end(&self) {
        let running = locked(&self.running).take();
        if let Some(running) = running {
            running.telling.iter().for_each(JoinHandle::abort);
            running.link.stop().await;
            for telling in running.telling {
                // It was broken off: only that it is gone matters.
                drop(telling.await);
            }
        }
    }
}

impl Drop for JoinedShop {
    /// The exchange ends by itself once nobody holds its link.
    fn drop(&mut self) {
        if let Some(running) = locked(&self.running).take() {
            running.telling.iter().for_each(JoinHandle::abort);
        }
    }
}

/// What is shown of a data folder on which no daemon runs.
///
/// # Errors
/// Where the setting cannot be read.
pub(crate) fn show_at_rest(keeper: &Keeper) -> Result<ShopShown, Refusal> {
    let setting = ShopSetting::read(keeper.layout().root()).map_err(|e| of_disk(&e))?;
    let card = keeper.station()?;
    let beside = shown::Beside {
        routes: Vec::new(),
        name_of: &|_| None,
    };
    Ok(shown::shown(setting.as_ref(), card.as_ref(), None, &beside))
}

/// Tells the exchange how far the own journals of jobs go that have news.
async fn tell(news: Arc<JobNews>, keeper: Arc<Keeper>, link: Arc<ShopLink>) {
    loop {
        news.woken.notified().await;
        tokio::time::sleep(GATHER).await;
        let (news, keeper, link) = (Arc::clone(&news), Arc::clone(&keeper), Arc::clone(&link));
        let told = tokio::task::spawn_blocking(move || tell_now(&news, &keeper, &link)).await;
        if let Err(error) = told {
            tracing::warn!(%error, "news for the shop");
        }
    }
}

fn tell_now(news: &JobNews, keeper: &Keeper, link: &ShopLink) {
    let jobs = std::mem::take(&mut *locked(&news.jobs));
    for job in jobs {
        match keeper.own_head(&job) {
            Ok(Some(head)) => {
                if let Some(job) = JobId::parse(&head.job.0) {
                    link.kept(&job, head.number);
                }
            }
            Ok(None) => {}
            // The next comparison finds what it was.
            Err(refusal) => tracing::warn!(%refusal, "news for the shop"),
        }
    }
}
