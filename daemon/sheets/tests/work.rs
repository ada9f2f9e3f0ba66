//! The work order: what is opened, and how deep is cut after that.

mod common;

use benchhand_blueprint::answers::{Answer, AnswerDocument, MillAsked, Question};
use benchhand_blueprint::decide::MadeEqual;
use common::{ENGINE, Made, READINGS, figure, number};

#[test]
fn the_work_order_reckons_the_cut_with_the_chambers_opened_first() {
    let made = Made::new(ENGINE, READINGS);
    let (chambers, mill) = made.work(Some(MadeEqual::Chambers));
    let (_, alone) = made.work(None);
    let (Answer::Mill(opened), Answer::Mill(alone)) = (&mill.answer, &alone.answer) else {
        panic!("no cut")
    };
    let Answer::Chambers(work) = &chambers.answer else {
        panic!("no chamber work")
    };
    let facts = made.facts();
    let html = benchhand_sheets::work(&facts, Some(&chambers), Some(&mill), "").expect("a sheet");
    for (head, unopened) in opened.heads.iter().zip(&alone.heads) {
        let told = number(&figure(&html, &format!("cut {}", head.head)));
        assert!((told - head.depth.value).abs() < 6e-5, "{told}");
        // Opened chambers are larger, so more is to be cut for the same compression.
        assert!(head.depth.value > unopened.depth.value, "{}", head.head);
    }
    // A head whose chambers were all opened ends with chambers that are alike.
    for head in &opened.heads {
        for one in &head.cylinders {
            let told = number(&figure(&html, &format!("chamber {} after", one.cylinder)));
            let after = one.chamber.as_ref().expect("known").after.value;
            assert!((told - after).abs() < 0.06, "{told}");
        }
    }
    for one in &work.work {
        let told = figure(&html, &format!("open {}", one.cylinder));
        match (one.cylinder == work.reference, one.worth_it) {
            (true, _) => assert!(told.starts_with("nothing"), "{told}"),
            (false, Some(false)) => assert_eq!(told, "leave it"),
            (false, _) => assert!((number(&told) - one.remove.value).abs() < 0.06, "{told}"),
        }
    }
    let mean = made.report.summary.compression_mean.as_ref();
    let mean = mean.expect("known").value;
    let whole = |state: &str| number(&figure(&html, &format!("Compression, average {state}")));
    assert!((whole("now") - mean).abs() < 0.006 && whole("opened") < whole("now"));
    let only = benchhand_sheets::work(&facts, Some(&chambers), None, "no area is known");
    let only = only.expect("a sheet");
    assert!(only.contains("no area is known") && !only.contains("data-figure=\"cut"));
}

/// As little metal as the engine file allows.
#[test]
fn the_work_order_asks_for_the_least_metal_and_less_is_cut_after_it() {
    let made = Made::new(ENGINE, READINGS);
    let (chambers, mill) = made.work(Some(MadeEqual::Allowed));
    let Answer::Chambers(work) = &chambers.answer else {
        panic!("no chamber work")
    };
    let facts = made.facts();
    let html = benchhand_sheets::work(&facts, Some(&chambers), Some(&mill), "").expect("a sheet");
    assert!(html.contains("the least that keeps to the spread that is allowed"));
    assert!(html.contains("chamber 6 sets the size"));
    for one in &work.work {
        let told = figure(&html, &format!("open {}", one.cylinder));
        match one.worth_it {
            Some(true) => assert_eq!(told, format!("{:.2} cc", one.remove.value)),
            _ => assert_eq!(told, "nothing"),
        }
    }
    let (_, equal) = made.work(Some(MadeEqual::Chambers));
    let (Answer::Mill(least), Answer::Mill(equal)) = (&mill.answer, &equal.answer) else {
        panic!("no cut")
    };
    // Less was opened, so less is to be cut.
    for (least, equal) in least.heads.iter().zip(&equal.heads) {
        assert!(least.depth.value < equal.depth.value, "{}", least.head);
    }
}

/// Where the heads do not allow a cut as deep as the target asks for.
#[test]
fn a_work_order_without_a_cut_does_not_tell_to_cut_for_the_target() {
    let engine = ENGINE.replace("[head]\n", "[head]\nmost_mill = \"0.001 in\"\n");
    let made = Made::new(&engine, READINGS);
    let (chambers, mill) = made.work(Some(MadeEqual::Allowed));
    let facts = made.facts();
    let html = benchhand_sheets::work(&facts, Some(&chambers), Some(&mill), "").expect("a sheet");
    assert!(html.contains("Cut no face.") && !html.contains("Cut the faces"));
    assert!(!html.contains("Chamber after all"));
    // What the opening alone makes of the compression is told, since it leads away from the target.
    let Answer::Chambers(work) = &chambers.answer else {
        panic!("no chamber work")
    };
    let after = work.compression_after.as_ref().expect("known").value;
    let told = number(&figure(&html, "compression opened"));
    assert!((told - after).abs() < 0.006, "{told}, {after}");
}

#[test]
fn a_deep_cut_of_heads_whose_limit_nobody_stated_is_stopped_first() {
    let made = Made::new(ENGINE, READINGS);
    let ask = |ratio: f64| {
        made.answer(&Question::Mill(MillAsked {
            ratio: Some(ratio),
            area: Some("5500 mm2 +- 20 mm2".to_owned()),
            ..MillAsked::default()
        }))
    };
    let facts = made.facts();
    let html = |mill: &AnswerDocument| {
        benchhand_sheets::work(&facts, None, Some(mill), "").expect("a sheet")
    };
    let stop = "is deeper than heads are cut as a rule (0.0591 in)";
    assert!(html(&ask(13.5)).contains(stop));
    assert!(!html(&ask(10.6)).contains(stop));
}

/// One pair of repeats that disagrees has one degree of freedom.
#[test]
fn a_chamber_that_could_be_anywhere_is_measured_again_and_not_opened() {
    let made = Made::new(ENGINE, READINGS);
    let (mut chambers, _) = made.work(Some(MadeEqual::Allowed));
    let Answer::Chambers(work) = &mut chambers.answer else {
        panic!("no chamber work")
    };
    let opened = work.work.iter_mut().find(|one| one.worth_it == Some(true));
    let opened = opened.expect("one is opened");
    (opened.worth_it, opened.remove.value) = (None, 0.0);
    let cylinder = opened.cylinder;
    let html = benchhand_sheets::work(&made.facts(), Some(&chambers), None, "").expect("a sheet");
    assert_eq!(
        figure(&html, &format!("open {cylinder}")),
        "measure it again"
    );
}
