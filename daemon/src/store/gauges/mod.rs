//! The shop's gauge register: one text file for each gauge, which a person may edit.
//!
//! The register knows which text belongs to which gauge and what may stand in it. How a gauge sends
//! (its profile) and what its readings are worth are not known here.

mod contradiction;
mod entry;
mod merge;
mod value;

use std::path::PathBuf;

pub use entry::{BuretteEntry, Calibration, Channel, GaugePort, Learned, RegisterEntry, ZeroPoint};
pub use value::{Quantity, UsbId};

use crate::store::Store;
use crate::store::error::StoreError;
use crate::store::fact::{InputKind, JobInput};
use crate::store::name::{BadName, check_name};
use crate::store::reader::Reader;
use benchhand_files::FileError;

/// The register did not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum GaugeError {
    /// A name that cannot be one.
    #[error(transparent)]
    Name(#[from] BadName),
    /// No such gauge.
    #[error("there is no gauge {name:?} in {}; {}", .folder.display(), known_gauges(.known))]
    NoGauge {
        /// The name.
        name: String,
        /// The register's folder.
        folder: PathBuf,
        /// The gauges there are.
        known: Vec<String>,
    },
    /// The text is wrong.
    #[error(transparent)]
    Text(#[from] TextFault),
    /// The store was opened for reading.
    #[error("the store was opened for reading, and this would write")]
    ReadOnly,
    /// The disk refused.
    #[error(transparent)]
    Files(#[from] FileError),
}

fn known_gauges(known: &[String]) -> String {
    if known.is_empty() {
        "there is none yet: set one up first".to_owned()
    } else {
        format!("there are {}", known.join(", "))
    }
}

/// What is wrong in a text that a person edits, and where.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}:{line}:{column}: {what}", .path.display())]
pub struct TextFault {
    /// The file.
    pub path: PathBuf,
    /// The line, counted from 1.
    pub line: usize,
    /// The column, counted in characters from 1.
    pub column: usize,
    /// What was found and what was expected.
    pub what: String,
    /// The whole text, to show the line.
    pub text: String,
    /// Where in the text, in bytes.
    pub span: std::ops::Range<usize>,
}

impl TextFault {
    fn new(path: PathBuf, text: &str, span: std::ops::Range<usize>, what: String) -> Self {
        let before = text.get(..span.start).unwrap_or_default();
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        Self {
            path,
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            what,
            text: text.to_owned(),
            span,
        }
    }
}

/// A gauge with the text that it was read from.
#[derive(Debug, Clone, PartialEq)]
pub struct RegisteredGauge {
    /// The gauge's name.
    pub name: String,
    /// What the text says.
    pub gauge: RegisterEntry,
    /// The text, whole.
    pub text: String,
}

impl RegisteredGauge {
    /// The text as an input of a job, so that its readings can be judged by it for ever.
    #[must_use]
    pub fn input(&self) -> JobInput {
        JobInput::new(InputKind::Gauge, &self.name, &self.text)
    }
}

/// Every gauge of a register.
#[derive(Debug, Default)]
pub struct GaugeList {
    /// Those that can be read, in the order of their names.
    pub gauges: Vec<RegisteredGauge>,
    /// Those that cannot, with the reason.
    pub unreadable: Vec<(String, GaugeError)>,
}

impl Reader {
    /// Every gauge of the register.
    ///
    /// # Errors
    /// When the folder cannot be listed; a gauge whose text is wrong is no error.
    pub fn gauges(&self) -> Result<GaugeList, GaugeError> {
        let mut list = GaugeList::default();
        for name in self.gauge_names()? {
            match self.gauge(&name) {
                Ok(gauge) => list.gauges.push(gauge),
                Err(error) => list.unreadable.push((name, error)),
            }
        }
        Ok(list)
    }

    /// A gauge by its name.
    ///
    /// # Errors
    /// When there is no such gauge, or its text is wrong.
    pub fn gauge(&self, name: &str) -> Result<RegisteredGauge, GaugeError> {
        check_name("gauge", name)?;
        let path = self.gauge_path(name);
        let bytes = match self.files().read(&path) {
            Err(error) if error.is_missing() => {
                let (name, folder) = (name.to_owned(), self.layout().gauges());
                return Err(GaugeError::NoGauge {
                    name,
                    folder,
                    known: self.gauge_names()?,
                });
            }
            other => other?,
        };
        let text = String::from_utf8(bytes).map_err(|error| {
            let at = error.utf8_error().valid_up_to();
            let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
            TextFault::new(
                path.clone(),
                &text,
                at..at,
                "this is not UTF-8 text".to_owned(),
            )
        })?;
        let gauge = parse(path, &text)?;
        Ok(RegisteredGauge {
            name: name.to_owned(),
            gauge,
            text,
        })
    }

    fn gauge_names(&self) -> Result<Vec<String>, GaugeError> {
        let listed = match self.files().list(&self.layout().gauges()) {
            Err(error) if error.is_missing() => return Ok(Vec::new()),
            other => other?,
        };
        let files = listed.iter().filter(|listed| !listed.is_dir);
        let names = files.filter_map(|listed| listed.name.strip_suffix(".toml"));
        Ok(names
            .filter(|name| check_name("gauge", name).is_ok())
            .map(str::to_owned)
            .collect())
    }

    fn gauge_path(&self, name: &str) -> PathBuf {
        self.layout().gauges().join(format!("{name}.toml"))
    }
}

impl Store {
    /// Writes a gauge into the register. What a person wrote beside it - remarks, the order of
    /// the lines - stays.
    ///
    /// # Errors
    /// When the name cannot be one, the gauge cannot be, or the disk refuses.
    pub fn set_gauge(
        &self,
        name: &str,
        gauge: &RegisterEntry,
    ) -> Result<RegisteredGauge, GaugeError> {
        self.may_write()
            .map_err(|_: StoreError| GaugeError::ReadOnly)?;
        check_name("gauge", name)?;
        let reader = self.reader();
        let old = match reader.gauge(name) {
            Ok(registered) => registered.text,
            Err(GaugeError::NoGauge { .. }) => String::new(),
            Err(error) => return Err(error),
        };
        let path = reader.gauge_path(name);
        let text = merge::merged(&old, gauge)
            .map_err(|what| TextFault::new(path.clone(), &old, 0..0, what))?;
        // The written text must read back as it was meant. A gauge that cannot be is refused here
        // as if a person had written it.
        let gauge = parse(path.clone(), &text)?;
        self.reader().files().replace(&path, text.as_bytes())?;
        Ok(RegisteredGauge {
            name: name.to_owned(),
            gauge,
            text,
        })
    }
}

/// Reads a gauge's text.
fn parse(path: PathBuf, text: &str) -> Result<RegisterEntry, TextFault> {
    let fault = |span: Option<std::ops::Range<usize>>, what: String| {
        TextFault::new(path.clone(), text, span.unwrap_or(0..0), what)
    };
    let gauge: toml::Spanned<RegisterEntry> = toml::from_str(text)
        .map_err(|error: toml::de::Error| fault(error.span(), error.message().to_owned()))?;
    let gauge = gauge.into_inner();
    match contradiction::contradiction(&gauge) {
        None => Ok(gauge),
        Some((key, what)) => Err(fault(place_of(text, &key), what)),
    }
}

/// The place of a key in a text: `zero.raw`, `channel.0.zero.raw`.
fn place_of(text: &str, key: &str) -> Option<std::ops::Range<usize>> {
    let document = toml_edit::Document::parse(text).ok()?;
    let mut item = document.as_item();
    for part in key.split('.') {
        item = match part.parse::<usize>() {
            Ok(number) => item.get(number)?,
            Err(_) => item.get(part)?,
        };
    }
    item.span()
}
