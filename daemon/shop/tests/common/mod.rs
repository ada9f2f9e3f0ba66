//! What the tests of the shop share: stations whose record lies in memory, and a server of their own.

#![allow(dead_code, reason = "each test uses a part of it")]

pub mod memory;

use std::sync::Arc;
use std::time::Duration;

use benchhand_shop::{
    JobId, PasswordSource, ShopAddress, ShopLink, ShopPace, ShopState, StationId,
};
use benchhand_testbed::postgres::PostgresServer;
use tokio::sync::watch;

pub use memory::MemoryRecord;

/// How long anything may take before a test fails.
const PATIENCE: Duration = Duration::from_secs(60);

/// A database with roles: `owner` owns it, `deck`, `flow` and `pour` are stations', `office` reads.
pub fn shop_on(server: &PostgresServer) {
    server.sql(
        "postgres",
        "create role owner login createrole password 'owner-word'; \
         create role shop_station; create role shop_reader; \
         create role deck login password 'deck-word' in role shop_station; \
         create role flow login password 'flow-word' in role shop_station; \
         create role pour login password 'pour-word' in role shop_station; \
         create role office login password 'office-word' in role shop_reader;",
    );
    server.sql("postgres", "create database shop owner owner");
}

/// Times that suit a test: it hears of everything at once, and what was not heard soon after.
pub fn quick() -> ShopPace {
    ShopPace {
        poll: Duration::from_millis(300),
        retry_least: Duration::from_millis(20),
        retry_most: Duration::from_millis(200),
        live: Duration::from_millis(50),
        batch_lines: 50,
        ..ShopPace::default()
    }
}

/// A station that is linked to a shop.
pub struct TestStation {
    pub record: Arc<MemoryRecord>,
    pub link: ShopLink,
    state: watch::Receiver<ShopState>,
}

impl TestStation {
    /// A station whose number is made of `letter` alone.
    pub fn start(server: &PostgresServer, role: &str, number: u8) -> Self {
        Self::with(server, role, Arc::new(MemoryRecord::new(number)))
    }

    pub fn with(server: &PostgresServer, role: &str, record: Arc<MemoryRecord>) -> Self {
        Self::at(&server.url(role, "shop"), record, quick())
    }

    pub fn at(url: &str, record: Arc<MemoryRecord>, pace: ShopPace) -> Self {
        let address = ShopAddress::parse(url, None).expect("a sound URL");
        let passwords = PasswordSource::default();
        let seam = Arc::clone(&record) as Arc<dyn benchhand_shop::StationRecord>;
        let link = ShopLink::start(seam, address, passwords, "a station", pace);
        Self::linked(record, link)
    }

    pub fn linked(record: Arc<MemoryRecord>, link: ShopLink) -> Self {
        let state = link.state();
        Self {
            record,
            link,
            state,
        }
    }

    /// Opens a job and tells of it.
    pub fn open(&self, name: &str) -> JobId {
        let job = self.record.open(name);
        self.link.kept(&job, 1);
        job
    }

    /// Writes a line into the own journal of a job, and tells of it.
    pub fn write(&self, job: &JobId, says: &str) -> u64 {
        let number = self.record.write(job, says);
        self.link.kept(job, number);
        number
    }

    pub fn state(&self) -> ShopState {
        self.state.borrow().clone()
    }

    /// Waits until the state is such, and gives it.
    pub async fn until(&mut self, what: &str, holds: impl Fn(&ShopState) -> bool) -> ShopState {
        let mut state = self.state.clone();
        match tokio::time::timeout(PATIENCE, state.wait_for(holds)).await {
            Ok(found) => found.expect("the link runs").clone(),
            Err(_) => panic!("not {what} in time: {:?}", self.state.borrow()),
        }
    }

    /// Waits until nothing of this station is unsent.
    pub async fn until_sent(&mut self) -> ShopState {
        self.until("sent", |state| {
            state.connected_since.is_some() && state.compared && state.waiting == 0
        })
        .await
    }

    /// Waits until a journal is held here up to a line.
    pub async fn until_held(&self, job: &JobId, station: &StationId, number: u64) {
        let mut changes = self.record.changes();
        let held = || self.record.end(job, station) >= number;
        let waited = tokio::time::timeout(PATIENCE, changes.wait_for(|_| held())).await;
        assert!(
            waited.is_ok(),
            "line {number} of {station} did not come: {:?}, {:?}",
            self.record.end(job, station),
            self.state.borrow()
        );
    }

    /// Waits until its record is the same as another's.
    pub async fn until_same_as(&self, other: &TestStation) {
        let mut mine = self.record.changes();
        let mut others = other.record.changes();
        let same = async {
            while self.record.all() != other.record.all() {
                tokio::select! {
                    changed = mine.changed() => changed.expect("it lives"),
                    changed = others.changed() => changed.expect("it lives"),
                }
            }
        };
        let waited = tokio::time::timeout(PATIENCE, same).await;
        assert!(
            waited.is_ok(),
            "{:?} and {:?}\n{:?}\n{:?}",
            self.record.ends(),
            other.record.ends(),
            self.state.borrow(),
            other.state.borrow()
        );
    }

    pub fn me(&self) -> StationId {
        use benchhand_shop::StationRecord;
        self.record.station()
    }
}

/// A server with the shop's tables, and two stations that have sent what they have.
pub async fn two() -> (PostgresServer, TestStation, TestStation) {
    let server = PostgresServer::start();
    shop_on(&server);
    let mut owner = TestStation::start(&server, "owner", 0xee);
    owner.until_sent().await;
    owner.link.stop().await;
    let mut deck = TestStation::start(&server, "deck", 1);
    let mut flow = TestStation::start(&server, "flow", 2);
    deck.until_sent().await;
    flow.until_sent().await;
    (server, deck, flow)
}
