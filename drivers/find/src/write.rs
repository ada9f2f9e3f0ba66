//! Writes a profile as text.

use std::fmt::Write as _;

use crate::heard::HeardBytes;
use crate::records::RecordCut;
use crate::tokens::bytes_of;
use benchhand_drivers::profile::StatusMeaning;
use benchhand_drivers::serial_settings::SerialSettings;
use benchhand_drivers::unit::Unit;

/// The place of a field in its record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum FieldPosition {
    Whole,
    Column {
        separator: Separator,
        columns: usize,
        column: usize,
    },
    Label(Vec<u8>),
    At {
        at: usize,
        len: usize,
        width: usize,
    },
}

/// The separator of columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Separator {
    Text(&'static str),
    Blanks,
}

/// How the gauge tells the unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum UnitText {
    /// The gauge tells no unit, or only unknown words.
    Unknown { words: Vec<String> },
    /// The unit stands behind the number.
    Behind {
        unit: Unit,
        words: Vec<(String, Unit)>,
    },
    /// The unit stands in a separate column.
    Column {
        column: usize,
        words: Vec<(String, Unit)>,
    },
}

/// A checksum in words of the profile format.
pub(crate) type ChecksumText = String;

/// The content of a profile for text.
#[derive(Debug, Clone)]
pub(crate) struct ProfilePlan {
    pub(crate) cut: RecordCut,
    pub(crate) longest: usize,
    pub(crate) checksum: Option<ChecksumText>,
    /// The part of the record that holds fields, if it is not all of it.
    pub(crate) content: Option<(i32, i32)>,
    pub(crate) place: FieldPosition,
    pub(crate) comma: bool,
    pub(crate) decimals: Option<u8>,
    pub(crate) exponent: bool,
    /// The character that separates thousands.
    pub(crate) grouping: Option<u8>,
    pub(crate) unit: UnitText,
    /// Words in place of a number, and their meanings.
    pub(crate) sentinels: Vec<(String, StatusMeaning)>,
    /// A column of status words, and their meanings.
    pub(crate) status: Option<(usize, Vec<(String, StatusMeaning)>)>,
    /// Beginnings of lines that are not records.
    pub(crate) ignore: Vec<String>,
}

/// The profile's text.
pub(crate) fn profile(
    plan: &ProfilePlan,
    line: SerialSettings,
    period_ms: u64,
    heard: &HeardBytes,
) -> String {
    let mut text = head(line, period_ms, heard);
    match &plan.cut {
        RecordCut::Line(end) if matches!(end[0], b'\r' | b'\n') => {
            text += "kind = \"line\"\nend = \"any\"\n";
        }
        RecordCut::Line(end) => {
            let _ = writeln!(text, "kind = \"line\"\nend = {}", quoted(end));
        }
        RecordCut::Framed {
            start,
            end,
            trailer,
        } => {
            let (start, end) = (quoted(start), quoted(end));
            let _ = writeln!(text, "kind = \"framed\"\nstart = {start}\nend = {end}");
            if *trailer > 0 {
                let _ = writeln!(text, "trailer = {trailer}");
            }
        }
    }
    let _ = writeln!(text, "longest = {}", plan.longest);
    if let Some(checksum) = &plan.checksum {
        let _ = writeln!(text, "checksum = {checksum}");
    }
    if let Some((from, to)) = plan.content {
        let _ = writeln!(text, "content = [{from}, {to}]");
    }
    match &plan.place {
        FieldPosition::Column {
            separator, columns, ..
        } => {
            let separator = match separator {
                Separator::Blanks => "\"blanks\"".to_owned(),
                Separator::Text(text) => quoted(text.as_bytes()),
            };
            let _ = writeln!(text, "separator = {separator}\ncolumns = {columns}");
        }
        FieldPosition::At { width, .. } => {
            let _ = writeln!(text, "width = {width}");
        }
        FieldPosition::Whole | FieldPosition::Label(_) => {}
    }
    if !plan.ignore.is_empty() {
        let _ = writeln!(text, "ignore = [{}]", list(&plan.ignore));
    }
    text += "\n[[channel]]\nname = \"value\"\n";
    match &plan.place {
        FieldPosition::Whole => {}
        FieldPosition::Column { column, .. } => {
            let _ = writeln!(text, "column = {}", column + 1);
        }
        FieldPosition::Label(label) => {
            let _ = writeln!(text, "label = {}", quoted(label));
        }
        FieldPosition::At { at, len, .. } => {
            let _ = writeln!(text, "at = {at}\nlen = {len}");
        }
    }
    if plan.comma {
        text += "decimal_mark = \",\"\n";
    }
    if let (Some(decimals), false) = (plan.decimals, plan.exponent) {
        let _ = writeln!(text, "decimals = {decimals}");
    }
    if plan.exponent {
        text += "exponent = true\n";
    }
    if let Some(byte) = plan.grouping {
        let _ = writeln!(text, "grouping = {}", quoted(&[byte]));
    }
    text += &unit(&plan.unit);
    if !plan.sentinels.is_empty() {
        let all: Vec<String> = plan
            .sentinels
            .iter()
            .map(|(word, says)| {
                format!(
                    "{{ is = {}, says = \"{}\" }}",
                    quoted(word.as_bytes()),
                    says.word()
                )
            })
            .collect();
        let _ = writeln!(text, "sentinels = [{}]", all.join(", "));
    }
    if let Some((column, words)) = &plan.status {
        let words: Vec<String> = words
            .iter()
            .map(|(word, says)| format!("{} = \"{}\"", quoted(&bytes_of(word)), says.word()))
            .collect();
        let column = column + 1;
        let _ = writeln!(
            text,
            "\n[[status]]\ncolumn = {column}\nwords = {{ {} }}",
            words.join(", ")
        );
    }
    text
}

/// The profile's text up to how the gauge sends.
pub(crate) fn head_of(line: SerialSettings) -> String {
    let mut text = String::from(
        "# Found by listening. Give it a name and, where the unit is \"1\", the gauge's unit.\n",
    );
    let _ = write!(
        text,
        "profile = 1\nname = \"found-gauge\"\ntitle = \"A gauge found by listening\"\n\n[line]\nbaud = {}\nformat = \"{}\"\n\n[talk]\n",
        line.baud, line.format
    );
    text
}

/// The profile's text up to the kind of frame.
pub(crate) fn head(line: SerialSettings, period_ms: u64, heard: &HeardBytes) -> String {
    let mut text = head_of(line);
    match &heard.asked {
        Some(asked) => {
            let command = quoted(&asked.command);
            let period = period_ms.max(50);
            let _ = writeln!(
                text,
                "mode = \"poll\"\ncommand = {command}\nperiod_ms = {period}\ntimeout_ms = 400"
            );
            if heard.echoed() {
                text += "echo = true\n";
            }
        }
        None => {
            let _ = writeln!(text, "mode = \"stream\"\nperiod_ms = {}", period_ms.max(1));
        }
    }
    text += "\n[frame]\n";
    text
}

fn unit(unit: &UnitText) -> String {
    let words = |words: &[(String, Unit)]| -> String {
        let all: Vec<String> = words
            .iter()
            .map(|(word, unit)| format!("{} = \"{unit}\"", quoted(&bytes_of(word))))
            .collect();
        all.join(", ")
    };
    match unit {
        UnitText::Unknown { words } if words.is_empty() => "unit = \"1\"\n".to_owned(),
        UnitText::Unknown { words } => {
            let all: Vec<String> = words
                .iter()
                .map(|word| format!("{} = \"1\"", quoted(&bytes_of(word))))
                .collect();
            format!(
                "unit = {{ default = \"1\", sent = {{ {} }} }}\n",
                all.join(", ")
            )
        }
        UnitText::Behind { unit, words: own } => {
            let plain =
                |(word, unit): &(String, Unit)| word.is_ascii() && word.parse() == Ok(*unit);
            if own.iter().all(plain) {
                format!("unit = {{ default = \"{unit}\", sent = \"any\" }}\n")
            } else {
                format!(
                    "unit = {{ default = \"{unit}\", sent = {{ {} }} }}\n",
                    words(own)
                )
            }
        }
        UnitText::Column { column, words: own } => {
            let default = own.first().map_or(Unit::One, |(_, unit)| *unit);
            format!(
                "unit = {{ default = \"{default}\", column = {}, sent = {{ {} }} }}\n",
                column + 1,
                words(own)
            )
        }
    }
}

fn list(words: &[String]) -> String {
    words
        .iter()
        .map(|word| quoted(word.as_bytes()))
        .collect::<Vec<_>>()
        .join(", ")
}

/// Bytes as a TOML text.
pub(crate) fn quoted(bytes: &[u8]) -> String {
    let mut text = String::from("\"");
    for byte in bytes {
        match byte {
            b'"' => text += "\\\"",
            b'\\' => text += "\\\\",
            b'\r' => text += "\\r",
            b'\n' => text += "\\n",
            0x20..=0x7E => text.push(char::from(*byte)),
            _ => {
                let _ = write!(text, "\\u{byte:04X}");
            }
        }
    }
    text.push('"');
    text
}
