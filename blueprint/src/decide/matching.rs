//! One-to-one matching by a table of costs: least sum, or least largest cost.
//!
//! Definitions: Burkard, Dell'Amico, Martello, Assignment Problems (SIAM). Of several best answers,
//! the one whose list of columns comes first in dictionary order is given. So the answer does not
//! change between runs.

/// Why there is no matching.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum MatchingError {
    /// The table is not square, or empty.
    #[error(
        "found a table that is not square; expected one cost for each of the same number of rows and columns"
    )]
    NotSquare,
    /// A cost is not a number.
    #[error("found a cost that is not a number; an impossible pair has an infinite cost")]
    NotANumber,
    /// Every matching has an impossible pair.
    #[error("found no matching of possible pairs; allow more pairs or free a fixed one")]
    Impossible,
}

/// The column of each row so that the sum of the costs is least, with that sum. An infinite cost
/// is an impossible pair.
pub fn least_sum(costs: &[Vec<f64>]) -> Result<(Vec<usize>, f64), MatchingError> {
    check(costs)?;
    let best = sum_of(costs, &hungarian(costs));
    if !best.is_finite() {
        return Err(MatchingError::Impossible);
    }
    let scale: f64 = costs
        .iter()
        .flatten()
        .filter(|cost| cost.is_finite())
        .map(|c| c.abs())
        .sum();
    let slack = 1e-12 * scale.max(f64::MIN_POSITIVE);
    // Fix one row after the other to the first column that still allows the best sum.
    let mut fixed = costs.to_vec();
    for row in 0..costs.len() {
        for column in 0..costs.len() {
            if !fixed[row][column].is_finite() {
                continue;
            }
            let mut tried = fixed.clone();
            for (at, cost) in tried[row].iter_mut().enumerate() {
                if at != column {
                    *cost = f64::INFINITY;
                }
            }
            if sum_of(&tried, &hungarian(&tried)) <= best + slack {
                fixed = tried;
                break;
            }
        }
    }
    let columns = hungarian(&fixed);
    let sum = sum_of(costs, &columns);
    Ok((columns, sum))
}

/// The column of each row so that the largest cost is least, and among those the sum; with that
/// largest cost.
pub fn least_largest(costs: &[Vec<f64>]) -> Result<(Vec<usize>, f64), MatchingError> {
    check(costs)?;
    let mut levels: Vec<f64> = costs
        .iter()
        .flatten()
        .copied()
        .filter(|cost| cost.is_finite())
        .collect();
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    let under = |level: f64| -> Vec<Vec<f64>> {
        let cap = |cost: &f64| if *cost <= level { *cost } else { f64::INFINITY };
        costs
            .iter()
            .map(|row| row.iter().map(cap).collect())
            .collect()
    };
    let possible = |level: f64| {
        let table = under(level);
        sum_of(&table, &hungarian(&table)).is_finite()
    };
    let at = levels.partition_point(|level| !possible(*level));
    let level = *levels.get(at).ok_or(MatchingError::Impossible)?;
    let (columns, _) = least_sum(&under(level))?;
    Ok((columns, level))
}

fn check(costs: &[Vec<f64>]) -> Result<(), MatchingError> {
    if costs.is_empty() || costs.iter().any(|row| row.len() != costs.len()) {
        return Err(MatchingError::NotSquare);
    }
    if costs
        .iter()
        .flatten()
        .any(|cost| cost.is_nan() || *cost == f64::NEG_INFINITY)
    {
        return Err(MatchingError::NotANumber);
    }
    Ok(())
}

fn sum_of(costs: &[Vec<f64>], columns: &[usize]) -> f64 {
    costs
        .iter()
        .zip(columns)
        .map(|(row, column)| row[*column])
        .sum()
}

/// The Hungarian method by shortest augmenting paths, O(n³). Impossible pairs count as dearer than
/// all possible ones together, so that one is used only if there is no other way.
fn hungarian(costs: &[Vec<f64>]) -> Vec<usize> {
    let n = costs.len();
    let dear: f64 = 1.0
        + costs
            .iter()
            .flatten()
            .filter(|cost| cost.is_finite())
            .map(|c| 2.0 * c.abs())
            .sum::<f64>();
    let cost = |row: usize, column: usize| {
        let cost = costs[row][column];
        if cost.is_finite() { cost } else { dear }
    };
    // Column 0 and row 0 are the usual sentinels; rows and columns count from 1.
    let (mut rows, mut columns) = (vec![0.0; n + 1], vec![0.0; n + 1]);
    let mut row_of = vec![0usize; n + 1];
    for row in 1..=n {
        row_of[0] = row;
        let mut free = 0usize;
        let mut least = vec![f64::INFINITY; n + 1];
        let mut from = vec![0usize; n + 1];
        let mut used = vec![false; n + 1];
        while row_of[free] != 0 {
            used[free] = true;
            let here = row_of[free];
            let (mut step, mut next) = (f64::INFINITY, 0);
            for column in 1..=n {
                if used[column] {
                    continue;
                }
                let reduced = cost(here - 1, column - 1) - rows[here] - columns[column];
                if reduced < least[column] {
                    least[column] = reduced;
                    from[column] = free;
                }
                if least[column] < step {
                    step = least[column];
                    next = column;
                }
            }
            for column in 0..=n {
                if used[column] {
                    rows[row_of[column]] += step;
                    columns[column] -= step;
                } else {
                    least[column] -= step;
                }
            }
            free = next;
        }
        while free != 0 {
            row_of[free] = row_of[from[free]];
            free = from[free];
        }
    }
    let mut answer = vec![0; n];
    for column in 1..=n {
        answer[row_of[column] - 1] = column - 1;
    }
    answer
}
