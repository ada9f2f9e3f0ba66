//! Gauges and what is known of their errors.

/// What sort of instrument a gauge is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum GaugeKind {
    /// Delivers volume; a reading is the difference of two levels.
    Burette,
    /// Weighs.
    Balance,
    /// Length by a moving plunger, zeroed by hand: dial and electronic indicators, depth gauges.
    Dial,
    /// Length between two faces: micrometers, calipers, bore gauges.
    Micrometer,
    /// Pressure difference.
    Manometer,
    /// Temperature.
    Thermometer,
    /// Air pressure.
    Barometer,
    /// Relative humidity.
    Hygrometer,
    /// Crank angle.
    Protractor,
}

impl GaugeKind {
    /// All kinds, with their names in the engine file.
    pub const NAMES: [(&'static str, GaugeKind); 9] = [
        ("burette", GaugeKind::Burette),
        ("balance", GaugeKind::Balance),
        ("dial", GaugeKind::Dial),
        ("micrometer", GaugeKind::Micrometer),
        ("manometer", GaugeKind::Manometer),
        ("thermometer", GaugeKind::Thermometer),
        ("barometer", GaugeKind::Barometer),
        ("hygrometer", GaugeKind::Hygrometer),
        ("protractor", GaugeKind::Protractor),
    ];

    /// What it measures.
    pub fn measures(self) -> crate::units::QuantityKind {
        use crate::units::QuantityKind;
        match self {
            GaugeKind::Burette => QuantityKind::Volume,
            GaugeKind::Balance => QuantityKind::Mass,
            GaugeKind::Dial | GaugeKind::Micrometer => QuantityKind::Length,
            GaugeKind::Manometer | GaugeKind::Barometer => QuantityKind::Pressure,
            GaugeKind::Thermometer => QuantityKind::Temperature,
            GaugeKind::Hygrometer => QuantityKind::Humidity,
            GaugeKind::Protractor => QuantityKind::Angle,
        }
    }

    /// Whether a reading is the difference of two displayed values: two levels of a burette, two
    /// weights of a balance. Its rounding is then triangular between −q and q, of variance q²/6
    /// (JCGM 101:2008 6.4.5), and not rectangular of variance q²/12.
    pub fn is_difference(self) -> bool {
        matches!(self, GaugeKind::Burette | GaugeKind::Balance)
    }

    /// Variance that rounding gives to one reading, for a display with steps of `step`.
    pub(crate) fn rounding_variance(self, step: f64) -> f64 {
        step * step / if self.is_difference() { 6.0 } else { 12.0 }
    }
}

/// What is known of one gauge. All values are in the base unit of what it measures; what is
/// `None` is not known.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeEntry {
    /// What sort of instrument it is.
    pub kind: GaugeKind,
    /// The step of its display or scale.
    pub resolution: Option<f64>,
    /// Standard uncertainty of its calibration, shared by all readings that it gave.
    pub u: Option<f64>,
    /// Degrees of freedom of `u`.
    pub u_dof: f64,
    /// Standard uncertainty of its scale, as a fraction of the reading, shared by all of them.
    pub scale_u: Option<f64>,
    /// Standard uncertainty of one zeroing.
    pub zero_u: Option<f64>,
    /// How far checks of its zero found it off, 0 where none did: meanwhile it stood anywhere within.
    pub zero_off: f64,
    /// Whether it is zeroed anew for every reading; otherwise the error of the zero is shared.
    pub zeroed_each: bool,
    /// Standard deviation of repeats that were set up anew.
    pub repeatability: Option<f64>,
    /// Degrees of freedom of `repeatability`; infinite if it is taken as known.
    pub repeatability_dof: f64,
    /// When it was last checked, as its owner wrote it.
    pub checked: Option<String>,
}

impl GaugeEntry {
    /// A gauge of which nothing is known but its kind.
    pub fn unknown(kind: GaugeKind) -> GaugeEntry {
        GaugeEntry {
            kind,
            resolution: None,
            u: None,
            u_dof: f64::INFINITY,
            scale_u: None,
            zero_u: None,
            zero_off: 0.0,
            zeroed_each: false,
            repeatability: None,
            repeatability_dof: f64::INFINITY,
            checked: None,
        }
    }
}
