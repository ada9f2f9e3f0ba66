//! Numbers with a decimal comma, as many a person types them.

/// The signs between a value and its uncertainty.
const BETWEEN: [&str; 3] = ["+-", "+/-", "±"];

/// A value with its unit, and with its uncertainty where it has one, whose decimal commas are made
/// points: `94,3 mm ± 0,01 mm` becomes `94.3 mm ± 0.01 mm`. A text that is anything else, and a
/// number that has a point as well, stays as it is: the comma could part thousands.
#[must_use]
pub fn with_decimal_points(text: &str) -> String {
    let sign = BETWEEN.iter().find(|sign| text.contains(**sign));
    let parts: Vec<&str> = match sign {
        Some(sign) => text.split(sign).collect(),
        None => vec![text],
    };
    let told: Option<Vec<String>> = parts.into_iter().map(one).collect();
    match told {
        Some(parts) => parts.join(sign.copied().unwrap_or_default()),
        None => text.to_owned(),
    }
}

/// One value; `None` where it is none, or where what its comma means is open.
fn one(text: &str) -> Option<String> {
    let Some((whole, rest)) = text.split_once(',') else {
        return Some(text.to_owned());
    };
    let signed = whole.trim_start();
    let digits = signed.strip_prefix(['+', '-', '−']).unwrap_or(signed);
    let plain = digits.bytes().all(|b| b.is_ascii_digit());
    let begins = rest.starts_with(|c: char| c.is_ascii_digit());
    // What stands behind the digits is a unit: no further number, comma or point.
    let unit = rest.trim_start_matches(|c: char| c.is_ascii_digit()).trim();
    let alone = !unit.contains([',', '.']) && unit.split_whitespace().count() < 2;
    (plain && begins && alone).then(|| format!("{whole}.{rest}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_comma_is_a_point_and_any_other_comma_stays() {
        for (typed, told) in [
            ("94,3 mm", "94.3 mm"),
            ("-0,010in", "-0.010in"),
            ("94,3 mm +- 0,01 mm", "94.3 mm +- 0.01 mm"),
            ("64 cc ± 0,1 cc", "64 cc ± 0.1 cc"),
            ("10,5", "10.5"),
            (",5 cc", ".5 cc"),
            ("0,5 in3", "0.5 in3"),
        ] {
            assert_eq!(with_decimal_points(typed), told, "{typed}");
        }
        for other in [
            "1,234.5 mm",
            "1,2,3",
            "0,010 in off both heads",
            "a, b",
            "3, 4",
            "64.2 cc",
            "",
        ] {
            assert_eq!(with_decimal_points(other), other);
        }
    }
}
