//! What belongs to one station of a job: its gauges with their zeros and checks, its plates and
//! leaks, what it stated of the surroundings, its route, and the sessions in which it worked.
//!
//! Of a job that one station alone measures there is one part, and nothing in it names a station.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use crate::store::fact::{CheckedLeak, CheckedPlate, InputKind, ReadingId, StatedCondition};
use crate::store::gauge_record::{GaugeRecord, LoadedInput};
use crate::store::merged::StationRole;
use crate::store::session::Sessions;
use crate::store::so_far::ChamberSoFar;
use crate::store::stamped::Stamped;
use crate::store::standing::RouteStanding;
use crate::store::station::{StationId, base_after, base_in};

/// What stands between a gauge's name and the station that it belongs to. No gauge's own name holds
/// it.
const OF_STATION: char = '@';

/// What belongs to one station of a job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StationPart {
    /// The number before the station's first one.
    pub(crate) base: u64,
    /// By what the station is named to people; empty where one station alone measures.
    pub(crate) label: Arc<str>,
    /// Its identity; `None` of a data folder that is no station.
    pub(crate) station: Option<StationId>,
    pub(crate) stopped: bool,
    pub(crate) inputs: Arc<BTreeMap<(InputKind, String), Vec<LoadedInput>>>,
    pub(crate) gauges: Arc<BTreeMap<String, GaugeRecord>>,
    pub(crate) plates: Arc<Vec<Stamped<CheckedPlate>>>,
    pub(crate) leaks: Arc<Vec<Stamped<CheckedLeak>>>,
    pub(crate) conditions: Arc<BTreeMap<String, Vec<Stamped<StatedCondition>>>>,
    pub(crate) route: Option<RouteStanding>,
    pub(crate) so_far: Option<ChamberSoFar>,
    pub(crate) sessions: Sessions,
    /// The largest number for people that a reading of the station has.
    pub(crate) numbered: u64,
    /// The last stage that the station's own journal opened, where it opened one.
    pub(crate) cut: Option<u64>,
    /// The last engine that the station's own journal loaded, where it loaded one.
    pub(crate) engine: Option<u64>,
}

impl StationPart {
    /// What is known of a station before its first fact.
    pub(crate) fn of(role: &StationRole) -> Self {
        Self {
            base: role.base,
            label: Arc::clone(&role.label),
            station: Some(role.station.clone()),
            ..Self::default()
        }
    }

    /// Whether nothing is known of the station yet but its name.
    #[cfg(test)]
    pub(crate) fn is_unused(&self) -> bool {
        let unused = Self {
            base: self.base,
            label: Arc::clone(&self.label),
            station: self.station.clone(),
            ..Self::default()
        };
        *self == unused
    }

    /// By what the station is named to people; empty where one station alone measures the job.
    #[must_use]
    pub fn label(&self) -> &str {
        &self.label
    }

    /// The station's identity; `None` of a data folder that is no station.
    #[must_use]
    pub fn station(&self) -> Option<&StationId> {
        self.station.as_ref()
    }

    /// Whether a fact or reading of this number is the station's.
    #[must_use]
    pub fn wrote(&self, number: u64) -> bool {
        base_in(number) == self.base
    }

    /// The number before the station's first one, and the first one that is not the station's.
    pub(crate) fn numbers(&self) -> (u64, u64) {
        (self.base, base_after(self.base))
    }

    /// A gauge's name as the view has it: with its station where several measure.
    #[must_use]
    pub fn named<'a>(&self, gauge: &'a str) -> Cow<'a, str> {
        match self.label.is_empty() || gauge.contains(OF_STATION) {
            true => Cow::Borrowed(gauge),
            false => Cow::Owned(format!("{gauge}{OF_STATION}{}", self.label)),
        }
    }

    /// Every check of a metering orifice by a plate, oldest first.
    #[must_use]
    pub fn plates(&self) -> &[Stamped<CheckedPlate>] {
        &self.plates
    }

    /// Every leak of the flow bench, oldest first.
    #[must_use]
    pub fn leaks(&self) -> &[Stamped<CheckedLeak>] {
        &self.leaks
    }

    /// The conditions as they were last stated, by name.
    pub fn conditions(&self) -> impl Iterator<Item = (&str, &Stamped<StatedCondition>)> {
        self.conditions
            .iter()
            .filter_map(|(name, said)| Some((name.as_str(), said.last()?)))
    }

    /// The route that has begun here and not ended.
    #[must_use]
    pub fn route(&self) -> Option<&RouteStanding> {
        self.route.as_ref()
    }

    /// The condition that holds for a reading of this station: the latest one stated before the
    /// reading, or stated for readings from its number on.
    pub(crate) fn condition_of(
        &self,
        name: &str,
        reading: ReadingId,
    ) -> Option<&Stamped<StatedCondition>> {
        let said = self.conditions.get(name)?;
        let holds = |one: &&Stamped<StatedCondition>| one.what.since.unwrap_or(one.seq) <= reading;
        said.iter().rev().find(holds)
    }

    /// Like [`StationPart::condition_of`], for conditions that change from one session to the next.
    pub(crate) fn condition_in_session(
        &self,
        name: &str,
        reading: ReadingId,
    ) -> Option<&Stamped<StatedCondition>> {
        let one = self.condition_of(name, reading)?;
        let from = one.what.since.unwrap_or(one.seq);
        let same = self.sessions.of(from) == self.sessions.of(reading);
        // Another station states a condition of a reading that is there already.
        let later = one.seq > reading || !self.wrote(one.seq);
        (same || later).then_some(one)
    }
}

/// A gauge's name as the view has it where the gauge is at the station of this label.
pub(crate) fn at_station<'a>(gauge: &'a str, label: &str) -> Cow<'a, str> {
    match (gauge.split_once(OF_STATION), label) {
        (Some((_, there)), label) if there == label => Cow::Borrowed(gauge),
        (Some((name, _)), "") => Cow::Borrowed(name),
        (Some((name, _)), label) => Cow::Owned(format!("{name}{OF_STATION}{label}")),
        (None, "") => Cow::Borrowed(gauge),
        (None, label) => Cow::Owned(format!("{gauge}{OF_STATION}{label}")),
    }
}

/// The other name as the station of `gauge` has it.
#[must_use]
pub fn of_same_station<'a>(gauge: &str, other: &'a str) -> Cow<'a, str> {
    match gauge.split_once(OF_STATION) {
        None => Cow::Borrowed(other),
        Some((_, station)) => Cow::Owned(format!("{other}{OF_STATION}{station}")),
    }
}
