//! Lifts, depths and crank angles as parts of a spot: exact, so that they can be compared.
//!
//! A lift in a spot is the one that was asked for; the lift as measured belongs to the reading.

use std::fmt;

/// A lift or a depth, held in whole nanometres: one thousandth of an inch is 25,400 of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SpotLength {
    nanometres: i64,
}

impl SpotLength {
    /// In millimetres.
    pub fn mm(self) -> f64 {
        self.nanometres as f64 / 1e6
    }

    /// In inches.
    pub fn inches(self) -> f64 {
        self.nanometres as f64 / 25.4e6
    }

    /// Reads "7.62mm", "0.300in" or "300thou"; decimals are exact to the nanometre.
    pub(super) fn parse(text: &str) -> Option<SpotLength> {
        let (number, unit) = crate::units::split_number(text);
        let number = &*crate::units::pointed(number).ok()?;
        let per_unit: i128 = match unit {
            "mm" => 1_000_000,
            "in" => 25_400_000,
            "thou" => 25_400,
            "um" => 1_000,
            "cm" => 10_000_000,
            _ => return None,
        };
        let nanometres = scaled_decimal(number, per_unit)?;
        (nanometres.unsigned_abs() < 1_000_000_000_000_000).then(|| {
            i64::try_from(nanometres)
                .ok()
                .map(|nanometres| SpotLength { nanometres })
        })?
    }
}

impl fmt::Display for SpotLength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_decimal(f, self.nanometres, 1_000_000, 6)?;
        f.write_str("mm")
    }
}

/// A crank angle, held in thousandths of a degree; positive after top dead centre, above −180° and up
/// to 180°: 350° is 10° before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct CrankAngle {
    millidegrees: i64,
}

impl CrankAngle {
    /// In degrees.
    pub fn degrees(self) -> f64 {
        self.millidegrees as f64 / 1e3
    }

    /// Reads "10deg" or "-12.5deg", within two turns, as the angle of the same throw next to top dead
    /// centre.
    pub(super) fn parse(text: &str) -> Option<CrankAngle> {
        let millidegrees = scaled_decimal(text.strip_suffix("deg")?, 1000)?;
        let turned = millidegrees.rem_euclid(360_000);
        let nearest = if turned > 180_000 {
            turned.saturating_sub(360_000)
        } else {
            turned
        };
        (millidegrees.abs() <= 720_000).then(|| {
            i64::try_from(nearest)
                .ok()
                .map(|millidegrees| CrankAngle { millidegrees })
        })?
    }
}

impl fmt::Display for CrankAngle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_decimal(f, self.millidegrees, 1000, 3)?;
        f.write_str("deg")
    }
}

/// A decimal text times a whole number, rounded to the nearest whole.
fn scaled_decimal(text: &str, scale: i128) -> Option<i128> {
    let text = text.trim();
    let (negative, digits) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let figures = whole.len().saturating_add(fraction.len());
    let all_digits = whole
        .bytes()
        .chain(fraction.bytes())
        .all(|b| b.is_ascii_digit());
    if figures == 0 || figures > 18 || !all_digits {
        return None;
    }
    let number: i128 = format!("{whole}{fraction}").parse().ok()?;
    let power = 10i128.checked_pow(u32::try_from(fraction.len()).ok()?)?;
    let scaled = number
        .checked_mul(scale)?
        .checked_add(power / 2)?
        .checked_div(power)?;
    if negative {
        scaled.checked_neg()
    } else {
        Some(scaled)
    }
}

/// A whole number of 1/`per` as the shortest decimal.
fn write_decimal(f: &mut fmt::Formatter<'_>, value: i64, per: u64, places: usize) -> fmt::Result {
    if value < 0 {
        f.write_str("-")?;
    }
    let value = value.unsigned_abs();
    let (whole, rest) = (value.checked_div(per), value.checked_rem(per));
    write!(f, "{}", whole.ok_or(fmt::Error)?)?;
    let fraction = format!("{:0places$}", rest.ok_or(fmt::Error)?);
    let fraction = fraction.trim_end_matches('0');
    if fraction.is_empty() {
        Ok(())
    } else {
        write!(f, ".{fraction}")
    }
}
