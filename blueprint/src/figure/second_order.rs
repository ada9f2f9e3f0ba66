//! Second-order terms, for formulas whose slope vanishes where they are used.
//!
//! Source: JCGM 100:2008 (GUM) 5.1.2, note: the most important terms of next higher order for
//! symmetric distributions. The derivatives are taken numerically.

/// Standard uncertainty of a formula of independent inputs with its second-order terms, from pairs
/// of value and standard uncertainty.
///
/// The derivatives are central differences over steps of one standard uncertainty, exact for
/// formulas up to the third power in each input.
pub fn second_order_u(inputs: &[(f64, f64)], formula: impl Fn(&[f64]) -> f64) -> f64 {
    let values: Vec<f64> = inputs.iter().map(|(value, _)| *value).collect();
    let at = |moves: &[(usize, f64)]| {
        let mut moved = values.clone();
        for &(input, steps) in moves {
            moved[input] += steps * inputs[input].1;
        }
        formula(&moved)
    };
    let here = at(&[]);
    // Everything is in units of the inputs' standard uncertainties.
    let first = |i: usize| {
        let near = (at(&[(i, 1.0)]) - at(&[(i, -1.0)])) / 2.0;
        let far = (at(&[(i, 2.0)]) - at(&[(i, -2.0)])) / 4.0;
        (4.0 * near - far) / 3.0
    };
    let second = |i: usize, j: usize| {
        if i == j {
            at(&[(i, 1.0)]) - 2.0 * here + at(&[(i, -1.0)])
        } else {
            let (up, down) = ((i, 1.0), (i, -1.0));
            (at(&[up, (j, 1.0)]) - at(&[up, (j, -1.0)]) - at(&[down, (j, 1.0)])
                + at(&[down, (j, -1.0)]))
                / 4.0
        }
    };
    let third = |i: usize, j: usize| {
        // ∂³f/∂x_i∂x_j²
        if i == j {
            (at(&[(i, 2.0)]) - 2.0 * at(&[(i, 1.0)]) + 2.0 * at(&[(i, -1.0)]) - at(&[(i, -2.0)]))
                / 2.0
        } else {
            let bend = |steps: f64| {
                at(&[(i, steps), (j, 1.0)]) - 2.0 * at(&[(i, steps)]) + at(&[(i, steps), (j, -1.0)])
            };
            (bend(1.0) - bend(-1.0)) / 2.0
        }
    };
    let n = inputs.len();
    let mut variance = 0.0;
    for i in 0..n {
        let slope = first(i);
        variance += slope * slope;
        for j in 0..n {
            variance += 0.5 * second(i, j).powi(2) + slope * third(i, j);
        }
    }
    variance.max(0.0).sqrt()
}
