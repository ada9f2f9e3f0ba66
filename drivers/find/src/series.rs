//! How a number moves from record to record: it stays, counts, runs with the clock, or moves like
//! a measured value.

use crate::seven::share;

/// The way in which a field moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum FieldCourse {
    /// The number never changes.
    Constant,
    /// The number changes by the same step each time.
    Counter,
    /// The number rises steadily, like a clock.
    Clock,
    /// The number hardly moves, and by single counts.
    Still,
    /// The number moves like a measured value.
    Moving,
}

/// The course of a field. `count` is the size of the last digit.
pub(crate) fn course(values: &[f64], count: f64) -> FieldCourse {
    let Some((first, rest)) = values.split_first() else {
        return FieldCourse::Constant;
    };
    if rest.iter().all(|value| value == first) {
        return FieldCourse::Constant;
    }
    let steps: Vec<f64> = values.windows(2).map(|pair| pair[1] - pair[0]).collect();
    if values.len() >= 4 && steady(&steps) {
        return FieldCourse::Counter;
    }
    if values.len() >= 6 && running(&steps) {
        return FieldCourse::Clock;
    }
    let (low, high) = extent(values);
    if high - low <= 6.0 * count * 1.001 {
        return FieldCourse::Still;
    }
    FieldCourse::Moving
}

fn extent(values: &[f64]) -> (f64, f64) {
    values.iter().fold((f64::MAX, f64::MIN), |(low, high), v| {
        (low.min(*v), high.max(*v))
    })
}

/// Whether nearly all steps are the same. A counter may start over now and then.
fn steady(steps: &[f64]) -> bool {
    let mut sorted = steps.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted[sorted.len() / 2];
    let alike = steps
        .iter()
        .filter(|step| (**step - middle).abs() < 1e-9)
        .count();
    let anew = steps.iter().filter(|step| **step * middle < 0.0).count();
    middle != 0.0 && share(alike + anew, steps.len()) > 0.9 && share(anew, steps.len()) < 0.3
}

/// Whether the number always rises, by similar steps.
fn running(steps: &[f64]) -> bool {
    let (low, high) = extent(steps);
    low > 0.0 && high < 1.5 * low
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn courses_are_told_apart() {
        let is =
            |values: &[f64], expected| assert_eq!(course(values, 0.01), expected, "{values:?}");
        is(&[1.0; 5], FieldCourse::Constant);
        is(&[7.0, 8.0, 9.0, 10.0, 11.0], FieldCourse::Counter);
        is(
            &[7.0, 8.0, 9.0, 0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0],
            FieldCourse::Counter,
        );
        is(&[98.0, 99.0, 0.0, 1.0, 2.0, 3.0], FieldCourse::Counter);
        is(
            &[100.0, 201.0, 299.0, 401.0, 500.0, 602.0, 700.0],
            FieldCourse::Clock,
        );
        is(
            &[23.41, 23.42, 23.41, 23.43, 23.42, 23.42],
            FieldCourse::Still,
        );
        is(&[1.0, 1.5, 2.7, 2.1, 0.4, 0.2], FieldCourse::Moving);
    }
}
