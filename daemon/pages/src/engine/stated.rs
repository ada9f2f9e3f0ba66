//! From what was filled in to the engine file's text, its faults, its figures and its drawing.

use benchhand_blueprint::engine::{
    AskedField, CylinderLayout, CylinderSection, ENGINE_FIELDS, EngineFileFaults, EngineText,
    EngineValue, LAYOUTS, NEW_FREE, NominalFigures, free_fields, head_field, new_free_field,
};
use benchhand_blueprint::{Engine, Estimate, Unit};
use benchhand_words::digits::rounded;

use crate::form::FilledFields;

/// The field that chooses cylinders and banks at once.
const LAYOUT: &str = "layout";
/// What an engine file needs and a page that is filled in may still lack.
const OPEN: [&str; 3] = ["name", "units", "cylinders"];

/// One field as it is shown.
#[derive(Debug, Clone)]
pub struct ShownField {
    /// What is asked.
    pub asked: AskedField,
    /// What stands in it, without its unit where that is chosen beside it.
    pub value: String,
    /// The unit that is chosen, its symbol; empty where there is none to choose.
    pub unit: &'static str,
    /// The units to choose from, their symbols.
    pub units: Vec<&'static str>,
    /// What the file says beside the value, such as its uncertainty.
    pub beside: String,
    /// What is wrong with it; empty where nothing.
    pub fault: String,
    /// Whether what stands in it cannot be written into the text, and is not there.
    pub unwritten: bool,
}

impl ShownField {
    /// Whether a job begins with it: everything else may follow.
    pub(super) fn is_first(&self) -> bool {
        ["name", "units", "cylinders"].contains(&self.asked.key.as_ref())
    }
}

/// The state of the page.
#[derive(Debug, Clone)]
pub struct EngineSheet {
    /// The engine file's text, with what was filled in.
    pub text: String,
    /// The text that the fields show: the next change is counted from it.
    pub base: String,
    /// The fields, in the trade's order.
    pub fields: Vec<ShownField>,
    /// The layout that the banks are; empty where they are none of the common ones.
    pub layout: &'static str,
    /// Faults that belong to no field, each with its line where it has one.
    pub faults: Vec<String>,
    /// Figures as a person reads them: name, value.
    pub figures: Vec<(&'static str, String)>,
    /// What is odd about the sizes, a sentence for each.
    pub doubts: Vec<String>,
    /// What the compression still lacks.
    pub lacking: Vec<&'static str>,
    /// The drawing; empty where the bore is not stated.
    pub drawing: String,
}

fn sent<'a>(filled: &'a FilledFields, name: &str) -> Option<&'a str> {
    let found = filled.iter().find(|(field, _)| field == name);
    found.map(|(_, value)| value.as_str())
}

/// The fields of a text: the common ones, those of its free spots, and one for the head on each bank.
fn asked_of(text: &EngineText) -> Vec<AskedField> {
    let mut fields = ENGINE_FIELDS.to_vec();
    let free = text.sections("free");
    fields.extend(free.iter().flat_map(|name| free_fields(name)));
    fields.push(new_free_field());
    let banks = text.value("banks").unwrap_or_default().typed;
    let rows: Vec<&str> = banks
        .split('/')
        .map(str::trim)
        .filter(|row| !row.is_empty())
        .collect();
    let only = rows.len() < 2;
    for (at, row) in rows.iter().enumerate() {
        let name = row.split(' ').next().unwrap_or_default();
        let numbered = name.parse::<u32>().is_ok();
        let name = if numbered {
            (at + 1).to_string()
        } else {
            name.to_owned()
        };
        fields.push(head_field(&name, only));
    }
    if rows.is_empty() {
        fields.push(head_field("1", true));
    }
    fields
}

fn is_metric(text: &EngineText) -> bool {
    text.value("units")
        .is_some_and(|units| units.typed == "metric")
}

/// A field as a text has it.
fn shown(text: &EngineText, asked: AskedField) -> ShownField {
    let units = asked.units(is_metric(text));
    let found = text.value(&asked.key).unwrap_or_default();
    let of_unit = |unit: &&Unit| {
        let number = found.typed.strip_suffix(unit.symbol())?;
        let plain = number
            .trim()
            .chars()
            .all(|c| c.is_ascii_digit() || "+-.,".contains(c));
        (plain && !number.contains("+-")).then(|| (number.trim().to_owned(), unit.symbol()))
    };
    let split = units.iter().find_map(|unit| of_unit(&unit));
    let usual = units.first().map_or("", |unit| unit.symbol());
    let (value, unit) = split.unwrap_or((found.typed, usual));
    ShownField {
        asked,
        value,
        unit,
        units: units.iter().map(|unit| unit.symbol()).collect(),
        beside: found.beside,
        fault: String::new(),
        unwritten: false,
    }
}

impl EngineSheet {
    /// The sheet of what was filled in: `base`, the text that the fields were shown with; `text`,
    /// as it was edited; and the fields.
    pub(super) fn of(filled: &FilledFields) -> EngineSheet {
        let base = sent(filled, "base").unwrap_or_default();
        // A browser sends each line's end as two letters.
        let base = base.replace("\r\n", "\n");
        let text =
            sent(filled, "text").map_or_else(|| base.clone(), |text| text.replace("\r\n", "\n"));
        let before = EngineText::new(base.as_str()).unwrap_or_else(|_| EngineText::empty());
        match EngineText::new(text.as_str()) {
            Ok(edited) => EngineSheet::changed(filled, &before, edited),
            Err(faults) => EngineSheet::unreadable(filled, &before, text, &faults),
        }
    }

    /// The text is no TOML: it stands as it was typed, and so do the fields.
    fn unreadable(
        filled: &FilledFields,
        before: &EngineText,
        text: String,
        faults: &EngineFileFaults,
    ) -> EngineSheet {
        let mut fields: Vec<ShownField> = asked_of(before)
            .into_iter()
            .map(|asked| shown(before, asked))
            .collect();
        for field in &mut fields {
            take_sent(field, filled);
        }
        EngineSheet {
            text,
            base: before.as_str().to_owned(),
            fields,
            layout: layout_of(before),
            faults: faults.faults.iter().map(ToString::to_string).collect(),
            figures: Vec::new(),
            doubts: Vec::new(),
            lacking: Vec::new(),
            drawing: String::new(),
        }
    }

    fn changed(filled: &FilledFields, before: &EngineText, mut text: EngineText) -> EngineSheet {
        let chosen = sent(filled, LAYOUT).unwrap_or_default();
        if let Some(layout) = CylinderLayout::named(chosen).filter(|_| chosen != layout_of(before))
        {
            let banks = layout.banks.iter().map(|bank| bank.to_vec()).collect();
            text.set("cylinders", Some(&EngineValue::Whole(layout.cylinders())));
            text.set("banks", Some(&EngineValue::Banks(banks)));
            if text.value("firing_order").is_some() {
                text.set("firing_order", None);
            }
        }
        let mut refused: Vec<(ShownField, String)> = Vec::new();
        for asked in asked_of(before) {
            let was = shown(before, asked);
            let mut now = was.clone();
            take_sent(&mut now, filled);
            let same_unit = now.unit == was.unit || now.value.is_empty();
            if now.value == was.value && same_unit {
                continue;
            }
            if now.asked.key == NEW_FREE {
                begin_free(&mut text, &now.value);
                continue;
            }
            let unit = now.unit.parse::<Unit>().ok();
            match now.asked.typed(&now.value, unit) {
                Ok(value) => text.set(&now.asked.key, value.as_ref()),
                Err(error) => refused.push((now, error.to_string())),
            }
        }
        let mut sheet = EngineSheet::plain(&text);
        for (typed, why) in refused {
            if let Some(field) = sheet.field(&typed.asked.key) {
                field.value = typed.value;
                field.fault = why;
                field.unwritten = true;
            }
        }
        sheet
    }

    /// The sheet of a text, with its faults, figures and drawing.
    fn plain(text: &EngineText) -> EngineSheet {
        let fields = asked_of(text)
            .into_iter()
            .map(|asked| shown(text, asked))
            .collect();
        let mut sheet = EngineSheet {
            text: text.as_str().to_owned(),
            base: text.as_str().to_owned(),
            fields,
            layout: layout_of(text),
            faults: Vec::new(),
            figures: Vec::new(),
            doubts: Vec::new(),
            lacking: Vec::new(),
            drawing: String::new(),
        };
        let mut usable = text.clone();
        if let Err(faults) = Engine::from_toml(text.as_str()) {
            for fault in &faults.faults {
                // What is wrong is left out of the drawing; the rest is drawn.
                usable.set(&fault.key, None);
                // What nobody answered yet is no fault; a job without it is refused when it is kept.
                let open = OPEN.contains(&fault.key.as_str());
                if open && text.value(&fault.key).is_none() {
                    continue;
                }
                match sheet.field(&fault.key) {
                    Some(field) => field.fault = format!("{}; {}", fault.message, fault.help),
                    None => sheet.faults.push(fault.to_string()),
                }
            }
        }
        // A name and units are not needed to draw it.
        for (key, value) in [("name", "engine"), ("units", "inch")] {
            if usable.value(key).is_none() {
                usable.set(key, Some(&EngineValue::Text(value.to_owned())));
            }
        }
        if usable.value("cylinders").is_none() {
            usable.set("cylinders", Some(&EngineValue::Whole(1)));
        }
        if let Ok(engine) = Engine::from_toml(usable.as_str()) {
            let counted = text.value("cylinders").is_some();
            sheet.draw(&engine, counted);
        }
        sheet
    }

    fn draw(&mut self, engine: &Engine, counted: bool) {
        let nominal = NominalFigures::of(engine);
        let length = engine.units.length();
        let decimals = if length == Unit::Inch { 4 } else { 2 };
        let in_lengths = |one: &Estimate| {
            format!(
                "{} {length}",
                rounded(length.from_base(one.value()), decimals)
            )
        };
        let cc = |one: &Estimate| format!("{} cc", rounded(one.value(), 2));
        let displacement = |one: &Estimate| {
            let inches = rounded(Unit::CubicInch.from_base(one.value()), 1);
            let cc = rounded(one.value(), 0);
            match length {
                Unit::Inch => format!("{inches} cu in ({cc} cc)"),
                _ => format!("{cc} cc ({inches} cu in)"),
            }
        };
        let all = [
            (
                "Compression",
                nominal
                    .compression
                    .as_ref()
                    .map(|one| format!("{} :1", rounded(one.value(), 2))),
            ),
            (
                "Displacement",
                nominal
                    .displacement
                    .as_ref()
                    .filter(|_| counted)
                    .map(displacement),
            ),
            ("Swept, each", nominal.swept.as_ref().map(cc)),
            ("Total at TDC, each", nominal.clearance.as_ref().map(cc)),
            ("Deck", nominal.deck.as_ref().map(in_lengths)),
            ("Quench", nominal.quench.as_ref().map(in_lengths)),
        ];
        self.figures = all
            .into_iter()
            .filter_map(|(name, value)| Some((name, value?)))
            .collect();
        self.doubts = engine.doubts();
        self.lacking = nominal.lacking;
        let section = CylinderSection::of(engine);
        self.drawing =
            benchhand_words::cylinder_section(&section, engine.units).unwrap_or_default();
    }

    fn field(&mut self, key: &str) -> Option<&mut ShownField> {
        self.fields.iter_mut().find(|field| field.asked.key == key)
    }

    /// Whether nothing is wrong with it.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.faults.is_empty() && self.fields.iter().all(|field| field.fault.is_empty())
    }

    /// The text to keep for a job of this name: an engine without a name takes the job's.
    #[must_use]
    pub fn text_for(&self, job: &str) -> String {
        let Ok(mut text) = EngineText::new(self.text.as_str()) else {
            return self.text.clone();
        };
        if text.value("name").is_none_or(|name| name.typed.is_empty()) {
            text.set("name", Some(&EngineValue::Text(job.to_owned())));
        }
        text.as_str().to_owned()
    }
}

/// Begins the section of a free spot. Its unit is the engine's for lengths until another is said.
fn begin_free(text: &mut EngineText, name: &str) {
    let letters = name.trim().to_lowercase();
    let name = letters.replace(|c: char| c.is_whitespace(), "_");
    let key = format!("free.{name}.unit");
    if name.is_empty() || name.contains('.') || text.value(&key).is_some() {
        return;
    }
    let unit = match is_metric(text) {
        true => Unit::Millimetre,
        false => Unit::Inch,
    };
    text.set(&key, Some(&EngineValue::Text(unit.symbol().to_owned())));
}

/// Puts what was sent into a field.
fn take_sent(field: &mut ShownField, filled: &FilledFields) {
    if let Some(value) = sent(filled, &field.asked.key) {
        field.value = value.trim().to_owned();
    }
    let unit = sent(filled, &format!("{}.unit", field.asked.key));
    if let Some(unit) = unit.and_then(|unit| field.units.iter().find(|known| **known == unit)) {
        field.unit = unit;
    }
}

/// The common layout that a text's banks are, by its name.
fn layout_of(text: &EngineText) -> &'static str {
    let banks = text.value("banks").unwrap_or_default().typed;
    let cylinders = text.value("cylinders").unwrap_or_default().typed;
    let found = LAYOUTS.iter().find(|layout| {
        let rows: Vec<String> = layout
            .banks
            .iter()
            .map(|bank| {
                bank.iter()
                    .map(ToString::to_string)
                    .collect::<Vec<_>>()
                    .join(" ")
            })
            .collect();
        let one_row = banks.is_empty() && layout.banks.len() == 1;
        cylinders == layout.cylinders().to_string() && (one_row || rows.join(" / ") == banks)
    });
    found.map_or("", |layout| layout.name)
}
