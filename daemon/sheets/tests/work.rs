//! The work order: what is opened, and how deep is cut after that.

mod common;

use benchhand_blueprint::answers::Answer;
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
