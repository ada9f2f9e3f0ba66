use benchhand_blueprint::engine::template;
use benchhand_blueprint::{Engine, engine::CylinderLayout};

use super::*;

const FILE: &str = "# Mine\nname = \"Invented\"\nunits = \"inch\"\ncylinders = 2\n\
    bore = \"4.000 in\" # measured\nstroke = { value = \"3.5 in\", u = \"0.001 in\" }\n";

fn filled(base: &str, text: &str, fields: &[(&str, &str)]) -> EngineSheet {
    let mut all = vec![("base", base), ("text", text)];
    all.extend(fields);
    let owned = all.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned()));
    sheet_filled(&owned.collect())
}

fn field<'a>(sheet: &'a EngineSheet, key: &str) -> &'a ShownField {
    let found = sheet.fields.iter().find(|field| field.asked.key == key);
    found.unwrap_or_else(|| panic!("no field {key}"))
}

/// What a browser sends of a page that was shown and not touched.
fn untouched(sheet: &EngineSheet) -> Vec<(String, String)> {
    let mut all = vec![
        ("base".to_owned(), sheet.base.replace('\n', "\r\n")),
        ("text".to_owned(), sheet.text.replace('\n', "\r\n")),
        ("layout".to_owned(), sheet.layout.to_owned()),
    ];
    for field in &sheet.fields {
        all.push((field.asked.key.to_string(), field.value.clone()));
        if !field.unit.is_empty() {
            all.push((format!("{}.unit", field.asked.key), field.unit.to_owned()));
        }
    }
    all
}

#[test]
fn a_page_that_was_not_touched_changes_no_byte() {
    let example = include_str!("../../../../examples/invented-v8.toml");
    let blank = template(None, "", false);
    for text in [FILE, example, &blank] {
        let again = sheet_filled(&untouched(&sheet_of(text)));
        assert_eq!(again.text, text);
    }
}

#[test]
fn what_was_changed_wins_in_a_field_or_in_the_text() {
    let text = FILE.replace("4.000 in", "4.020 in");
    let sheet = filled(
        FILE,
        &text,
        &[
            ("bore", "4.000"),
            ("bore.unit", "in"),
            ("gasket.bore", "4.1"),
        ],
    );
    assert!(
        sheet.text.contains("bore = \"4.020 in\" # measured"),
        "{}",
        sheet.text
    );
    assert_eq!(field(&sheet, "bore").value, "4.020");
    assert!(sheet.text.contains("bore = \"4.1 in\""), "{}", sheet.text);
    let sheet = filled(FILE, &text, &[("bore", "102.4"), ("bore.unit", "mm")]);
    assert!(
        sheet.text.contains("bore = \"102.4 mm\" # measured"),
        "{}",
        sheet.text
    );
}

#[test]
fn an_uncertainty_stays_with_its_value_and_not_with_another() {
    let sheet = filled(FILE, FILE, &[("stroke", "3.5"), ("stroke.unit", "in")]);
    assert_eq!(field(&sheet, "stroke").beside, "u = \"0.001 in\"");
    let sheet = filled(FILE, FILE, &[("stroke", "3.6"), ("stroke.unit", "in")]);
    assert!(sheet.text.contains("stroke = \"3.6 in\""), "{}", sheet.text);
}

#[test]
fn a_fault_stands_at_its_field_and_the_rest_is_drawn() {
    let sheet = filled(
        FILE,
        FILE,
        &[("gasket.bore", "3.9"), ("gasket.bore.unit", "in")],
    );
    assert!(field(&sheet, "gasket.bore").fault.contains("not smaller"));
    assert!(sheet.drawing.contains("bore 4.000 in") && !sheet.is_sound());
    let sheet = filled(FILE, FILE, &[("targets.compression", "ten")]);
    let ratio = field(&sheet, "targets.compression");
    assert_eq!(
        (ratio.value.as_str(), ratio.fault.is_empty()),
        ("ten", false)
    );
}

#[test]
fn a_text_that_is_no_engine_file_keeps_what_was_typed() {
    let sheet = filled(FILE, "bore = = 4", &[("bore", "4.5"), ("bore.unit", "in")]);
    assert_eq!(sheet.text, "bore = = 4");
    assert_eq!(field(&sheet, "bore").value, "4.5");
    assert!(sheet.faults[0].contains("line 1"), "{:?}", sheet.faults);
}

#[test]
fn a_layout_brings_cylinders_and_banks_and_a_mark_for_each_head() {
    let blank = template(None, "", false);
    let sheet = filled(
        &blank,
        &blank,
        &[("layout", "v8"), ("card.customer", "A & B")],
    );
    assert_eq!(sheet.layout, "v8");
    let banks = CylinderLayout::named("v8").expect("a layout").banks.len();
    let heads = sheet
        .fields
        .iter()
        .filter(|f| f.asked.key.starts_with("card.heads."));
    assert_eq!(heads.count(), banks);
    let text = sheet.text_for("job-7");
    let engine = Engine::from_toml(&text).unwrap_or_else(|e| panic!("{e}\n{text}"));
    assert_eq!((engine.name.as_str(), engine.cylinders), ("job-7", 8));
    let marked = filled(&text, &text, &[("card.heads.2", "R-4")]);
    assert!(marked.is_sound(), "{:?}", marked.faults);
    assert!(marked.text.contains("R-4"));
}

#[test]
fn figures_say_what_they_still_lack() {
    let sheet = sheet_of(FILE);
    let names: Vec<&str> = sheet.figures.iter().map(|(name, _)| *name).collect();
    assert_eq!(names, ["Displacement", "Swept, each"]);
    assert_eq!(sheet.lacking.first(), Some(&"gasket opening"));
}

#[test]
fn names_with_markup_in_them_are_shown_as_text() {
    let text = FILE.replace("Invented", "<script>x</script>");
    let frame = PageFrame {
        title: "t".to_owned(),
        section: crate::PageSection::Engine,
        job: None,
        told: None,
        at_the_machine: true,
    };
    let of = EngineOf::NewJob("<b>".to_owned());
    let page = engine(&frame, &of, &sheet_of(&text), "k", None).expect("a page");
    assert!(
        !page.contains("<script>x") && !page.contains("\"<b>\""),
        "{page}"
    );
}

#[test]
fn a_free_spot_is_begun_by_its_name_and_asked_for_its_unit_places_and_limits() {
    let begun = filled(FILE, FILE, &[("new-free-spot", "Spring height")]);
    assert!(begun.is_sound(), "{:?}", begun.faults);
    assert_eq!(field(&begun, "free.spring_height.unit").value, "in");
    assert_eq!(field(&begun, "new-free-spot").value, "");
    let limits = [
        ("free.spring_height.at", "intake, exhaust"),
        ("free.spring_height.least", "1.790 in"),
        ("free.spring_height.spread", "0.010 in"),
    ];
    let sheet = filled(&begun.base, &begun.text, &limits);
    assert!(sheet.is_sound(), "{:?}", sheet.faults);
    let engine = Engine::from_toml(&sheet.text).expect("usable");
    let (name, spot) = engine.free.iter().next().expect("a free spot");
    assert_eq!(name.as_str(), "spring_height");
    assert_eq!(spot.spots(name).len(), 4);
    assert!(spot.least.is_some() && spot.most.is_none() && spot.spread.is_some());
    assert_eq!(
        field(&sheet, "free.spring_height.at").value,
        "intake exhaust"
    );
    // A limit of another kind is told at its field.
    let wrong = filled(
        &sheet.base,
        &sheet.text,
        &[("free.spring_height.most", "3 cc")],
    );
    assert!(!field(&wrong, "free.spring_height.most").fault.is_empty());
    let untouched = sheet_filled(&untouched(&sheet));
    assert_eq!(untouched.text, sheet.text);
}
