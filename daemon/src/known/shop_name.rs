//! The settings of the shop, as a text of its own states them: its name, address and mark, who
//! usually measures, the units in which it thinks, and for how long it keeps recorded streams.

use std::path::{Component, Path};

use benchhand_blueprint::Unit;
use benchhand_blueprint::known_word::meant;
use benchhand_blueprint::units::QuantityKind;
use benchhand_sheets::{MarkKind, ShopMark, ShopShown};
use benchhand_toml_places::{PlacedTable, PlacedValue, TextRange, line_and_column, parse};
use benchhand_wire::{Place, Reason, Refusal};

use super::keeper::Keeper;
use super::refusals::of_files;
use crate::store::fact::are_initials;

/// The text, in the data folder.
pub(crate) const SHOP: &str = "shop.toml";
/// The most that a mark may have, bytes: it stands in every sheet.
const MOST_MARK: usize = 500_000;
/// What a PNG begins with (W3C, Portable Network Graphics, 5.2; from memory).
const PNG: &[u8] = b"\x89PNG\r\n\x1a\n";

/// What a shop usually does, where nobody says otherwise.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct ShopUsual {
    /// Initials of who measures.
    pub(crate) initials: Option<String>,
    /// The unit of pressures of the engines that are begun here.
    pub(crate) pressure_unit: Option<Unit>,
    /// The unit of their flow.
    pub(crate) flow_unit: Option<Unit>,
    /// Whether their lengths are in millimetres.
    pub(crate) metric: bool,
}

/// All that the text states.
#[derive(Debug, Clone, Default, PartialEq)]
struct ShopText {
    shown: ShopShown,
    usual: ShopUsual,
    /// For how many days recorded streams are kept; `None`: for good.
    keeps_streams: Option<u32>,
}

/// The shop as its sheets show it; with nothing in it where there is no text.
///
/// # Errors
/// Where the text or the mark cannot be used, at its line and column.
pub(crate) fn shop(keeper: &Keeper) -> Result<ShopShown, Refusal> {
    Ok(whole(keeper)?.shown)
}

/// For how many days after a job's last entry its recorded streams are kept; `None` where they are kept
/// for good, as they are where nobody says otherwise.
///
/// # Errors
/// As for [`shop`].
pub(crate) fn keeps_streams(keeper: &Keeper) -> Result<Option<u32>, Refusal> {
    Ok(whole(keeper)?.keeps_streams)
}

/// What the shop usually does. A text that cannot be used says nothing: no reading waits for it, and
/// each sheet says what is wrong with it.
pub(crate) fn usual(keeper: &Keeper) -> ShopUsual {
    match whole(keeper) {
        Ok(text) => text.usual,
        Err(refusal) => {
            tracing::warn!(%refusal, "the shop's settings are not used");
            ShopUsual::default()
        }
    }
}

fn whole(keeper: &Keeper) -> Result<ShopText, Refusal> {
    let path = keeper.layout().root().join(SHOP);
    let bytes = match keeper.files().read(&path) {
        Err(error) if error.is_missing() => return Ok(ShopText::default()),
        other => other.map_err(|e| of_files(&e))?,
    };
    let text = String::from_utf8_lossy(&bytes);
    let read_mark = |name: &str| keeper.files().read(&keeper.layout().root().join(name));
    read(&text, |name| match read_mark(name) {
        Err(error) if error.is_missing() => Err(format!("found no file {name:?} beside {SHOP}")),
        other => other.map_err(|error| error.to_string()),
    })
    .map_err(|faults| {
        let file = path.display().to_string();
        let found = match faults.len() {
            1 => format!("{file} cannot be used: 1 fault"),
            n => format!("{file} cannot be used: {n} faults"),
        };
        let refusal = Refusal::new(Reason::BadInput, found);
        let refusal = faults.into_iter().fold(refusal, |refusal, (place, fault)| {
            let (line, column) = line_and_column(&text, place.start);
            refusal.at(Place {
                file: file.clone(),
                line,
                column,
                text: fault,
            })
        });
        refusal.todo("correct it, or take the file away; docs/sheets.md says what may stand in it")
    })
}

/// Where a text cannot be used, and why.
type Faults = Vec<(TextRange, String)>;

fn read(text: &str, mark: impl Fn(&str) -> Result<Vec<u8>, String>) -> Result<ShopText, Faults> {
    let parsed = parse(text).map_err(|fault| vec![(fault.place, fault.message)])?;
    let table = PlacedTable::new(parsed.get_ref(), parsed.span());
    let mut faults = Faults::new();
    let shown = ShopShown {
        name: table
            .get("name")
            .and_then(|value| said(&value, &mut faults))
            .unwrap_or_default(),
        address: address(&table, &mut faults),
        mark: table
            .get("mark")
            .and_then(|value| picture(&value, &mark, &mut faults)),
    };
    let keeps_streams = table
        .get("keep_streams")
        .and_then(|value| days(&value, &mut faults));
    let usual = ShopUsual {
        initials: initials(&table, &mut faults),
        pressure_unit: unit(&table, "pressure_unit", QuantityKind::Pressure, &mut faults),
        flow_unit: unit(&table, "flow_unit", QuantityKind::Flow, &mut faults),
        metric: metric(&table, &mut faults),
    };
    for unknown in table.not_asked() {
        let asked = table.asked();
        let hint = match meant(unknown.key, asked.iter().map(String::as_str)) {
            Err(Some(near)) => format!("did you mean {near}?"),
            _ => format!("the keys are {}", asked.join(", ")),
        };
        let fault = format!(
            "found the key {:?}, which means nothing here; {hint}",
            unknown.key
        );
        faults.push((unknown.key_place, fault));
    }
    match faults.is_empty() {
        true => Ok(ShopText {
            shown,
            usual,
            keeps_streams,
        }),
        false => Err(faults),
    }
}

fn said(value: &PlacedValue<'_>, faults: &mut Faults) -> Option<String> {
    let text = value.text().map(str::trim).filter(|text| !text.is_empty());
    if text.is_none() {
        let fault = format!("{}: expected a text in quotation marks", value.key);
        faults.push((value.place.clone(), fault));
    }
    text.map(str::to_owned)
}

/// The least that recorded streams may be kept: a job may rest for weeks.
const LEAST_DAYS: u32 = 30;

/// `"for good"`, or a number of days such as `"365 days"`.
fn days(value: &PlacedValue<'_>, faults: &mut Faults) -> Option<u32> {
    let text = said(value, faults)?;
    if text == "for good" {
        return None;
    }
    let number = text.strip_suffix(" days").map(str::trim);
    let number = number.and_then(|number| number.parse::<u32>().ok());
    let number = number.filter(|days| *days >= LEAST_DAYS);
    if number.is_none() {
        let fault = format!(
            "keep_streams: expected \"for good\" or at least {LEAST_DAYS} days, such as \"365 days\", found {text:?}"
        );
        faults.push((value.place.clone(), fault));
    }
    number
}

fn initials(table: &PlacedTable<'_>, faults: &mut Faults) -> Option<String> {
    let value = table.get("initials")?;
    let text = said(&value, faults)?;
    if are_initials(&text) {
        return Some(text);
    }
    let fault = format!("initials: found {text:?}, expected at most 8 letters or digits");
    faults.push((value.place.clone(), fault));
    None
}

fn unit(
    table: &PlacedTable<'_>,
    key: &str,
    kind: QuantityKind,
    faults: &mut Faults,
) -> Option<Unit> {
    let value = table.get(key)?;
    let text = said(&value, faults)?;
    let unit = text.parse::<Unit>().ok().filter(|unit| unit.kind() == kind);
    if unit.is_none() {
        let fault = format!(
            "{key}: found {text:?}, expected a unit of {kind}, such as {}",
            match kind {
                QuantityKind::Pressure => "inH2O",
                _ => "cfm",
            }
        );
        faults.push((value.place.clone(), fault));
    }
    unit
}

fn metric(table: &PlacedTable<'_>, faults: &mut Faults) -> bool {
    let Some(value) = table.get("units") else {
        return false;
    };
    let text = said(&value, faults).unwrap_or_default();
    if !text.is_empty() && !["inch", "metric"].contains(&text.as_str()) {
        let fault = format!("units: found {text:?}, expected \"inch\" or \"metric\"");
        faults.push((value.place.clone(), fault));
    }
    text == "metric"
}

/// One text, of one or several lines, or a list of lines.
fn address(table: &PlacedTable<'_>, faults: &mut Faults) -> Vec<String> {
    let Some(value) = table.get("address") else {
        return Vec::new();
    };
    match value.list() {
        Some(lines) => lines.iter().filter_map(|line| said(line, faults)).collect(),
        None => said(&value, faults)
            .iter()
            .flat_map(|text| text.lines())
            .map(|line| line.trim().to_owned())
            .collect(),
    }
}

fn picture(
    value: &PlacedValue<'_>,
    read: &impl Fn(&str) -> Result<Vec<u8>, String>,
    faults: &mut Faults,
) -> Option<ShopMark> {
    let name = said(value, faults)?;
    let mut refuse = |fault: String| {
        faults.push((value.place.clone(), format!("mark: {fault}")));
        None
    };
    let mut parts = Path::new(&name).components();
    if !matches!(
        (parts.next(), parts.next()),
        (Some(Component::Normal(_)), None)
    ) {
        return refuse(format!(
            "expected the name of a file beside {SHOP}, found {name:?}"
        ));
    }
    let bytes = match read(&name) {
        Ok(bytes) => bytes,
        Err(fault) => return refuse(fault),
    };
    if bytes.len() > MOST_MARK {
        let most = MOST_MARK / 1000;
        return refuse(format!(
            "expected at most {most} kB, since it stands in every sheet; {name:?} has {} kB",
            bytes.len() / 1000
        ));
    }
    let kind = match &bytes {
        png if png.starts_with(PNG) => MarkKind::Png,
        other if String::from_utf8_lossy(other).contains("<svg") => MarkKind::Svg,
        _ => {
            return refuse(format!(
                "expected an SVG or PNG picture; {name:?} is neither"
            ));
        }
    };
    Some(ShopMark { kind, bytes })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(text: &str) -> Vec<(usize, usize, String)> {
        let found = read(text, |name| match name {
            "mark.svg" => Ok(b"<svg xmlns=\"http://www.w3.org/2000/svg\"/>".to_vec()),
            "mark.txt" => Ok(b"words".to_vec()),
            _ => Err("found no file".to_owned()),
        });
        let faults = found.expect_err("faults");
        let placed = faults.into_iter().map(|(place, fault)| {
            let (line, column) = line_and_column(text, place.start);
            (line, column, fault)
        });
        placed.collect()
    }

    #[test]
    fn what_is_wrong_is_named_at_its_line_and_column() {
        let found = places("nam = \"A\"\naddress = 3\nmark = \"mark.txt\"\n");
        assert_eq!((found[2].0, found[2].1), (1, 1));
        assert!(found[2].2.contains("did you mean name?"), "{found:?}");
        assert_eq!((found[0].0, found[0].1), (2, 11));
        assert_eq!((found[1].0, found[1].1), (3, 8));
        assert!(found[1].2.contains("SVG or PNG"), "{found:?}");
        assert_eq!(places("name = \"A\nmark").len(), 1);
    }

    #[test]
    fn streams_are_kept_for_good_or_for_a_stated_time() {
        let kept = |text: &str| read(text, |_| Ok(Vec::new())).map(|text| text.keeps_streams);
        assert_eq!(kept("name = \"A\"\n"), Ok(None));
        assert_eq!(kept("keep_streams = \"for good\"\n"), Ok(None));
        assert_eq!(kept("keep_streams = \"365 days\"\n"), Ok(Some(365)));
        for wrong in ["\"7 days\"", "\"a year\"", "365", "\"-40 days\""] {
            let found = places(&format!("keep_streams = {wrong}\n"));
            assert_eq!((found[0].0, found[0].1), (1, 16), "{wrong}");
        }
    }

    #[test]
    fn who_measures_and_the_units_are_stated_once() {
        let none = |_: &str| Err(String::new());
        let text = "initials = \"AB\"\nunits = \"metric\"\npressure_unit = \"inH2O\"\nflow_unit = \"cfm\"\n";
        let usual = read(text, none).expect("settings").usual;
        assert_eq!(usual.initials.as_deref(), Some("AB"));
        assert_eq!(usual.pressure_unit, Some(Unit::InchWater));
        assert_eq!(usual.flow_unit, Some(Unit::CubicFootPerMinute));
        assert!(usual.metric);
        let found = places("initials = \"A. B.\"\nflow_unit = \"hPa\"\nunits = \"feet\"\n");
        assert!(
            found[0].2.contains("at most 8 letters or digits"),
            "{found:?}"
        );
        assert!(found[1].2.contains("such as cfm"), "{found:?}");
        assert!(found[2].2.contains("\"inch\" or \"metric\""), "{found:?}");
    }

    #[test]
    fn a_mark_lies_beside_the_text_and_nowhere_else() {
        for name in ["../mark.svg", "/mark.svg", "a/mark.svg", "."] {
            let found = places(&format!("mark = \"{name}\"\n"));
            assert!(found[0].2.contains("beside"), "{name}: {found:?}");
        }
    }

    #[test]
    fn an_address_is_one_text_or_a_list_of_lines() {
        let mark = |_: &str| Ok(b"<svg/>".to_vec());
        let one = read(
            "address = \"\"\"First\nSecond\"\"\"\nmark = \"mark.svg\"",
            mark,
        );
        let list = read(
            "address = [\"First\", \"Second\"]\nmark = \"mark.svg\"",
            mark,
        );
        assert_eq!(one, list);
        let shop = one.expect("a shop").shown;
        assert_eq!(shop.address, ["First", "Second"]);
        assert_eq!(shop.mark.map(|mark| mark.kind), Some(MarkKind::Svg));
    }
}
