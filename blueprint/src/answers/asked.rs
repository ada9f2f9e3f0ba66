//! The questions that can be asked, each by its name, with their fields.
//!
//! Values are texts with their units, as they were typed: `0.040 in`, or with a standard uncertainty
//! `0.040 in +- 0.001 in`.

use serde::{Deserialize, Serialize};

use crate::decide::MadeEqual;

/// A question, as it stands in a request: `{"ask": "dome", "ratio": 10.8}`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "ask", rename_all = "kebab-case")]
pub enum Question {
    /// How deep to mill each head.
    Mill(MillAsked),
    /// What to grind out of each chamber so that all become equal.
    Chambers(ChambersAsked),
    /// Which crown to order for a target ratio.
    Dome(DomeAsked),
    /// Which of the gaskets at hand to take.
    Gasket(GasketAsked),
    /// Which piston and rod into which bore.
    Fit(FitAsked),
    /// Which reading, taken once more, tells most.
    Next(NextAsked),
    /// What if dimensions were changed.
    WhatIf(WhatIfAsked),
    /// Two stages or two jobs beside each other.
    Compare(CompareAsked),
    /// Port against port of its kind.
    Ports(PortsAsked),
    /// What the compression answers to.
    Sensitivities(SensitivitiesAsked),
    /// The effective ratio from the intake valve's closing.
    Effective(EffectiveAsked),
    /// What separates each cylinder from a target ratio.
    Target(TargetAsked),
    /// The figures by simulation.
    Simulate(SimulateAsked),
}

macro_rules! asked {
    ($($(#[$about:meta])* $name:ident { $($(#[$field_about:meta])* $field:ident: $type:ty,)* })*) => {$(
        $(#[$about])*
        #[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[serde(deny_unknown_fields, default)]
        pub struct $name {
            $($(#[$field_about])* pub $field: $type,)*
        }
    )*};
}

asked! {
    /// How deep to mill. Without `ratio` and `chamber` the engine file's target is aimed at.
    MillAsked {
        /// The mean ratio to aim at.
        ratio: Option<f64>,
        /// The mean chamber volume to aim at.
        chamber: Option<String>,
        /// The cylinders whose chambers are cut; each bank by itself where empty.
        cylinders: Vec<u32>,
        /// Area of a chamber's opening at the deck; the engine file's where absent.
        area: Option<String>,
        /// Learn from the cuts already made, though an area is stated.
        learn: bool,
        /// Angle of a tipped cut.
        angle: Option<String>,
        /// Distance of the centroid of the chambers' openings from the line about which the cut is
        /// tipped, positive toward the deep side.
        centroid: Option<String>,
        /// Distance of the face's edge on the deep side from that line.
        far_edge: Option<String>,
        /// The most that may be cut in all; the engine file's where absent.
        most: Option<String>,
        /// Reckon as if the chambers had first been opened to make these equal, where the opening is
        /// more than its own uncertainty; as they are where absent.
        opened: Option<MadeEqual>,
    }
    /// What becomes of the chambers; all become equal where absent.
    ChambersAsked {
        /// Chambers, compression, or no more than is allowed.
        equal: Option<MadeEqual>,
    }
    /// Which crown to order.
    DomeAsked {
        /// The target ratio; that of the engine file where absent.
        ratio: Option<f64>,
        /// By how much a ratio may be off the target; half of the engine file's
        /// `compression_spread` where absent.
        ratio_tolerance: Option<f64>,
    }
    /// Which gasket to take.
    GasketAsked {
        /// The target ratio; that of the engine file where absent.
        ratio: Option<f64>,
        /// The gaskets at hand.
        offers: Vec<GasketOffered>,
    }
    /// A gasket at hand.
    GasketOffered {
        /// Name.
        name: String,
        /// Diameter of its opening.
        bore: String,
        /// Compressed thickness.
        thickness: String,
    }
    /// The parts to be built in, as many of each as there are cylinders.
    FitAsked {
        /// The pistons.
        pistons: Vec<PistonOffered>,
        /// The rods.
        rods: Vec<RodOffered>,
    }
    /// A piston.
    PistonOffered {
        /// Name.
        id: String,
        /// Crown volume, dome positive.
        crown: String,
        /// Compression height.
        height: String,
        /// Offset of its pin; none where absent.
        pin_offset: Option<String>,
        /// The bank that its pockets and its pin offset fit; any where absent.
        side: Option<String>,
        /// The cylinder in which it is already fitted.
        fitted: Option<u32>,
    }
    /// A rod.
    RodOffered {
        /// Name.
        id: String,
        /// Length, centre to centre.
        length: String,
        /// The bank that its chamfer fits; any where absent.
        side: Option<String>,
        /// The cylinder in which it is already fitted.
        fitted: Option<u32>,
    }
    /// Which reading to take next.
    NextAsked {
        /// `compression`, `compression_spread`, `chamber_spread`, `deck_spread`; all where absent.
        goal: Option<String>,
        /// The compression of this cylinder instead.
        cylinder: Option<u32>,
    }
    /// Changes, applied together.
    WhatIfAsked {
        /// Such as `gasket thickness = 0.051 in` or `chamber/3 -= 2 cc`.
        set: Vec<String>,
    }
    /// The other side comes beside the question.
    CompareAsked {}
    /// Port against port.
    PortsAsked {}
    /// What the compression answers to.
    SensitivitiesAsked {
        /// The cylinder; the first whose compression is known where absent.
        cylinder: Option<u32>,
    }
    /// The intake valve's closing.
    EffectiveAsked {
        /// Crank angle after bottom dead centre.
        closing: String,
        /// The lift at which the closing is quoted.
        at_lift: String,
        /// Rod length; the engine file's where absent.
        rod: Option<String>,
        /// Offset of pin or bore; the engine file's where absent, none where that states none.
        offset: Option<String>,
    }
    /// What separates each cylinder from a target.
    TargetAsked {
        /// The target ratio; that of the engine file where absent.
        ratio: Option<f64>,
    }
    /// How often to draw.
    SimulateAsked {
        /// How many draws; 100000 where absent.
        trials: Option<usize>,
        /// The seed of the draws; always the same one where absent.
        seed: Option<u64>,
    }
}
