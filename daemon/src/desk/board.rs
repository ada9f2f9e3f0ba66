//! Requests of and about the board page.

use benchhand_blueprint::engine::LengthUnits;
use benchhand_wire::{
    BankShape, BoardAddress, CloseNetwork, EngineShape, NetworkClosed, OpenBoard, OpenNetwork,
    Pairing, Reason, Refusal, ShowEngine,
};

use super::{Answers, Desk};
use crate::known::inputs;

/// The part of the API that lets browsers in; only a running daemon has it.
pub(crate) trait LetsIn: std::fmt::Debug + Send + Sync {
    /// An address that opens the page once on this machine.
    ///
    /// # Errors
    /// Where the system gives no random bytes.
    fn address(&self) -> Result<BoardAddress, Refusal>;

    /// Opens the network, unless it is open already, and returns a code for one device. Blocks, and
    /// must not be called from an async runtime's own threads.
    ///
    /// # Errors
    /// Where the port cannot be bound or the machine is on no network.
    fn open(&self, port: Option<u16>) -> Result<Pairing, Refusal>;

    /// Closes the network and forgets every device that was let in.
    fn close(&self) -> NetworkClosed;
}

impl Desk {
    /// The gate of the daemon's API, which only a running daemon has.
    fn gate(&self) -> Result<&dyn LetsIn, Refusal> {
        self.gate.get().map(AsRef::as_ref).ok_or_else(|| {
            Refusal::new(
                Reason::Unavailable,
                "the board needs live gauges, and no daemon runs",
            )
            .todo("start one with `benchhand serve`; it prints the board's address")
        })
    }
}

impl Answers<OpenBoard> for Desk {
    fn answer(&self, _: OpenBoard, _: Option<&str>) -> Result<BoardAddress, Refusal> {
        self.gate()?.address()
    }
}

impl Answers<OpenNetwork> for Desk {
    fn answer(&self, ask: OpenNetwork, _: Option<&str>) -> Result<Pairing, Refusal> {
        self.gate()?.open(ask.port)
    }
}

impl Answers<CloseNetwork> for Desk {
    fn answer(&self, _: CloseNetwork, _: Option<&str>) -> Result<NetworkClosed, Refusal> {
        Ok(self.gate()?.close())
    }
}

impl Answers<ShowEngine> for Desk {
    fn answer(&self, ask: ShowEngine, _: Option<&str>) -> Result<EngineShape, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let engine = inputs::engine(&view)?;
        let units = match engine.units {
            LengthUnits::Inch => "inch",
            LengthUnits::Metric => "metric",
        };
        let shape = |bank: &benchhand_blueprint::engine::Bank| BankShape {
            name: bank.name.clone(),
            cylinders: bank.cylinders.clone(),
        };
        Ok(EngineShape {
            name: engine.name.clone(),
            invented: engine.invented,
            units: units.to_owned(),
            banks: engine.banks.iter().map(shape).collect(),
        })
    }
}
