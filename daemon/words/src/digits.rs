//! Numbers as people read them: an uncertainty to two significant digits, the value to the same
//! place (JCGM 100:2008, 7.2.6).

/// An uncertainty above zero to its two significant digits.
pub fn rounded_like_u(u: f64) -> String {
    rounded(u, decimals_of(u))
}

/// A value to so many decimals; below zero, to tens, hundreds … Never `-0`.
pub fn rounded(value: f64, decimals: i32) -> String {
    let text = if decimals >= 0 {
        format!("{value:.*}", decimals.unsigned_abs() as usize)
    } else {
        let step = 10f64.powi(-decimals);
        format!("{:.0}", (value / step).round() * step)
    };
    let zero = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
    if zero {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

/// The decimals at which `u` (above zero) has two significant digits; at most nine.
pub fn decimals_of(u: f64) -> i32 {
    // The exponent is read off the rounded number: 0.0996 has its two digits as 0.10.
    let exponent: i32 = format!("{u:.1e}")
        .split_once('e')
        .and_then(|(_, exponent)| exponent.parse().ok())
        .unwrap_or(0);
    (1 - exponent).min(9)
}

/// Decimals that are usual for a value in this unit, where its uncertainty does not tell.
pub fn usual_decimals(unit: &str) -> i32 {
    match unit {
        "in" | "kg/s" | "lb/min" => 4,
        "mm" | "g" | "in2" | "kg/m3" => 3,
        "um" | "µm" | "rpm" | "L/min" => 0,
        "cfm" | "kPa" | "Pa" | "L/s" | "degC" | "degF" | "°C" | "°F" => 1,
        _ => 2,
    }
}
