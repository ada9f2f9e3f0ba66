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
    assert!(!alone.svg.contains("dashed"), "{}", alone.svg);
    let key = "cfm; dashed, hollow: as received; solid: ported";
    assert!(both.svg.contains(key), "{}", both.svg);
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

/// The places of the texts that begin so: across, down, and the text.
fn texts(svg: &str, begin: &str) -> Vec<(f64, f64, String)> {
    let number = |tag: &str, name: &str| {
        let (_, rest) = tag.split_once(&format!(" {name}=\"")).expect(name);
        rest.split('"')
            .next()
            .expect("its end")
            .parse()
            .expect("a number")
    };
    let all = svg.split("<text ").skip(1).filter_map(|rest| {
        let (tag, rest) = rest.split_once('>')?;
        let (text, _) = rest.split_once("</text>")?;
        let tag = format!(" {tag}");
        let found = (number(&tag, "x"), number(&tag, "y"), text.trim().to_owned());
        found.2.starts_with(begin).then_some(found)
    });
    all.collect()
}

/// Of a drawing: its width, height, and the height of its least letters.
fn size(svg: &str) -> (f64, f64, f64) {
    let number = |name: &str| -> f64 {
        let (_, rest) = svg.split_once(&format!(" {name}=\"")).expect(name);
        rest.split('"')
            .next()
            .expect("its end")
            .parse()
            .expect("a number")
    };
    let letters = svg.split("font-size=\"").skip(1);
    let letters = letters.map(|rest| rest.split('"').next().expect("its end"));
    let least = letters.map(|size| size.parse::<f64>().expect("a size"));
    (
        number("width"),
        number("height"),
        least.fold(f64::INFINITY, f64::min),
    )
}

/// On the build sheet two of them stand side by side, each at most 36 mm high, on A4 with margins of
/// 13 mm and 3 mm between them. 25.4 mm are 72 points.
#[test]
fn letters_are_seven_points_high_where_charts_stand_side_by_side_on_paper() {
    let of_eight = report_of(ENGINE, READINGS);
    for report in [report_of(&engine(4), &one_round(4)), of_eight] {
        let chart = of_report(ChartKind::Chambers, &report, None).expect("chambers");
        let (width, height, letters) = size(&chart.svg);
        let scale = (36.0 / height).min((210.0 - 26.0 - 3.0) / 2.0 / width);
        let points = letters * scale * 72.0 / 25.4;
        assert!(points >= 7.0, "{points} points of {width} by {height}");
    }
    // On the flow sheet of many cylinders the curves are 52 mm high.
    let curves = of_report(ChartKind::Flow, &report_of(ENGINE, READINGS), None).expect("flow");
    let (_, height, letters) = size(&curves.svg);
    assert!(
        letters * 52.0 / height * 72.0 / 25.4 >= 7.0,
        "{letters} of {height}"
    );
}

#[test]
fn names_of_curves_that_meet_stand_apart() {
    let mut csv = "spot,value,unit\n".to_owned();
    for port in [
        "intake/long",
        "intake/short",
        "intake/plenum",
        "exhaust/long",
        "exhaust/short",
    ] {
        for (lift, metering) in [("0.100in", 2.0), ("0.200in", 4.0), ("0.300in", 5.0)] {
            csv += &format!("flow/1/{port}/{lift}/test,28.0,inH2O\n");
            csv += &format!("flow/1/{port}/{lift}/metering,{metering},inH2O\n");
        }
    }
    let chart = of_report(ChartKind::Flow, &report_of(ENGINE, &csv), None).expect("flow");
    let (width, height, _) = size(&chart.svg);
    let mut names = texts(&chart.svg, "intake ");
    names.extend(texts(&chart.svg, "exhaust "));
    assert_eq!(names.len(), 5, "{}", chart.svg);
    names.sort_by(|one, other| one.1.total_cmp(&other.1));
    for pair in names.windows(2) {
        assert!(pair[1].1 - pair[0].1 >= 21.0, "{pair:?}");
    }
    for (x, y, name) in &names {
        let end = x + 10.0 * name.chars().count() as f64;
        assert!(
            end < width && *y > 20.0 && *y < height - 20.0,
            "{name}: {x}, {y}"
        );
    }
}

/// In grey, an outline and a filled mark are told apart; dashes alone are not where points are close.
#[test]
fn what_was_before_is_hollow_for_every_port() {
    let csv = "spot,value,unit\n\
               flow/1/intake/0.100in/test,28.0,inH2O\nflow/1/intake/0.100in/metering,2.0,inH2O\n\
               flow/1/exhaust/0.100in/test,28.0,inH2O\nflow/1/exhaust/0.100in/metering,1.5,inH2O\n";
    let before = report_of(ENGINE, csv);
    let mut after = report_of(ENGINE, csv);
    after.stage = "ported".to_owned();
    let chart = of_report(ChartKind::Flow, &after, Some(&before)).expect("flow");
    let count = |shape: &str, fill: &str| {
        let begin = format!("<{shape} ");
        let all = chart.svg.split(&begin).skip(1);
        let tags = all.filter_map(|rest| rest.split('>').next());
        tags.filter(|tag| tag.contains(&format!("fill=\"{fill}\"")))
            .count()
    };
    let (ink, plate) = ("#0D141A", "#FFFFFF");
    assert_eq!(
        (count("circle", ink), count("circle", plate)),
        (1, 1),
        "{}",
        chart.svg
    );
    assert_eq!(
        (count("polygon", ink), count("polygon", plate)),
        (1, 1),
        "{}",
        chart.svg
    );
}
