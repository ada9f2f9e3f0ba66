//! The readings of a job, and one of them with all that it rests on.

use askama::Template;
use benchhand_blueprint::engine::LengthUnits;
use benchhand_wire::{Figure, JobDetail, PastCheck, ShopStationShown, ShownReading};
use benchhand_words::chart::Chart;
use benchhand_words::digits::{decimals_of, rounded, usual_decimals};
use benchhand_words::lifts::lifts_in;
use benchhand_words::spot_said;

use crate::{Page, PageFrame, address};

/// Which readings are wanted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ReadingsWanted {
    /// How their spots begin, part by part: `chamber`, `deck/3`; empty for all.
    pub spot: String,
    /// Their cylinder.
    pub cylinder: Option<u32>,
}

/// A reading with its number, counted from 1 within the job. One that another replaced has none: it
/// is an earlier form of that one.
struct Numbered<'a> {
    number: Option<String>,
    reading: &'a ShownReading,
    units: LengthUnits,
}

/// The units of the job's engine.
fn units_of(job: &JobDetail) -> LengthUnits {
    match job.units.as_deref() {
        Some("inch") => LengthUnits::Inch,
        _ => LengthUnits::Metric,
    }
}

#[derive(Template)]
#[template(path = "readings.html")]
struct ReadingsPage<'a> {
    frame: &'a PageFrame,
    job: &'a str,
    wanted: String,
    readings: Vec<Numbered<'a>>,
    of: usize,
    stations: &'a [ShopStationShown],
}

impl ReadingsWanted {
    fn takes(&self, reading: &ShownReading) -> bool {
        let spot = reading.spot.as_str();
        let below = spot.strip_prefix(self.spot.trim_end_matches('/'));
        let under = self.spot.is_empty()
            || below.is_some_and(|rest| rest.is_empty() || rest.starts_with('/'));
        // A free spot's name stands before its cylinder.
        let named = spot.strip_prefix("free/").unwrap_or(spot);
        let cylinder = || named.split('/').nth(1)?.parse().ok();
        under && (self.cylinder.is_none() || cylinder() == self.cylinder)
    }

    fn words(&self, units: LengthUnits) -> String {
        let told = match (self.spot.as_str(), self.cylinder) {
            ("", None) => String::new(),
            ("", Some(cylinder)) => format!("cylinder {cylinder}"),
            (spot, _) => spot_said(spot.trim_end_matches('/')),
        };
        lifts_in(&told, units)
    }
}

/// What people call the station of this letter.
fn station_named(letter: &str, stations: &[ShopStationShown]) -> String {
    let found = stations.iter().find(|one| one.letter == letter);
    let name = found.map_or("", |one| one.name.as_str());
    benchhand_words::shop::named(letter, name)
}

impl ReadingsPage<'_> {
    fn station(&self, letter: &str) -> String {
        station_named(letter, self.stations)
    }
}

/// The readings of a job, the last first. `stations` are those of the shop, where there is one.
///
/// # Errors
/// A fault of the template.
pub fn readings(
    frame: &PageFrame,
    job: &JobDetail,
    wanted: &ReadingsWanted,
    stations: &[ShopStationShown],
) -> Page {
    let mut readings = numbered(job);
    readings.retain(|one| one.number.is_some());
    let of = readings.len();
    readings.retain(|one| wanted.takes(one.reading));
    readings.reverse();
    ReadingsPage {
        frame,
        job: &job.summary.name,
        wanted: wanted.words(units_of(job)),
        readings,
        of,
        stations,
    }
    .render()
}

/// Every reading of a job in the order of taking.
fn numbered(job: &JobDetail) -> Vec<Numbered<'_>> {
    let numbered = job.readings.iter().map(|reading| {
        let own = reading.state != "superseded";
        Numbered {
            units: units_of(job),
            number: own.then(|| reading.said_number()),
            reading,
        }
    });
    numbered.collect()
}

/// What one reading is shown with.
#[derive(Debug, Clone, Default)]
pub struct BehindReading {
    /// What its gauges sent.
    pub traces: Vec<Chart>,
    /// Why there is nothing of it yet, where it lies at another station.
    pub away: Option<String>,
    /// The stations of the shop, where there is one.
    pub stations: Vec<ShopStationShown>,
    /// The last check of its gauge, over all jobs.
    pub last_check: Option<PastCheck>,
    /// A key for each form of the page: to void it, to move it.
    pub keys: [String; 2],
}

#[derive(Template)]
#[template(path = "reading.html")]
struct ReadingPage<'a> {
    frame: &'a PageFrame,
    job: &'a str,
    one: Numbered<'a>,
    others: Vec<Numbered<'a>>,
    behind: &'a BehindReading,
}

/// One reading; `None` where the job has none of this number in its journal.
pub fn reading(
    frame: &PageFrame,
    job: &JobDetail,
    id: u64,
    behind: &BehindReading,
) -> Option<Page> {
    let (mut one, others): (Vec<_>, Vec<_>) = numbered(job)
        .into_iter()
        .partition(|one| one.reading.id == id);
    let one = one.pop()?;
    let others = others
        .into_iter()
        .filter(|other| other.number.is_some() && other.reading.spot == one.reading.spot);
    let page = ReadingPage {
        frame,
        job: &job.summary.name,
        others: others.collect(),
        one,
        behind,
    };
    Some(page.render())
}

impl ReadingPage<'_> {
    /// Whether it can be voided or moved.
    fn counts(&self) -> bool {
        matches!(self.one.reading.state.as_str(), "held" | "final")
    }

    /// The station at which it was taken; empty where one alone measures the job.
    fn station(&self) -> String {
        match self.one.reading.station.as_str() {
            "" => String::new(),
            letter => station_named(letter, &self.behind.stations),
        }
    }

    fn here(&self) -> String {
        address::reading(self.job, self.one.reading.id)
    }

    /// The form that keeps another reading of the same spot.
    fn enter(&self) -> String {
        let filled = [("job", self.job), ("spot", &self.one.reading.spot)];
        address::form("readings/enter", &self.here(), &filled)
    }
}

impl Numbered<'_> {
    fn address(&self, job: &str) -> String {
        address::reading(job, self.reading.id)
    }

    fn spot(&self) -> String {
        lifts_in(&spot_said(&self.reading.spot), self.units)
    }

    /// Its number with its station, where several measure the job; empty where it has none.
    fn said(&self) -> &str {
        self.number.as_deref().unwrap_or_default()
    }

    /// Its number, or what it is instead.
    fn name(&self) -> String {
        match &self.number {
            Some(number) => format!("Reading {number}"),
            None => "An earlier form of a reading".to_owned(),
        }
    }

    /// What is noted of it. Which line of the journal replaced it tells a person nothing.
    fn notes(&self) -> String {
        let notes = self.reading.note.split("; ");
        let told = notes.filter(|note| {
            !note.starts_with("superseded by ") && !note.starts_with("replaced by ")
        });
        lifts_in(&told.collect::<Vec<_>>().join("; "), self.units)
    }

    /// Whether it counts, in words; empty where it simply does.
    fn standing(&self) -> &'static str {
        match self.reading.state.as_str() {
            "voided" => "void",
            "superseded" => "replaced",
            "asked" => "a question waits",
            _ => "",
        }
    }

    /// Who took it; empty where nobody said.
    fn by(&self) -> &str {
        self.reading.by.as_deref().unwrap_or_default()
    }

    fn source(&self) -> &'static str {
        match (self.reading.source.as_str(), &self.reading.gauge) {
            ("captured", _) => "taken from its gauge",
            ("typed", Some(_)) => "read by eye and typed",
            ("typed", None) => "typed",
            _ => "imported",
        }
    }
}

/// A value with its unit, and its ± for 95 % where it has its own.
pub(crate) fn value(figure: &Figure) -> String {
    let usual = usual_decimals(&figure.unit);
    let unit = if figure.unit == "1" { "" } else { &figure.unit };
    let text = match figure.u.filter(|u| *u > 0.0) {
        Some(u) => {
            let decimals = decimals_of(2.0 * u).min(usual + 1);
            let (value, width) = (rounded(figure.value, decimals), rounded(2.0 * u, decimals));
            format!("{value} ± {width} {unit}")
        }
        None => format!("{} {unit}", rounded(figure.value, usual)),
    };
    text.trim_end().to_owned()
}

/// What a check found, in a sentence.
pub(crate) fn checked(check: &PastCheck) -> String {
    let result = match check.passed {
        Some(true) => "OK",
        Some(false) => "NOT OK",
        None => "not judged",
    };
    format!(
        "{}, against {}: off by {}, {result}",
        benchhand_words::day_and_minute(&check.at),
        check.against,
        value(&check.error)
    )
}
