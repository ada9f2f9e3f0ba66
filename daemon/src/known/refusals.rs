//! Errors of the modules below, as refusals that go over the wire.

use benchhand_blueprint::engine::EngineFileFaults;
use benchhand_blueprint::readings::CsvFaults;
use benchhand_drivers::ProfileError;
use benchhand_wire::{Place, Reason, Refusal};

use crate::store::archive::fault::ArchiveFault;
use crate::store::error::StoreError;
use crate::store::gauges::GaugeError;
use crate::store::job::JobError;
use crate::store::journal::JournalError;
use crate::store::lock::LockError;
use crate::store::misfit::Misfit;
use benchhand_files::FileError;

/// A store's error.
pub(crate) fn of_store(error: &StoreError) -> Refusal {
    let reason = match error {
        StoreError::Lock(LockError::Held { .. }) => Reason::StoreBusy,
        StoreError::Lock(LockError::Files(_)) => Reason::Storage,
        StoreError::Name(_) | StoreError::Engine(_) => Reason::BadInput,
        StoreError::NoJob { .. } => Reason::NotFound,
        StoreError::JobExists { .. } => Reason::Conflict,
        StoreError::NotEmpty(_) => {
            return Refusal::new(Reason::Conflict, error.to_string())
                .todo("name a folder with --data that is not there yet, or is empty");
        }
        StoreError::Archive(ArchiveFault::Damaged(_)) => Reason::Damaged,
        StoreError::Archive(error @ ArchiveFault::TooLarge { .. }) => {
            return Refusal::new(Reason::BadInput, error.to_string())
                .todo("leave the recorded streams out with --without-streams");
        }
        StoreError::Archive(_) => Reason::BadInput,
        StoreError::Job(error) => return of_job(error),
        StoreError::ReadOnly | StoreError::Files(_) => Reason::Storage,
    };
    Refusal::new(reason, error.to_string())
}

/// A job's error.
pub(crate) fn of_job(error: &JobError) -> Refusal {
    let reason = match error {
        JobError::Together(error) => return of_job(error),
        JobError::Misfit(Misfit::NoReading(_) | Misfit::NotOrdered(_)) => Reason::NotFound,
        JobError::Misfit(
            Misfit::BadText { .. }
            | Misfit::NotFinite { .. }
            | Misfit::BadUncertainty { .. }
            | Misfit::OrdersNothing
            | Misfit::OrderedTwice(_),
        ) => Reason::BadInput,
        JobError::Misfit(_) | JobError::KeyReused { .. } | JobError::Station(_) => Reason::Conflict,
        JobError::BadKey(_) | JobError::NotText(_) => Reason::BadInput,
        JobError::Journal(
            JournalError::Damaged(_) | JournalError::Shortened { .. } | JournalError::Record(_),
        ) => Reason::Damaged,
        JobError::Journal(_) | JobError::Files(_) | JobError::Writing => Reason::Storage,
    };
    Refusal::new(reason, error.to_string())
}

/// A fault at one place in a text file.
pub(crate) fn at_place(
    found: impl Into<String>,
    file: &str,
    line: usize,
    column: usize,
    text: impl Into<String>,
) -> Refusal {
    let place = Place {
        file: file.to_owned(),
        line,
        column,
        text: text.into(),
    };
    Refusal::new(Reason::BadInput, found).at(place)
}

/// How many faults there are, and how many of them are shown.
fn counted(all: usize, shown: usize) -> String {
    let faults = format!("{all} fault{}", if all == 1 { "" } else { "s" });
    if shown < all {
        format!("{faults}, the first {shown} are shown")
    } else {
        faults
    }
}

/// The faults of an engine file, each at its line.
pub(crate) fn of_engine(faults: &EngineFileFaults, file: &str) -> Refusal {
    let found = format!(
        "{file} has {}",
        counted(faults.count(), faults.faults.len())
    );
    faults
        .faults
        .iter()
        .fold(Refusal::new(Reason::BadInput, found), |refusal, fault| {
            let key = if fault.key.is_empty() {
                String::new()
            } else {
                format!("{}: ", fault.key)
            };
            refusal.at(Place {
                file: file.to_owned(),
                line: fault.line,
                column: fault.column,
                text: format!("{key}{}; {}", fault.message, fault.help),
            })
        })
}

/// The faults of a CSV, each at its row.
pub(crate) fn of_csv(faults: &CsvFaults, file: &str) -> Refusal {
    let faults_in_all = counted(faults.count(), faults.faults.len());
    let found = format!("{file} has {faults_in_all}; nothing of it was kept");
    faults
        .faults
        .iter()
        .fold(Refusal::new(Reason::BadInput, found), |refusal, fault| {
            let field = if fault.field.is_empty() {
                String::new()
            } else {
                format!("{}: ", fault.field)
            };
            refusal.at(Place {
                file: file.to_owned(),
                line: usize::try_from(fault.line).unwrap_or(usize::MAX),
                column: fault.column,
                text: format!("{field}{}", fault.message),
            })
        })
}

/// The register's refusal.
pub(crate) fn of_gauge(error: &GaugeError) -> Refusal {
    match error {
        GaugeError::Text(fault) => {
            let file = fault.path.display().to_string();
            let found = format!("{file} cannot be used");
            at_place(found, &file, fault.line, fault.column, fault.what.clone())
        }
        GaugeError::Name(_) => Refusal::new(Reason::BadInput, error.to_string()),
        GaugeError::NoGauge { .. } => Refusal::new(Reason::NotFound, error.to_string())
            .todo("`benchhand gauge list` shows the shop's gauges; `gauge set` adds one"),
        GaugeError::ReadOnly | GaugeError::Files(_) => {
            Refusal::new(Reason::Storage, error.to_string())
        }
    }
}

/// A profile's fault, at its line.
pub(crate) fn of_profile(error: &ProfileError) -> Refusal {
    let text = format!("found {}; expected {}", error.found, error.expected);
    let found = format!("the profile {} cannot be used", error.file);
    at_place(found, &error.file, error.line, error.column, text).todo(error.advice.clone())
}

/// The disk's refusal.
pub(crate) fn of_files(error: &FileError) -> Refusal {
    Refusal::new(Reason::Storage, error.to_string())
}
