//! Where the uncertainty of the compression comes from: what to measure better first.

use benchhand_blueprint::report::{CylinderReport, Share};

use crate::show::figure::rounded_like_u;

/// How many sources are named: enough to act on.
const NAMED: usize = 4;

/// A sentence or two on the cylinder whose compression is known worst; nothing where none has a
/// compression.
pub(super) fn sentence(rows: &[CylinderReport]) -> Option<String> {
    let unknown = |one: &CylinderReport| one.compression.is_some_and(|figure| figure.u.is_none());
    if let Some(one) = rows.iter().find(|one| unknown(one)) {
        let sources = one
            .compression_budget
            .iter()
            .filter(|share| share.contribution.is_none());
        let names: Vec<&str> = sources.map(|share| share.source.as_str()).collect();
        return Some(format!(
            "How well the compression of cylinder {} is known cannot be told while the \
             uncertainty of these is not known: {}\n",
            one.cylinder,
            if names.is_empty() {
                "not said".to_owned()
            } else {
                names.join(", ")
            }
        ));
    }
    let u = |one: &CylinderReport| one.compression.and_then(|figure| figure.u).unwrap_or(-1.0);
    let worst = rows.iter().max_by(|a, b| u(a).total_cmp(&u(b)))?;
    worst.compression?;
    let mut text = match worst.compression_expanded {
        Some(expanded) => format!(
            "The compression of cylinder {} is known to ± {} (95 %, k = {:.1})",
            worst.cylinder,
            rounded_like_u(expanded.value),
            expanded.k
        ),
        None => format!(
            "The compression of cylinder {} is known worst",
            worst.cylinder
        ),
    };
    let shares: Vec<String> = worst
        .compression_budget
        .iter()
        .take(NAMED)
        .filter_map(named)
        .collect();
    if !shares.is_empty() {
        text += &format!("; most of its u comes from {}", shares.join(", "));
    }
    Some(text + "\n")
}

/// `gasket thickness (0.013)`.
fn named(share: &Share) -> Option<String> {
    let u = share.contribution?.value;
    if u <= 0.0 {
        return None;
    }
    Some(format!("{} ({})", share.source, rounded_like_u(u)))
}

#[cfg(test)]
mod tests {
    use benchhand_blueprint as blueprint;
    use blueprint::report::{Inputs, report};

    use super::*;

    const READINGS: &str = include_str!("../../../tests/files/twin.csv");
    const ENGINE: &str = include_str!("../../../tests/files/twin.toml");

    fn of_engine(text: &str) -> String {
        let engine = blueprint::Engine::from_toml(text).expect("a good engine file");
        let readings = blueprint::readings::from_csv(READINGS, &engine).expect("good readings");
        let inputs = Inputs {
            engine: &engine,
            readings: &readings,
            stages: &[],
            stage: None,
        };
        sentence(&report(&inputs).expect("a report").cylinders).expect("a sentence")
    }

    #[test]
    fn the_largest_sources_are_named_with_what_they_contribute() {
        let text = of_engine(ENGINE);
        assert!(
            text.starts_with("The compression of cylinder 2 is known to ± 0.0"),
            "{text}"
        );
        assert!(text.contains("95 %, k = "), "{text}");
        assert!(text.contains("gasket thickness (0.0"), "{text}");
    }

    #[test]
    fn a_dimension_of_unknown_uncertainty_is_named() {
        let text = of_engine(&ENGINE.replace("1.0 mm +- 0.02 mm", "1.0 mm"));
        assert!(text.contains("cannot be told"), "{text}");
        assert!(text.contains("gasket thickness"), "{text}");
    }
}
