//! The gauges of the shop, and the ports that have none yet.

use askama::Template;
use benchhand_wire::{GaugeList, GaugeState, Port, PortState};

use crate::{Page, PageFrame, address, gauge_words};

#[derive(Template)]
#[template(path = "gauges.html")]
struct GaugesPage<'a> {
    frame: &'a PageFrame,
    gauges: &'a [GaugeState],
    list: &'a GaugeList,
    /// The ports that no gauge of the register uses.
    ports: Vec<&'a Port>,
    /// The paths of the USB adapters among all ports, for the script that waits for another.
    adapters: String,
}

impl GaugesPage<'_> {
    /// A gauge's last check in words.
    fn last_check(&self, name: &str) -> String {
        let history = self.list.history.get(name);
        history
            .and_then(|h| h.last_check.as_ref())
            .map_or_else(|| "never".to_owned(), gauge_words::check_in_words)
    }
}

/// All gauges, each with how it is now, and the ports at which one may be listened for.
///
/// # Errors
/// A fault of the template.
pub fn gauges(frame: &PageFrame, list: &GaugeList, ports: &[Port]) -> Page {
    let on_usb = ports.iter().filter(|port| port.identity.is_some());
    let adapters: Vec<&str> = on_usb.map(|port| port.path.as_str()).collect();
    GaugesPage {
        frame,
        gauges: &list.gauges,
        list,
        ports: ports.iter().filter(|port| port.gauge.is_none()).collect(),
        adapters: adapters.join(" "),
    }
    .render()
}

/// Whether a port can be listened at.
fn can_listen(port: &Port) -> bool {
    matches!(
        port.state,
        PortState::Free | PortState::InUse | PortState::Busy
    )
}
