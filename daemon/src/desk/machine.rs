//! Requests about the daemon itself, the machine's ports, and all that is live.

use benchhand_drivers::transport::OpenError;
use benchhand_drivers::transport::serial::{self, PortInfo, PortState as Access};
use benchhand_wire::{
    Hello, HelloAnswer, Port, PortState, Ports, PortsAnswer, Reason, Refusal, State, StopDaemon,
    Stopping, Watch,
};

use super::{Answers, Desk};

impl Answers<Hello> for Desk {
    fn answer(&self, _: Hello, _: Option<&str>) -> Result<HelloAnswer, Refusal> {
        let data = self.keeper.layout().root().to_owned();
        // The whole path: a client compares it with its own folder.
        let data = std::fs::canonicalize(&data).unwrap_or(data);
        Ok(HelloAnswer {
            program: "benchhand".to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            pid: std::process::id(),
            data: data.display().to_string(),
        })
    }
}

impl Answers<Ports> for Desk {
    fn answer(&self, ask: Ports, _: Option<&str>) -> Result<PortsAnswer, Refusal> {
        let (gauges, _) = self.shop.gauges()?;
        let open: Vec<String> = match &self.station {
            Some(station) => station.with(|station| station.open_paths())?,
            None => Vec::new(),
        };
        let found = match &ask.path {
            Some(path) => vec![PortInfo {
                path: path.clone(),
                description: "as named".to_owned(),
                usb: None,
                state: serial::probe(path),
            }],
            None => match ask.only.as_deref() {
                None => serial::list(),
                Some("usb") => serial::adapters(),
                Some(other) => {
                    let found = format!("only {other:?}");
                    return Err(Refusal::new(Reason::BadInput, found).expected("usb"));
                }
            }
            .map_err(|e| Refusal::new(Reason::Unavailable, e.to_string()))?,
        };
        let mut ports: Vec<Port> = found
            .into_iter()
            .map(|info| {
                let adapter = info.usb.as_ref().map(ToString::to_string);
                let mine = |setup: &benchhand_wire::GaugeSetup| match &setup.adapter {
                    Some(wanted) => adapter.as_ref() == Some(wanted),
                    None => setup.port.as_ref() == Some(&info.path),
                };
                let gauge = gauges
                    .iter()
                    .find(|g| mine(&g.setup))
                    .map(|g| g.setup.name.clone());
                shown(info, gauge, &open)
            })
            .collect();
        ports.sort_by(|a, b| a.path.cmp(&b.path));
        Ok(PortsAnswer { ports })
    }
}

fn shown(info: PortInfo, gauge: Option<String>, open: &[String]) -> Port {
    let (state, todo) = match &info.state {
        _ if open.contains(&info.path) => (PortState::InUse, String::new()),
        Access::Free => (PortState::Free, String::new()),
        Access::Busy => (
            PortState::Busy,
            "another program holds it; close that program, and the port is opened by itself"
                .to_owned(),
        ),
        Access::Forbidden => (
            PortState::Forbidden,
            "add your user to the group that owns it (often dialout or uucp), then log in again"
                .to_owned(),
        ),
        Access::Unusable(error @ OpenError::Absent { .. }) => {
            (PortState::Absent, error.to_string())
        }
        Access::Unusable(error) => (PortState::Unusable, error.to_string()),
    };
    Port {
        identity: info.usb.as_ref().map(ToString::to_string),
        path: info.path,
        state,
        description: info.description,
        gauge,
        todo,
    }
}

impl Answers<StopDaemon> for Desk {
    fn answer(&self, _: StopDaemon, _: Option<&str>) -> Result<Stopping, Refusal> {
        self.station()?;
        self.stop_asked.notify_one();
        Ok(Stopping {
            pid: std::process::id(),
        })
    }
}

impl Answers<Watch> for Desk {
    fn answer(&self, _: Watch, _: Option<&str>) -> Result<State, Refusal> {
        let hub = std::sync::Arc::clone(&self.hub);
        self.station()?.with(move |station| State {
            id: hub.last_id(),
            gauges: station.gauges(),
            routes: station.routes(),
        })
    }
}
