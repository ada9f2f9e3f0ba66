//! The same route with a mean of another length.

use super::text::{Route, RouteError};

/// The window of a mean, s, that nobody changed. It is the default of the capture.
const USUAL_S: f64 = 15.0;
/// A mean of less holds too little of a surge that lasts for 2 s; more is drift.
pub const MEAN_S: std::ops::RangeInclusive<f64> = 5.0..=60.0;

/// The text of a route whose means are taken over so many seconds. The route says among its cautions
/// what a shorter one costs.
///
/// # Errors
/// Where the text is no route's, or it has no mean.
pub fn with_means_of(seconds: f64, text: &str, file: &str) -> Result<Option<String>, RouteError> {
    Route::parse(text, file)?;
    let Ok(mut table) = text.parse::<toml::Table>() else {
        return Ok(None);
    };
    let mut changed = false;
    for step in table
        .get_mut("step")
        .and_then(toml::Value::as_array_mut)
        .into_iter()
        .flatten()
    {
        let Some(step) = step.as_table_mut() else {
            continue;
        };
        if step.get("mode").and_then(toml::Value::as_str) == Some("average") {
            let settings = step
                .entry("settings")
                .or_insert_with(|| toml::Table::new().into());
            if let Some(settings) = settings.as_table_mut() {
                settings.insert("window_s".to_owned(), seconds.into());
                changed = true;
            }
        }
    }
    if !changed {
        return Ok(None);
    }
    if seconds < USUAL_S {
        let cautions = table
            .entry("cautions")
            .or_insert_with(|| toml::Value::Array(Vec::new()));
        if let Some(cautions) = cautions.as_array_mut() {
            cautions.push(costs(seconds).into());
        }
    }
    Ok(toml::to_string(&table).ok())
}

/// What a shorter mean costs. The error of a mean falls with the root of its length, more slowly where
/// surges are long.
fn costs(seconds: f64) -> String {
    format!(
        "Means of {seconds} s: a surge leaves about {:.1} times the error that it leaves in {USUAL_S} s, and the report's uncertainty holds of it only what a second round shows.",
        (USUAL_S / seconds).sqrt()
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::capture::{CaptureMode, CaptureSettings};
    use crate::route::shipped;

    #[test]
    fn a_flow_route_takes_means_of_the_length_that_was_asked_for_and_says_what_it_costs() {
        let (_, text) = shipped()
            .find(|(name, _)| *name == "flow")
            .expect("it is shipped");
        let shorter = with_means_of(6.0, text, "flow")
            .expect("a route")
            .expect("it has means");
        let route = Route::parse(&shorter, "flow").expect("a route still");
        assert_eq!(route.steps[0].settings["window_s"].as_float(), Some(6.0));
        let said = route.cautions.last().expect("a caution");
        assert!(said.contains("6 s") && said.contains("1.6 times"), "{said}");
        let CaptureSettings::Average(usual) = CaptureSettings::of(CaptureMode::Average) else {
            panic!("another mode")
        };
        assert_eq!(usual.window_s, USUAL_S);
        let (_, chambers) = shipped()
            .find(|(name, _)| *name == "chambers")
            .expect("one");
        assert_eq!(
            with_means_of(6.0, chambers, "chambers").expect("a route"),
            None
        );
    }
}
