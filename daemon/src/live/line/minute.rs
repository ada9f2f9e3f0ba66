//! What a gauge showed in the last minute, for a page that was opened just now.

use std::collections::VecDeque;

use benchhand_drivers::{Sample, Unit};
use benchhand_wire::{ShownMinute, ShownValue};

use crate::known::words;

/// How far back values are kept, µs.
const MINUTE_US: u64 = 60_000_000;
/// At most so many are kept. They come no faster than ten a second; a clock that is set back must not
/// make them more.
const MOST: usize = 640;

/// The values of a gauge's first channel, with the times at which they were announced.
#[derive(Debug, Default)]
pub(in crate::live) struct PastMinute {
    values: VecDeque<(u64, Option<f64>)>,
    unit: Option<Unit>,
    decimals: u8,
    /// Whether the line was broken since the last value.
    broken: bool,
}

impl PastMinute {
    /// Takes in what the gauge shows at the time `at_us`. Values in another unit begin anew.
    pub(in crate::live) fn shows(&mut self, at_us: u64, sample: &Sample) {
        if self.unit.replace(sample.unit) != Some(sample.unit) {
            self.values.clear();
        }
        self.decimals = u8::try_from(words::decimals_of(sample.resolution)).unwrap_or(6);
        if std::mem::take(&mut self.broken) {
            self.values.push_back((at_us, None));
        }
        self.values.push_back((at_us, sample.value));
        self.forget(at_us);
        while self.values.len() > MOST {
            self.values.pop_front();
        }
    }

    /// The line was broken: what came before and what comes after are no one line.
    pub(super) fn breaks(&mut self) {
        self.broken = true;
    }

    fn forget(&mut self, now_us: u64) {
        let old = |(at_us, _): &(u64, Option<f64>)| now_us.saturating_sub(*at_us) > MINUTE_US;
        while self.values.front().is_some_and(old) {
            self.values.pop_front();
        }
    }

    /// The values with their ages at the time `now_us`, which is `now` in words.
    pub(in crate::live) fn told(&self, now_us: u64, now: String) -> ShownMinute {
        let values = self.values.iter().map(|&(at_us, value)| ShownValue {
            ago: now_us.saturating_sub(at_us) as f64 / 1e6,
            value,
        });
        ShownMinute {
            unit: self
                .unit
                .map_or(String::new(), |unit| unit.symbol().to_owned()),
            decimals: self.decimals,
            values: values
                .filter(|one| one.ago <= MINUTE_US as f64 / 1e6)
                .collect(),
            now,
        }
    }
}

#[cfg(test)]
mod tests {
    use benchhand_drivers::SampleStatus;

    use super::*;

    fn sample(value: f64, unit: Unit) -> Sample {
        Sample {
            channel: 0,
            at_us: 0,
            value: Some(value),
            unit,
            resolution: 0.01,
            status: SampleStatus::default(),
        }
    }

    #[test]
    fn the_last_minute_is_kept_and_no_more_of_it_than_fits() {
        let mut minute = PastMinute::default();
        for tenth in 0..2000_u64 {
            minute.shows(
                tenth * 100_000,
                &sample(tenth as f64, Unit::CubicCentimetre),
            );
        }
        let told = minute.told(200_000_000, "now".to_owned());
        assert_eq!((told.unit.as_str(), told.decimals), ("cc", 2));
        let (first, last) = (told.values.first(), told.values.last());
        assert_eq!(first.map(|one| one.ago), Some(60.0));
        assert_eq!(
            last.copied(),
            Some(ShownValue {
                ago: 0.1,
                value: Some(1999.0)
            })
        );
        // A clock that stands still, or goes back, makes it no larger.
        for _ in 0..5000 {
            minute.shows(1, &sample(1.0, Unit::CubicCentimetre));
        }
        assert_eq!(minute.values.len(), MOST);
    }

    #[test]
    fn a_broken_line_leaves_a_gap_and_another_unit_begins_anew() {
        let mut minute = PastMinute::default();
        minute.shows(0, &sample(1.0, Unit::Millimetre));
        minute.breaks();
        minute.shows(5_000_000, &sample(2.0, Unit::Millimetre));
        let told = minute.told(5_000_000, String::new());
        let values: Vec<_> = told.values.iter().map(|one| one.value).collect();
        assert_eq!(values, [Some(1.0), None, Some(2.0)]);
        minute.shows(6_000_000, &sample(0.1, Unit::Inch));
        assert_eq!(minute.told(6_000_000, String::new()).values.len(), 1);
    }
}
