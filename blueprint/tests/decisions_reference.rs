//! Verdicts and matchings against their check files.
//!
//! `assignment_cases.csv` gives one best permutation where several exist; which of them is answered
//! here follows from the stated tie rule (the first in dictionary order), found by trying all.

mod common;

use benchhand_blueprint::decide::{
    VerdictAnswer, VerdictLimits, least_largest, least_sum, verdict,
};
use benchhand_blueprint::{Figure, Unit};
use common::{close, rows};

#[test]
fn every_verdict_has_its_answer() {
    let mut answers = Vec::new();
    for row in rows("decision_rule.csv") {
        let n = |column| row.number(column);
        // U is given; u is half of it.
        let figure = Figure::new(n("y"), Some(n("U_k2") / 2.0), Unit::Millimetre);
        let limits = VerdictLimits {
            least: Some(n("LSL")),
            most: Some(n("USL")),
        };
        let found = verdict(&figure, limits);
        let expected = match row.text("decision") {
            "conforming" => VerdictAnswer::Within,
            "nonconforming" => VerdictAnswer::Outside,
            "undecided" => VerdictAnswer::CannotTell,
            other => panic!("{other}"),
        };
        assert_eq!(found.answer, expected, "{} with U {}", n("y"), n("U_k2"));
        let possible = n("accept_low") <= n("accept_high");
        assert_eq!(found.can_ever_be_within, possible);
        close(n("LSL") + n("U_k2"), n("accept_low"), 1e-12, "accept from");
        close(
            n("USL") + n("U_k2"),
            n("reject_above"),
            1e-12,
            "reject above",
        );
        answers.push(found.answer);
    }
    for answer in [
        VerdictAnswer::Within,
        VerdictAnswer::Outside,
        VerdictAnswer::CannotTell,
    ] {
        assert!(answers.contains(&answer), "{answer:?} occurs");
    }
}

fn matrix(case: &str) -> Vec<Vec<f64>> {
    let matrix: Vec<Vec<f64>> = rows("assignment_matrices.csv")
        .iter()
        .filter(|row| row.text("case") == case)
        .map(|row| {
            let numbers = row.text("costs_by_column").split(' ');
            numbers.map(|cost| cost.parse().expect("a cost")).collect()
        })
        .collect();
    assert!(!matrix.is_empty(), "{case}");
    matrix
}

fn permutations(n: usize) -> Vec<Vec<usize>> {
    if n == 0 {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for shorter in permutations(n - 1) {
        for at in 0..n {
            let mut longer = shorter.clone();
            longer.insert(at, n - 1);
            all.push(longer);
        }
    }
    all
}

fn sum(costs: &[Vec<f64>], columns: &[usize]) -> f64 {
    costs
        .iter()
        .zip(columns)
        .map(|(row, column)| row[*column])
        .sum()
}

fn largest(costs: &[Vec<f64>], columns: &[usize]) -> f64 {
    costs
        .iter()
        .zip(columns)
        .map(|(row, column)| row[*column])
        .fold(f64::MIN, f64::max)
}

#[test]
fn every_matching_is_the_best_one_and_the_first_of_equals() {
    for row in rows("assignment_cases.csv") {
        let case = row.text("case");
        let costs = matrix(case);
        assert_eq!(costs.len() as f64, row.number("n"));
        let all = permutations(costs.len());

        let (columns, found) = least_sum(&costs).expect(case);
        assert!(
            (found - row.number("min_sum")).abs() < 1e-9,
            "{case}: {found}"
        );
        if row.number("n_optimal_sum") == 1.0 {
            assert_eq!(
                largest(&costs, &columns),
                row.number("max_in_sum_optimum"),
                "{case}"
            );
        }
        let best: Vec<&Vec<usize>> = all
            .iter()
            .filter(|one| sum(&costs, one) <= found + 1e-9)
            .collect();
        assert_eq!(best.len() as f64, row.number("n_optimal_sum"), "{case}");
        assert_eq!(Some(&&columns), best.iter().min(), "{case}");

        let (columns, level) = least_largest(&costs).expect(case);
        assert!(
            (level - row.number("min_max")).abs() < 1e-9,
            "{case}: {level}"
        );
        let best: Vec<&Vec<usize>> = all
            .iter()
            .filter(|one| largest(&costs, one) <= level + 1e-9)
            .collect();
        assert_eq!(
            best.len() as f64,
            row.number("n_optimal_bottleneck"),
            "{case}"
        );
        let least = best
            .iter()
            .map(|one| sum(&costs, one))
            .fold(f64::MAX, f64::min);
        assert!((sum(&costs, &columns) - least).abs() < 1e-9, "{case}");
        assert!((least - row.number("its_sum")).abs() < 1e-9, "{case}");
        let tied: Vec<&&Vec<usize>> = best
            .iter()
            .filter(|one| sum(&costs, one) <= least + 1e-9)
            .collect();
        assert_eq!(
            tied.len() as f64,
            row.number("n_lexicographic_optima"),
            "{case}"
        );
        assert_eq!(Some(&&&columns), tied.iter().min(), "{case}");
        for column in [
            "one_optimal_sum_perm_col_for_row",
            "bottleneck_then_min_sum_perm",
        ] {
            let given: Vec<usize> = row
                .text(column)
                .split(' ')
                .map(|at| at.parse().expect("a column"))
                .collect();
            let same = match column {
                "bottleneck_then_min_sum_perm" => (sum(&costs, &given) - least).abs() < 1e-9,
                _ => (sum(&costs, &given) - found).abs() < 1e-9,
            };
            assert!(same, "{case}: the file's own permutation is as good");
        }
    }
}

#[test]
fn a_matching_that_cannot_be_is_refused() {
    let infinite = f64::INFINITY;
    assert!(least_sum(&[vec![1.0, infinite], vec![2.0, infinite]]).is_err());
    assert!(least_largest(&[vec![1.0, infinite], vec![2.0, infinite]]).is_err());
    assert!(least_sum(&[vec![1.0, 2.0]]).is_err());
    assert!(least_sum(&[vec![f64::NAN]]).is_err());
    let (columns, sum) = least_sum(&[vec![1.0, infinite], vec![2.0, 9.0]]).expect("a matching");
    assert_eq!((columns, sum), (vec![0, 1], 10.0));
}
