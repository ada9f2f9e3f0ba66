//! The gauges of the shop.

use askama::Template;
use benchhand_wire::{GaugeList, GaugeState};

use crate::{Frame, Page, address};

#[derive(Template)]
#[template(path = "gauges.html")]
struct GaugesPage<'a> {
    frame: &'a Frame,
    gauges: &'a [GaugeState],
}

/// All gauges, each with how it is now.
///
/// # Errors
/// A fault of the template.
pub fn gauges(frame: &Frame, list: &GaugeList) -> Page {
    GaugesPage {
        frame,
        gauges: &list.gauges,
    }
    .render()
}

/// A live value with the digits that its gauge sends.
fn digits(value: &f64, decimals: &u8) -> String {
    format!("{value:.*}", usize::from(*decimals))
}
