//! The pages of a job's readings, and the documents that they are made of.

use benchhand_pages::{BehindReading, Page, PageSection, ReadingsWanted};
use benchhand_wire::{
    GaugeHistory, Reason, Refusal, ShopStationShown, ShowJob, ShowShop, ShownReading, Trace,
    TraceReading,
};
use benchhand_words::chart::{Chart, Traced, trace};
use benchhand_words::spot_said;

use super::Visit;
use crate::api::new_key;

pub(super) fn all(visit: &Visit) -> Result<Page, Refusal> {
    let job = visit.part("job");
    let detail = visit.desk.ask(ShowJob {
        job: job.to_owned(),
    })?;
    let wanted = ReadingsWanted {
        spot: visit.field("spot").unwrap_or_default().to_owned(),
        cylinder: visit.field("cylinder").and_then(|text| text.parse().ok()),
    };
    let frame = visit.frame(format!("Readings of {job}"), PageSection::Readings);
    let stations = stations(visit)?;
    Ok(benchhand_pages::readings(
        &frame, &detail, &wanted, &stations,
    ))
}

/// The stations of the shop, where this one belongs to one.
fn stations(visit: &Visit) -> Result<Vec<ShopStationShown>, Refusal> {
    Ok(visit.desk.ask(ShowShop {})?.stations)
}

pub(super) fn one(visit: &Visit) -> Result<Page, Refusal> {
    let job = visit.part("job");
    let detail = visit.desk.ask(ShowJob {
        job: job.to_owned(),
    })?;
    let none = || {
        let asked = visit.part("id");
        Refusal::new(
            Reason::NotFound,
            format!("job {job} has no reading {asked}"),
        )
        .todo("the list of the readings leads to each of them")
    };
    let id: u64 = visit.part("id").parse().map_err(|_| none())?;
    let found = detail.readings.iter().find(|one| one.id == id);
    let reading = found.ok_or_else(none)?;
    // A gauge that no job tells anything of was never checked.
    let history = reading.gauge.as_ref().and_then(|gauge| {
        let asked = GaugeHistory {
            name: gauge.clone(),
        };
        visit.desk.ask(asked).ok()
    });
    let traced = visit.desk.ask(TraceReading {
        job: job.to_owned(),
        id: id.to_string(),
    })?;
    let behind = BehindReading {
        traces: traced
            .traces
            .iter()
            .filter_map(|one| drawn(reading, one))
            .collect(),
        away: traced.away,
        stations: stations(visit)?,
        last_check: history.and_then(|history| history.in_short.last_check),
        keys: [new_key()?, new_key()?],
    };
    let frame = visit.frame(format!("Reading of {job}"), PageSection::Readings);
    benchhand_pages::reading(&frame, &detail, id, &behind).ok_or_else(none)
}

fn drawn(reading: &ShownReading, one: &Trace) -> Option<Chart> {
    let seconds = |samples: &[benchhand_wire::TraceSample]| -> Vec<(f64, f64)> {
        let samples = samples.iter();
        samples
            .map(|one| (one.at_us as f64 / 1e6, one.value))
            .collect()
    };
    let part = one.part.as_ref().map_or(String::new(), |part| {
        format!(", {}", part.replace('_', " "))
    });
    let gauge = one.gauge.as_deref().unwrap_or("the gauge");
    trace(&Traced {
        of: &format!("What {gauge} sent for {}{part}", spot_said(&reading.spot)),
        unit: &one.unit,
        window: &seconds(&one.window),
        around: &seconds(&one.around),
        taken: one.taken,
        at: &reading.at,
    })
}
