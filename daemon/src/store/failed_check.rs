//! What a check of a gauge or of a metering orifice says of the readings before it.
//!
//! A check that failed marks the readings that rest on what was checked, back to the last check that
//! passed. Where the station parted from another one's journal, its gauges were that station's until
//! then, so the mark goes back into the journal that both share.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;

use crate::store::fact::{CheckedGauge, CheckedPlate, JoinedStation, ReadingId};
use crate::store::kept_reading::KeptReading;
use crate::store::merged::{JournalParting, StationCast};
use crate::store::part::at_station;
use crate::store::stamped::Stamped;
use crate::store::station::base_in;
use crate::store::view::JobView;

/// Readings of one station that may rest on what was checked.
struct DoubtfulNumbers {
    /// The number before the first of them.
    after: u64,
    /// The number behind the last.
    before: u64,
    /// By what their station is named.
    label: Arc<str>,
}

impl JobView {
    /// Notes from whose journal the speaking station's parted.
    pub(super) fn note_parting(&mut self, cast: &StationCast, joined: &JoinedStation) {
        let Some(parted) = &joined.parted else {
            return;
        };
        if let Some(role) = cast.role(&parted.from) {
            let parting = JournalParting {
                // A forged line may say any number.
                last: role.base.saturating_add(parted.seq),
                label: Arc::clone(&role.label),
                repeats: BTreeMap::new(),
            };
            Arc::make_mut(&mut self.partings).insert(self.part.base, parting);
        }
    }

    /// Notes that a check of the speaking station repeats an earlier one.
    pub(super) fn note_repeated(&mut self, seq: u64, on: Option<u64>) {
        if let Some(on) = on
            && let Some(parting) = Arc::make_mut(&mut self.partings).get_mut(&self.part.base)
        {
            parting.repeats.insert(seq, on);
        }
    }

    pub(super) fn take_check(
        &mut self,
        seq: u64,
        at: Timestamp,
        check: CheckedGauge,
    ) -> Vec<ReadingId> {
        let record = Arc::make_mut(&mut self.part.gauges)
            .entry(check.gauge.clone())
            .or_default();
        let good = |earlier: &&Stamped<CheckedGauge>| {
            earlier.what.channel == check.channel && earlier.what.passed == Some(true)
        };
        let since = record.checks.iter().rev().find(good);
        let since = since.map(|earlier| earlier.seq);
        let touched = if check.passed == Some(false) {
            let rests = |reading: &KeptReading, label: &str| {
                reading.rests_on(&at_station(&check.gauge, label))
            };
            self.mark(since, rests, &why_marked(at, &check))
        } else {
            Vec::new()
        };
        let record = Arc::make_mut(&mut self.part.gauges)
            .entry(check.gauge.clone())
            .or_default();
        record.checks.push(Stamped {
            seq,
            at,
            what: check,
        });
        touched
    }

    pub(super) fn take_plate(&mut self, plate: Stamped<CheckedPlate>) -> Vec<ReadingId> {
        let what = &plate.what;
        let good = |earlier: &&Stamped<CheckedPlate>| {
            earlier.what.orifice == what.orifice && earlier.what.passed != Some(false)
        };
        let since = self.part.plates.iter().rev().find(good);
        let since = since.map(|earlier| earlier.seq);
        let touched = if what.passed == Some(false) {
            let rests = |reading: &KeptReading, _: &str| match reading.labels.get("orifice") {
                Some(named) => *named == what.orifice && reading.spot.starts_with("flow/"),
                None => what.unnamed && reading.spot.starts_with("flow/"),
            };
            let CheckedPlate {
                orifice, against, ..
            } = what;
            let at = plate.at;
            let why = format!("orifice {orifice} failed its check by {against} at {at:.0}");
            self.mark(since, rests, &why)
        } else {
            Vec::new()
        };
        Arc::make_mut(&mut self.part.plates).push(plate);
        touched
    }

    /// Marks the readings that rest on what was checked after the good check `since`. An earlier mark
    /// stays: the first check that failed tells the most of the readings before it.
    fn mark(
        &mut self,
        since: Option<u64>,
        rests: impl Fn(&KeptReading, &str) -> bool,
        reason: &str,
    ) -> Vec<ReadingId> {
        let mut touched = Vec::new();
        for numbers in self.doubtful_since(since) {
            let doubtful =
                |reading: &&KeptReading| reading.marked.is_none() && rests(reading, &numbers.label);
            let readings = self.readings.between(numbers.after, numbers.before);
            touched.extend(readings.filter(doubtful).map(|one| one.id));
        }
        for id in &touched {
            self.readings
                .change(*id, |reading| reading.marked = Some(reason.to_owned()));
        }
        touched
    }

    /// The station's own readings after the good check, and where that was none of its own, those of
    /// the stations that it was before.
    fn doubtful_since(&self, since: Option<u64>) -> Vec<DoubtfulNumbers> {
        let (mut base, mut before) = self.part.numbers();
        let mut label = Arc::clone(&self.part.label);
        let repeated = |since: u64| {
            let parted = self.partings.get(&base)?;
            parted.repeats.get(&since).copied()
        };
        let since = since.map(|since| repeated(since).unwrap_or(since));
        let mut all: Vec<DoubtfulNumbers> = Vec::new();
        loop {
            let here = since.filter(|since| base_in(*since) == base);
            all.push(DoubtfulNumbers {
                after: here.unwrap_or(base),
                before,
                label,
            });
            let parted = self.partings.get(&base).filter(|_| here.is_none());
            let Some(parted) = parted else {
                return all;
            };
            base = base_in(parted.last);
            // Forged lines may say that two stations parted from each other.
            if all.iter().any(|one| base_in(one.after) == base) {
                return all;
            }
            before = parted.last.saturating_add(1);
            label = Arc::clone(&parted.label);
        }
    }
}

fn why_marked(at: Timestamp, check: &CheckedGauge) -> String {
    let CheckedGauge {
        gauge,
        result,
        unit,
        against,
        ..
    } = check;
    if !check.points.is_empty() {
        return format!(
            "gauge {gauge} failed its check against {against} at {at:.0}: \
             off by up to {} {unit}",
            told(*result)
        );
    }
    let expected = check.expected.unwrap_or(0.0);
    format!(
        "gauge {gauge} failed its check against {against} at {at:.0}: \
         found {} {unit}, expected {} {unit}",
        told(*result),
        told(expected)
    )
}

/// A number as people read it: to a tenth of a micrometre where the unit is the millimetre.
fn told(number: f64) -> String {
    let text = format!("{number:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    match text {
        "-0" => "0".to_owned(),
        _ => text.to_owned(),
    }
}
