//! Units as gauges spell them. An ambiguous spelling is not understood.

use benchhand_drivers::unit::{Unit, sent};

/// The unit of a word behind a number. `None` if the word is ambiguous or unknown.
///
/// Symbols beyond ASCII are written as one character for each byte.
pub(crate) fn unit(word: &str) -> Option<Unit> {
    // A degree sign alone can be an angle, a temperature, or a byte of a checksum.
    if !word.is_ascii() && word.chars().count() < 3 && !word.chars().any(|c| c.is_ascii()) {
        return None;
    }
    let plain = plain(word);
    let word = plain.as_str();
    // Single capitals are flags as often as units: G can mean gross, L low, C a channel.
    if word.len() == 1 && word.chars().all(|c| c.is_ascii_uppercase()) {
        return None;
    }
    // These mean a thousandth of an inch or a millilitre, a grain or a gram.
    if matches!(word.to_ascii_lowercase().as_str(), "mil" | "mils" | "gr") {
        return None;
    }
    if let Some(unit) = sent(word) {
        return (unit != Unit::One).then_some(unit);
    }
    let folded: String = word
        .to_ascii_lowercase()
        .chars()
        .filter(|c| !matches!(c, '.' | ' ' | '_'))
        .collect();
    Some(match folded.as_str() {
        "mm" | "millimetre" | "millimeter" | "millimetres" | "millimeters" => Unit::Millimetre,
        "um" | "micron" | "microns" => Unit::Micrometre,
        "in" | "inch" | "inches" => Unit::Inch,
        "thou" => Unit::Thou,
        "cc" | "ml" | "cm3" | "cm^3" => Unit::CubicCentimetre,
        "ltr" | "litre" | "liter" => Unit::Litre,
        "gram" | "grams" | "gm" => Unit::Gram,
        "mg" => Unit::Milligram,
        "kg" | "kgs" => Unit::Kilogram,
        "oz" => Unit::Ounce,
        "lb" | "lbs" => Unit::Pound,
        "pa" => Unit::Pascal,
        "hpa" | "mbar" | "mb" => Unit::Hectopascal,
        "kpa" => Unit::Kilopascal,
        "bar" => Unit::Bar,
        "psi" | "psig" | "psid" => Unit::Psi,
        "inh2o" | "inchh2o" | "inwater" | "inwc" | "inwg" | "\"wc" | "\"h2o" | "iwc" => {
            Unit::InchWater
        }
        "mmh2o" | "mmwc" | "mmwg" => Unit::MillimetreWater,
        "inhg" => Unit::InchMercury,
        "mmhg" => Unit::MillimetreMercury,
        "cfm" => Unit::CubicFootPerMinute,
        "l/min" | "lpm" => Unit::LitrePerMinute,
        "m3/h" => Unit::CubicMetrePerHour,
        "degc" => Unit::Celsius,
        "degf" => Unit::Fahrenheit,
        "deg" => Unit::Degree,
        "%rh" => Unit::PercentHumidity,
        _ => return None,
    })
}

/// Replaces the symbols for micro, degree, square and cube (Latin-1 or UTF-8) by letters and
/// digits.
fn plain(word: &str) -> String {
    // An inch mark stands alone or in front. At the end it closes a quoted word.
    let mut word = match word.strip_suffix('"') {
        Some(quoted) if !quoted.is_empty() => quoted.trim_start_matches('"').to_owned(),
        _ => word.to_owned(),
    };
    for (sign, letters) in [
        ("\u{C2}\u{B5}", "u"),
        ("\u{CE}\u{BC}", "u"),
        ("\u{B5}", "u"),
        ("\u{C2}\u{B0}", "deg"),
        ("\u{B0}", "deg"),
        ("\u{C2}\u{B2}", "2"),
        ("\u{B2}", "2"),
        ("\u{C2}\u{B3}", "3"),
        ("\u{B3}", "3"),
    ] {
        word = word.replace(sign, letters);
    }
    word
}

/// Whether a word is part of a composed unit: "in lb", "g m", "oz.in".
pub(crate) fn is_part(word: &str) -> bool {
    matches!(
        word,
        "lb" | "lbs"
            | "lbf"
            | "lbin"
            | "oz"
            | "in"
            | "ft"
            | "m"
            | "cm"
            | "mm"
            | "s"
            | "sec"
            | "min"
            | "h"
            | "hr"
            | "kg"
            | "g"
            | "gf"
            | "kgf"
            | "cc"
            | "ml"
            | "l"
            | "rad"
            | "rev"
    )
}

/// Whether a word beside a number says that the number is not the measured value.
pub(crate) fn is_beside(word: &str) -> bool {
    matches!(
        word.to_ascii_lowercase()
            .trim_matches(|c: char| !c.is_alphanumeric()),
        "c" | "f"
            | "t"
            | "temp"
            | "tmp"
            | "temperature"
            | "degc"
            | "degf"
            | "v"
            | "bat"
            | "batt"
            | "vbat"
            | "battery"
            | "s"
            | "ms"
            | "sec"
            | "time"
            | "t_ms"
            | "cnt"
            | "count"
            | "n"
            | "no"
            | "seq"
            | "id"
            | "sn"
            | "rh"
            | "%rh"
            | "hum"
            | "humidity"
    )
}
