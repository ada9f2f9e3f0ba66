//! The sources of the compression's uncertainty: what to measure better first.

use benchhand_blueprint::report::{BudgetShare, CylinderReport};

use crate::digits::rounded_like_u;

/// Number of sources that are named. More would not help to decide.
const NAMED: usize = 4;

/// One or two sentences about the cylinder with the most uncertain compression. `None` if no
/// cylinder has a compression.
pub(super) fn sentence(rows: &[CylinderReport]) -> Option<String> {
    let u = |one: &CylinderReport| {
        one.compression
            .clone()
            .and_then(|figure| figure.u.or(figure.u_known))
            .unwrap_or(-1.0)
    };
    let worst = rows.iter().max_by(|a, b| u(a).total_cmp(&u(b)))?;
    let compression = worst.compression.clone()?;
    let mut text = match worst.compression_expanded {
        Some(expanded) => format!(
            "The compression of cylinder {} is known to ± {} (95 %, k = {:.1})",
            worst.cylinder,
            rounded_like_u(expanded.value),
            expanded.k
        ),
        None => format!(
            "The compression of cylinder {} is known to ± {} (95 %) without what is lacking",
            worst.cylinder,
            rounded_like_u(compression.expanded_known()?)
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
fn named(share: &BudgetShare) -> Option<String> {
    let u = share.contribution.clone()?.value;
    if u <= 0.0 {
        return None;
    }
    Some(format!("{} ({})", share.source, rounded_like_u(u)))
}

#[cfg(test)]
mod tests {
    use benchhand_blueprint as blueprint;
    use blueprint::report::{ReportInputs, report};

    use super::*;

    const READINGS: &str = include_str!("../../../../cli/tests/files/twin.csv");
    const ENGINE: &str = include_str!("../../../../cli/tests/files/twin.toml");

    fn of_engine(text: &str) -> String {
        let engine = blueprint::Engine::from_toml(text).expect("a good engine file");
        let readings = blueprint::readings::from_csv(READINGS, &engine).expect("good readings");
        let inputs = ReportInputs {
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
    fn a_dimension_of_unknown_uncertainty_is_left_out_and_said_to_be() {
        let text = of_engine(&ENGINE.replace("1.0 mm +- 0.02 mm", "1.0 mm"));
        assert!(text.contains("without what is lacking"), "{text}");
        assert!(!text.contains("gasket thickness"), "{text}");
    }
}
