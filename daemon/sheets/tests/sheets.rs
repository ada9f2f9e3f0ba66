//! What a sheet prints is what its documents say, for engines of any size, and names are text.

mod common;

use benchhand_blueprint::answers::{Answer, ChambersAsked, DomeAsked, Question};
use benchhand_sheets::{GaugeUsed, MarkKind, ShopMark, ShopShown};
use benchhand_words::digits::decimals_of;
use benchhand_words::sheet::{figures_in, note_in};
use benchhand_words::stated::half_width;
use common::{ENGINE, Made, READINGS, figure, number};

#[test]
fn the_build_sheet_prints_the_figures_of_the_report_for_engines_of_any_size() {
    for made in [
        Made::new(ENGINE, READINGS),
        Made::of_size(1),
        Made::of_size(16),
    ] {
        let html = benchhand_sheets::build(&made.facts()).expect("a sheet");
        for one in &made.report.cylinders {
            let n = one.cylinder;
            let value = |figure: &Option<benchhand_blueprint::Figure>| {
                figure.as_ref().expect("known").value
            };
            let deck = if made.engine.name.contains("litre") {
                4
            } else {
                3
            };
            for (name, known, usual) in [
                ("chamber", &one.chamber, 2),
                ("deck", &one.deck, deck),
                ("total at TDC", &one.clearance, 2),
                ("compression", &one.compression, 2),
            ] {
                // No digit that the ± swallows: 0.008 where it is 0.008 ± 0.043.
                let width = known.as_ref().and_then(half_width).expect("known");
                let decimals = decimals_of(width).clamp(0, usual) as usize;
                let wanted = format!("{:.decimals$}", value(known));
                assert_eq!(figure(&html, &format!("{name} {n}")), wanted, "{name} {n}");
                let sure = number(&figure(&html, &format!("{name} {n} with ±")));
                let printed: f64 = wanted.parse().expect("a number");
                assert!((sure - printed).abs() < 0.06, "{name} {n}: {sure}");
            }
            let crown = value(&one.crown);
            let told = figure(&html, &format!("dome or dish {n}"));
            let shape = if crown < 0.0 { "dish" } else { "dome" };
            assert_eq!(told, format!("{shape} {:.2}", crown.abs()));
        }
        let mean = made
            .report
            .summary
            .compression_mean
            .as_ref()
            .expect("known");
        let told = number(&figure(&html, "average compression"));
        assert!((told - mean.value).abs() < 0.006, "{told}");
        let rows = html.split("id=\"cylinders\"").nth(1).expect("the table");
        let rows = rows.split("</tbody>").next().expect("its end");
        let rows = rows.matches("<tr><th scope=\"row\">").count();
        assert_eq!(rows, made.report.cylinders.len());
    }
}

#[test]
fn the_order_says_the_shape_by_its_word_and_the_tolerance_with_its_unit() {
    let made = Made::new(ENGINE, READINGS);
    let dome = made.answer(&Question::Dome(DomeAsked {
        ratio: Some(10.0),
        ratio_tolerance: Some(0.2),
    }));
    let Answer::Dome(wanted) = &dome.answer else {
        panic!("no dome")
    };
    let html = benchhand_sheets::order(&made.facts(), &dome)
        .expect("a dome")
        .expect("a sheet");
    let shape = if wanted.crown.value < 0.0 {
        "dish"
    } else {
        "dome"
    };
    assert_eq!(figure(&html, "shape"), shape);
    let cc = wanted.crown.value.abs();
    assert_eq!(figure(&html, "dome or dish"), format!("{cc:.2} cc"));
    // 16.387064 cc in a cubic inch (exact, from the inch of 25.4 mm).
    let inches = number(&figure(&html, "dome or dish in cu in"));
    assert!((inches - cc / 16.387_064).abs() < 0.0006, "{inches}");
    let left = wanted.tolerance.as_ref().expect("a tolerance").value;
    assert_eq!(figure(&html, "tolerance"), format!("± {left:.2} cc"));
    assert!(figure(&html, "dome positive").starts_with(['-', '+']));
    for one in &wanted.cylinders {
        let told = number(&figure(&html, &format!("compression {}", one.cylinder)));
        // A compression that is not well known has one decimal.
        assert!((told - one.compression.value).abs() < 0.06, "{told}");
    }
    let height = figure(&html, "Compression height");
    assert!(
        height.starts_with("1.203") && height.ends_with(" in"),
        "{height}"
    );
    // Nobody has stated pockets: there is room to write them.
    assert!(html.contains("Valve pocket, intake"));
    let other = made.answer(&Question::Chambers(ChambersAsked::default()));
    assert!(benchhand_sheets::order(&made.facts(), &other).is_none());
}

#[test]
fn the_flow_sheet_prints_every_port_at_every_lift() {
    let made = Made::new(ENGINE, READINGS);
    let html = benchhand_sheets::flow(&made.facts()).expect("a sheet");
    assert!(!made.report.flow.is_empty());
    for one in &made.report.flow {
        let flow = one.flow_at_reference.as_ref().expect("known").value;
        let name = match &one.runner {
            Some(runner) => format!("{} {runner}", one.port),
            None => one.port.to_string(),
        };
        let key = format!("{name} {} at {:.3}", one.cylinder, one.lift.value);
        let told = number(&figure(&html, &key));
        assert!((told - flow).abs() <= 0.5, "{key}: {told}");
        for by in &one.coefficients {
            let key = format!("coefficient by {}, {key}", by.by_area);
            let told = number(&figure(&html, &key));
            assert!(
                (told - by.coefficient.value).abs() < 0.0051,
                "{key}: {told}"
            );
        }
    }
}

#[test]
fn every_chamber_has_a_label() {
    for made in [
        Made::new(ENGINE, READINGS),
        Made::of_size(1),
        Made::of_size(16),
    ] {
        let html = benchhand_sheets::labels(&made.facts()).expect("a sheet");
        let labels = html.matches("class=\"label\"").count();
        assert_eq!(labels, made.report.cylinders.len());
        for one in &made.report.cylinders {
            let volume = one.chamber.as_ref().expect("known").value;
            let told = figure(&html, &format!("chamber {}", one.cylinder));
            assert_eq!(told, format!("{volume:.2} cc"));
        }
    }
}

#[test]
fn a_sheet_loads_nothing_and_names_with_markup_stay_text() {
    let evil = "<script>alert(1)</script>\\\" onload=\\\"x";
    let engine = ENGINE.replace("Invented six-litre V8", evil)
        + &format!("\n[card]\ncustomer = \"{evil}\"\norder = \"{evil}\"\nblock = \"{evil}\"\n");
    let mut made = Made::new(&engine, READINGS);
    let evil = evil.replace("\\\"", "\"");
    made.shop = ShopShown {
        name: evil.clone(),
        address: vec![evil.clone()],
        mark: Some(ShopMark {
            kind: MarkKind::Svg,
            bytes: format!("<svg xmlns=\"http://www.w3.org/2000/svg\">{evil}</svg>").into_bytes(),
        }),
    };
    made.gauges = vec![GaugeUsed {
        name: evil.clone(),
        readings: 3,
        checked: evil.clone(),
    }];
    made.note.job = evil.clone();
    for (name, html) in made.sheets() {
        assert!(!html.contains("<script"), "{name}");
        assert!(!html.contains("\" onload=\""), "{name}");
        assert!(html.contains("&#60;script&#62;"), "{name} shows the name");
        assert_eq!(note_in(&html).as_ref(), Some(&made.note), "{name}");
        for part in html
            .split(" src=\"")
            .skip(1)
            .chain(html.split(" href=\"").skip(1))
        {
            assert!(part.starts_with("data:image/"), "{name} loads {part:.40}");
        }
        for outside in ["url(", "@import", "<link", "<iframe", "<object", "<form"] {
            assert!(!html.contains(outside), "{name}: {outside}");
        }
    }
}

#[test]
fn every_sheet_says_what_it_is_traced_to() {
    let mut made = Made::new(ENGINE, READINGS);
    made.gauges = vec![GaugeUsed {
        name: "burette".to_owned(),
        readings: 16,
        checked: "2026-01-12, weighed water".to_owned(),
    }];
    for (name, html) in made.sheets() {
        assert!(html.contains(&made.note.head), "{name}");
        assert!(html.contains("INVENTED"), "{name}");
        assert!(html.contains("2026-01-12, weighed water"), "{name}");
        if name != "labels" {
            assert!(html.contains("class=\"signs\""), "{name} has room to sign");
        }
        for one in figures_in(&html) {
            assert!(!one.text.is_empty(), "{name}: {} is empty", one.name);
        }
    }
}
