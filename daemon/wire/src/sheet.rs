//! Sheets of a job: what the customer, the piston maker and the machine shop get on paper.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Asks for one sheet of a job as HTML. Changes nothing.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct MakeSheet {
    /// The job's name.
    pub job: String,
    /// `build`, `flow`, `order`, `work` or `labels`.
    pub sheet: String,
    /// The stage that it is about; the present one where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
    // Their shape is the blueprint's, which this package does not know.
    /// The questions whose answers the sheet tells, with their names in `ask`: a `dome` for an
    /// order; a `chambers`, a `mill` or both for work. Where empty, those of the engine file's
    /// target. Other sheets have none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub questions: Vec<serde_json::Value>,
    /// The last hash that an earlier sheet carries: the answer says whether it is in the record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen: Option<String>,
    /// How the journals of several stations ended when that sheet was made, as its note says.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub seen_journals: Vec<SheetJournal>,
}

/// A sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SheetMade {
    /// Its title.
    pub title: String,
    /// The whole file: HTML that loads nothing and runs nothing.
    pub html: String,
    /// What the sheet carries, so that it can be traced.
    pub note: SheetNote,
    /// How many entries were kept since the one whose hash was asked about; absent where none was
    /// asked about, or where no entry of the record has that hash.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub since: Option<u64>,
}

/// What a sheet carries of its origin.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SheetNote {
    /// Version of this note: 1.
    pub format: u32,
    /// Which sheet: `build`, `flow`, `order`, `work` or `labels`.
    pub sheet: String,
    /// The job's name.
    pub job: String,
    /// The stage that it is about.
    pub stage: String,
    /// The questions whose answers it tells.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub questions: Vec<serde_json::Value>,
    /// The number of the record's last entry.
    pub entry: u64,
    /// The hash of that entry, which rests on all before it; where several stations have a journal,
    /// that of the last entry in the journal of the station that made the sheet.
    pub head: String,
    /// When the sheet was made, RFC 3339.
    pub made: String,
    /// Where several stations have a journal of the job: how each ended.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub journals: Vec<SheetJournal>,
}

/// How one station's journal of the job ended when a sheet was made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SheetJournal {
    /// The station's identity.
    pub station: String,
    /// The hash of its last entry.
    pub head: String,
}

impl Ask for MakeSheet {
    const PATH: &'static str = "jobs/sheet";
    const CARRY: Carry = Carry::Inquiry;
    type Answer = SheetMade;
}

/// A sheet that a command wrote.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SheetWritten {
    /// Its title.
    pub title: String,
    /// The HTML file; `null` where none was asked for.
    pub out: Option<String>,
    /// The PDF file; `null` where none was asked for.
    pub pdf: Option<String>,
    /// What the sheet carries of its origin.
    pub note: SheetNote,
}

/// What a sheet says beside what the record says now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SheetChecked {
    /// What the sheet carries of its origin.
    pub note: SheetNote,
    /// Whether the entry whose hash the sheet carries is in the record.
    pub in_record: bool,
    /// How many entries were kept since; `null` where that entry is not there.
    pub since: Option<u64>,
    /// The figures that the record gives otherwise.
    pub changed: Vec<SheetChange>,
    /// How many figures the sheet prints.
    pub figures: usize,
}

/// A figure that a sheet prints and the record gives otherwise.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SheetChange {
    /// Its name.
    pub name: String,
    /// Its text on the sheet; `null` where the sheet lacks it.
    pub on_sheet: Option<String>,
    /// Its text by the record; `null` where the record does not give it.
    pub by_record: Option<String>,
}
