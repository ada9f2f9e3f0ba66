//! Chooses the number of a record that is the measured value.

use crate::field::{ParsedRecord, RecordField, field, is_of_the_trade, skeleton};
use crate::objections;
use crate::series::FieldCourse;
use crate::seven::share;
use std::collections::BTreeSet;

/// The field that was chosen.
#[derive(Debug, Clone)]
pub(crate) struct ChosenField {
    pub(crate) field: RecordField,
    pub(crate) confidence: f64,
    pub(crate) reasons: Vec<String>,
    /// The character that separates thousands.
    pub(crate) grouping: Option<u8>,
}

/// Chooses the measured value, and says how sure the choice is.
pub(crate) fn choose(records: &[ParsedRecord]) -> Option<ChosenField> {
    let fields: Vec<RecordField> = (0..records.first()?.numbers.len())
        .map(|index| field(records, index))
        .collect();
    let mut able: Vec<&RecordField> = fields.iter().filter(|field| field.may_be_it()).collect();
    able.sort_by(|a, b| b.points().total_cmp(&a.points()));
    let (winner, others) = able.split_first()?;
    let mut reasons = Vec::new();
    let mut confidence: f64 = match records.len() {
        0..=1 => 0.4,
        2 => 0.6,
        3..=4 => 0.9,
        _ => 0.96,
    };
    let mut at_most = |limit: f64, reason: &str| {
        confidence = confidence.min(limit);
        reasons.push(reason.to_owned());
    };
    for objection in objections::of(records, winner, others) {
        at_most(objection.at_most, objection.why);
    }
    let rivals: Vec<&&RecordField> = others
        .iter()
        .filter(|field| field.looks_like_a_reading())
        .collect();
    let has_unit = winner.unit.is_some_and(is_of_the_trade);
    if !rivals.is_empty() {
        let rival_has_unit = rivals.iter().any(|f| f.unit.is_some_and(is_of_the_trade));
        let rival_moves = rivals
            .iter()
            .any(|f| f.course == FieldCourse::Moving && !objections::wavers_beside(f, winner));
        let moves = winner.course == FieldCourse::Moving;
        match (has_unit && !rival_has_unit, moves && !rival_moves) {
            (true, true) => at_most(0.9, "another number of the line hardly moves"),
            (true, false) if rival_moves && !moves => {
                at_most(0.7, "only this number has a unit, but another one moves");
            }
            (true, false) => at_most(0.82, "only this number has a unit"),
            (false, true) => at_most(0.82, "only this number moves"),
            (false, false) => at_most(0.5, "more than one number could be the reading"),
        }
    } else if !others.is_empty() && !has_unit {
        match winner.course {
            FieldCourse::Moving => {
                at_most(0.9, "the other numbers stay, count or run with the clock")
            }
            FieldCourse::Still => at_most(0.75, "it hardly moved while it was listened to"),
            _ => at_most(0.5, "no number of the line moved; move the gauge"),
        }
    }
    if winner.beside {
        at_most(0.5, "its name or unit is of something beside a reading");
    }
    if winner.decimals.is_none() {
        if winner.padded {
            at_most(
                0.6,
                "whole digits with leading zeros: decimals may be implied",
            );
        } else if !has_unit {
            at_most(0.75, "a whole number without a unit");
        }
        if winner.course == FieldCourse::Counter {
            at_most(0.4, "it counts up evenly");
        }
    }
    if !winner.always_the_same_decimals && !winner.exponent {
        at_most(1.0, "its decimals move, as with a gauge that changes range");
    }
    let skeletons: BTreeSet<Vec<u8>> = records.iter().map(skeleton).collect();
    if skeletons.len() > 4 && share(skeletons.len(), records.len()) > 0.3 {
        at_most(0.4, "the lines are built too differently");
    }
    Some(ChosenField {
        field: (*winner).clone(),
        confidence,
        reasons,
        grouping: None,
    })
}
