//! Charts: what stands in them, and that nothing in them can do harm.

mod common;

use benchhand_words::chart::{ChartKind, Repeat, all_of_report, of_report, scatter};
use common::{ENGINE, READINGS, engine, one_round, report_of};

/// What is between `<title …>` and `</title>`, or another element's tags.
fn inside<'a>(svg: &'a str, element: &str) -> &'a str {
    let from = svg.find(&format!("<{element}>")).expect("the element");
    let rest = &svg[from..];
    let start = rest.find('>').expect("its tag's end") + 1;
    &rest[start..rest.find(&format!("</{element}>")).expect("its end")]
}

#[test]
fn each_chart_of_the_example_tells_its_numbers_in_words_too() {
    let report = report_of(ENGINE, READINGS);
    let all = all_of_report(&report, None);
    let kinds: Vec<ChartKind> = all.iter().map(|one| one.kind).collect();
    assert_eq!(
        kinds,
        [
            ChartKind::Chambers,
            ChartKind::Compression,
            ChartKind::Deck,
            ChartKind::Flow
        ]
    );
    let chambers = &all[0].svg;
    let told = inside(chambers, "desc");
    for one in &report.cylinders {
        let value = format!("{:.2}", one.chamber.as_ref().expect("measured").value);
        assert!(
            told.contains(&format!("cylinder {} {value}", one.cylinder)),
            "{told}"
        );
        // The number stands beside its mark as well.
        assert!(
            chambers.matches(&value).count() >= 2,
            "{value} in {chambers}"
        );
    }
    assert!(told.contains("may differ by 0.50 cc"), "{told}");
    // What is out of line has a shape of its own and is marked.
    assert!(chambers.contains("65.05 !"), "{chambers}");
    assert!(all[1].svg.contains("target 10.50"), "{}", all[1].svg);
    let deck = &all[2].svg;
    assert!(
        deck.contains("▲ front") && deck.contains("▼ rear"),
        "{deck}"
    );
}

/// The page's policy forbids style and script inside the page.
#[test]
fn a_drawing_has_no_style_and_no_script_and_loads_nothing() {
    let report = report_of(ENGINE, READINGS);
    for chart in all_of_report(&report, None) {
        for forbidden in [
            "style=", "<style", "<script", "href", "url(", "<image", "onload",
        ] {
            assert!(
                !chart.svg.contains(forbidden),
                "{forbidden} in {}",
                chart.svg
            );
        }
        assert!(chart.svg.contains("<title>") && chart.svg.contains("<desc>"));
        assert!(chart.svg.starts_with("<svg role=\"img\""), "{}", chart.svg);
        assert_eq!(chart.svg.matches("<svg").count(), 1);
        assert!(chart.svg.trim_end().ends_with("</svg>"), "{}", chart.svg);
    }
}

#[test]
fn markup_in_a_name_stays_text() {
    let mut report = report_of(ENGINE, READINGS);
    report.stage = "<script>alert(1)</script> & \"milled\"".to_owned();
    let chart = of_report(ChartKind::Chambers, &report, None).expect("chambers");
    assert!(!chart.svg.contains("<script"), "{}", chart.svg);
    assert!(
        chart.svg.contains("&lt;script&gt;alert(1)"),
        "{}",
        chart.svg
    );
    let gauge = "<b>\"x\"";
    let repeats = [0.01, -0.01].map(|off| Repeat {
        at: "2026-03-02T10:00:00Z".to_owned(),
        off,
    });
    let chart = scatter(gauge, "cc", &repeats, Some(0.02)).expect("two repeats");
    assert!(!chart.svg.contains("<b>"), "{}", chart.svg);
}

#[test]
fn engines_of_any_size_are_drawn_with_each_cylinder_under_its_mark() {
    for cylinders in [1, 2, 4, 6, 8, 12, 16] {
        let report = report_of(&engine(cylinders), &one_round(cylinders));
        let chart = of_report(ChartKind::Chambers, &report, None).expect("chambers");
        let marks = chart.svg.matches("<circle").count() + chart.svg.matches("<polygon").count();
        assert_eq!(marks, cylinders as usize, "{}", chart.svg);
    }
}

#[test]
fn flow_before_a_cut_is_dashed_beside_flow_after_it() {
    let before = report_of(ENGINE, READINGS);
    let mut after = before.clone();
    after.stage = "ported".to_owned();
    let alone = of_report(ChartKind::Flow, &before, None).expect("flow");
    let both = of_report(ChartKind::Flow, &after, Some(&before)).expect("flow");
    assert!(!alone.svg.contains("dashed:"), "{}", alone.svg);
    assert!(both.svg.contains("dashed: as received") && both.svg.contains("solid: ported"));
    assert!(both.svg.matches("<polyline").count() > alone.svg.matches("<polyline").count());
}

#[test]
fn one_repeat_scatters_about_nothing() {
    let one = [Repeat {
        at: "2026-03-02T10:00:00Z".to_owned(),
        off: 0.0,
    }];
    assert_eq!(scatter("burette", "cc", &one, None), None);
}
