//! A figure with its ± at 95 %, as people see it.

use benchhand_blueprint::report::ExpandedUncertainty;
use benchhand_blueprint::{Figure, Unit};

use crate::digits::{decimals_of, rounded, usual_decimals};

/// A figure and half the width of its interval for 95 %, in the figure's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated {
    /// The value.
    pub value: f64,
    /// Half the width; `None` where nothing of it is known.
    pub half_width: Option<f64>,
    /// The unit.
    pub unit: Unit,
}

impl Stated {
    /// A figure, by its own expanded uncertainty where the document has one; twice its standard
    /// uncertainty, or twice what is known of it, otherwise.
    pub fn of(figure: &Figure, expanded: Option<&ExpandedUncertainty>) -> Stated {
        let twice = figure.u.or(figure.u_known).map(|u| 2.0 * u);
        Stated {
            value: figure.value,
            half_width: expanded.map(|one| one.value).or(twice),
            unit: figure.unit,
        }
    }

    /// Decimals at which its ± has two digits; of a ± of nothing, those usual for the unit.
    pub fn decimals(&self) -> i32 {
        let usual = usual_decimals(self.unit.symbol());
        match self.half_width.filter(|width| *width > 0.0) {
            Some(width) => decimals_of(width).min(usual + 1),
            None => usual,
        }
    }

    /// The value alone, to the place of its ±.
    pub fn value(&self) -> String {
        rounded(self.value, self.decimals())
    }

    /// The ± alone; `?` where it is not known.
    pub fn width(&self) -> String {
        match self.half_width {
            Some(width) => rounded(width, self.decimals()),
            None => "?".to_owned(),
        }
    }
}
