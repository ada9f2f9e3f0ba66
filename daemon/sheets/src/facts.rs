//! The documents that every sheet is made of.

use benchhand_blueprint::answers::ComparedFlowAtLift;
use benchhand_blueprint::{Engine, Report};
use benchhand_wire::{OrderShown, SheetNote};

/// What a sheet is made of.
#[derive(Debug, Clone, Copy)]
pub struct SheetFacts<'a> {
    /// The report of the stage.
    pub report: &'a Report,
    /// The report of the stage before the last cut that changed flow; `None` where there is none.
    pub before: Option<&'a Report>,
    /// How far flow went from that stage to this one.
    pub flow_changes: &'a [ComparedFlowAtLift],
    /// The engine.
    pub engine: &'a Engine,
    /// Whose sheet it is.
    pub shop: &'a ShopShown,
    /// The gauges behind the readings.
    pub gauges: &'a [GaugeUsed],
    /// Every order in the job's record.
    pub orders: &'a [OrderShown],
    /// What the sheet carries of its origin.
    pub note: &'a SheetNote,
    /// When the stage's last reading was kept, RFC 3339; `None` where there is none.
    pub kept: Option<&'a str>,
}

/// The shop as its sheets show it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ShopShown {
    /// Its name; empty where nobody has said.
    pub name: String,
    /// Its address, line by line.
    pub address: Vec<String>,
    /// Its mark.
    pub mark: Option<ShopMark>,
}

/// A shop's mark, as its file holds it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShopMark {
    /// What kind of picture it is.
    pub kind: MarkKind,
    /// The file.
    pub bytes: Vec<u8>,
}

/// A kind of picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkKind {
    /// SVG.
    Svg,
    /// PNG.
    Png,
}

/// A gauge behind the readings on which a sheet's figures rest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GaugeUsed {
    /// Its name; what was typed without a gauge is named so.
    pub name: String,
    /// How many of these readings it gave, or a part of.
    pub readings: usize,
    /// When it was last checked, and against what, in words.
    pub checked: String,
}
