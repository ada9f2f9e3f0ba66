//! Values as a person writes them in a gauge's text.

use std::fmt;
use std::str::FromStr;

use benchhand_drivers::Unit;
use serde::{Deserialize, Serialize};

/// Vendor and product of a USB device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct UsbId {
    /// The vendor's number.
    pub vendor: u16,
    /// The product's number.
    pub product: u16,
}

impl fmt::Display for UsbId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04x}:{:04x}", self.vendor, self.product)
    }
}

impl From<UsbId> for String {
    fn from(id: UsbId) -> Self {
        id.to_string()
    }
}

impl TryFrom<String> for UsbId {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        let number = |part: &str| match part.len() {
            4 => u16::from_str_radix(part, 16).ok(),
            _ => None,
        };
        let parts = text.split_once(':');
        parts
            .and_then(|(vendor, product)| {
                Some(UsbId { vendor: number(vendor)?, product: number(product)? })
            })
            .ok_or_else(|| {
                format!("found {text:?}, expected vendor and product as 4 and 4 hexadecimal digits: \"0403:6001\"")
            })
    }
}

/// A number with its unit, as `"0.002 mm"`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Quantity {
    /// The number, in `unit`; always finite.
    pub value: f64,
    /// The unit.
    pub unit: Unit,
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.value, self.unit)
    }
}

impl From<Quantity> for String {
    fn from(quantity: Quantity) -> Self {
        quantity.to_string()
    }
}

impl TryFrom<String> for Quantity {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        text.parse()
    }
}

impl FromStr for Quantity {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let expected = || {
            format!(
                "found {text:?}, expected a number and its unit, such as \"0.002 mm\" or \"0.04 cc\", with a point and no comma"
            )
        };
        let text = text.trim();
        let in_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-');
        // Nothing but an exponent may follow the `e` of a number.
        let letter = |(at, c): &(usize, char)| {
            let exponent =
                matches!(c, 'e' | 'E') && text[at + 1..].starts_with(|next: char| in_number(next));
            !in_number(*c) && !exponent
        };
        let (end, _) = text.char_indices().find(letter).ok_or_else(expected)?;
        let (number, unit) = text.split_at(end);
        let value: f64 = number.parse().map_err(|_| expected())?;
        if !value.is_finite() {
            return Err(expected());
        }
        let unit = unit
            .trim()
            .parse::<Unit>()
            .map_err(|error| error.to_string())?;
        Ok(Quantity { value, unit })
    }
}

/// A date or a time as TOML has it, with quotation marks or without.
pub(super) mod when {
    use std::fmt::Display;
    use std::str::FromStr;

    use serde::de::Error;
    use serde::{Deserialize, Deserializer, Serializer};

    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Written {
        Toml(toml::value::Datetime),
        Text(String),
    }

    pub(in super::super) fn serialize<T: Display, S: Serializer>(
        when: &T,
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        serializer.collect_str(when)
    }

    pub(in super::super) fn deserialize<'de, T: FromStr, D: Deserializer<'de>>(
        deserializer: D,
    ) -> Result<T, D::Error> {
        let text = match Written::deserialize(deserializer)? {
            Written::Toml(when) => when.to_string(),
            Written::Text(text) => text,
        };
        text.parse().map_err(|_| {
            let expected = "a date as 2026-03-02 or a time as 2026-03-02T09:00:00Z";
            D::Error::custom(format!("found {text:?}, expected {expected}"))
        })
    }

    pub(in super::super) mod optional {
        use super::{Deserializer, Display, FromStr, Serializer};

        pub(in super::super::super) fn serialize<T: Display, S: Serializer>(
            when: &Option<T>,
            serializer: S,
        ) -> Result<S::Ok, S::Error> {
            match when {
                Some(when) => serializer.collect_str(when),
                None => serializer.serialize_none(),
            }
        }

        pub(in super::super::super) fn deserialize<'de, T: FromStr, D: Deserializer<'de>>(
            deserializer: D,
        ) -> Result<Option<T>, D::Error> {
            super::deserialize(deserializer).map(Some)
        }
    }
}

/// What a gauge measures, by the word for its instrument: a burette measures volume.
pub(super) mod instrument {
    use benchhand_drivers::QuantityKind;
    use serde::de::Error;
    use serde::{Deserialize, Deserializer, Serializer};

    const WORDS: [(&str, Option<QuantityKind>); 8] = [
        ("length", Some(QuantityKind::Length)),
        ("burette", Some(QuantityKind::Volume)),
        ("balance", Some(QuantityKind::Mass)),
        ("pressure", Some(QuantityKind::Pressure)),
        ("temperature", Some(QuantityKind::Temperature)),
        ("humidity", Some(QuantityKind::Humidity)),
        ("angle", Some(QuantityKind::Angle)),
        (OTHER, None),
    ];
    /// The word for everything that has no word of its own.
    const OTHER: &str = "other";

    pub(in super::super) fn serialize<S: Serializer>(
        kind: &Option<QuantityKind>,
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        let known = WORDS.iter().find(|(_, measured)| measured == kind);
        serializer.serialize_str(known.map_or(OTHER, |(word, _)| word))
    }

    pub(in super::super) fn deserialize<'de, D: Deserializer<'de>>(
        deserializer: D,
    ) -> Result<Option<QuantityKind>, D::Error> {
        let text = String::deserialize(deserializer)?;
        let known = WORDS.iter().find(|(word, _)| *word == text);
        known.map(|(_, kind)| *kind).ok_or_else(|| {
            let words = WORDS.map(|(word, _)| format!("`{word}`")).join(", ");
            D::Error::custom(format!("unknown variant `{text}`, expected one of {words}"))
        })
    }
}
