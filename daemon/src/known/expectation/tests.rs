//! A chamber is held against itself before a cut of stated depth: it cannot have grown.

use super::*;
use crate::known::inputs;
use crate::store::fact::{
    CutDepth, Fact, InputKind, JobInput, OpenedJob, PartsCut, Reading, ReadingSource,
};
use crate::store::fold::Stamp;

const ENGINE: &str = include_str!("../../../../examples/invented-v8.toml");

/// Chambers of 64 cc before 0.5 mm came off, and 63.4 cc at two of them after it: the opening is at
/// least 4900 mm2, so that 2.4 cc and more must be gone.
fn milled() -> JobView {
    let mut view = JobView::default();
    let reading = |cylinder: u32, value: f64| {
        let spot = format!("chamber/{cylinder}");
        Fact::Final(Reading::new(spot, value, "cc", ReadingSource::Typed))
    };
    let mut facts = vec![
        Fact::Opened(OpenedJob {
            job: "v8".to_owned(),
            title: None,
            stage: "as received".to_owned(),
            program: "a test".to_owned(),
            copy_of: None,
        }),
        Fact::Input(JobInput::new(InputKind::Engine, "engine", ENGINE)),
    ];
    facts.extend((1..=4).map(|cylinder| reading(cylinder, 64.0)));
    facts.push(Fact::Cut(PartsCut {
        stage: "milled".to_owned(),
        what: "0.5 mm off both heads".to_owned(),
        changes: vec!["chamber".to_owned()],
        cylinders: Vec::new(),
        depths: vec![CutDepth {
            part: String::new(),
            depth: 0.5,
            unit: "mm".to_owned(),
        }],
    }));
    facts.extend([reading(1, 63.4), reading(3, 63.4)]);
    for (at, fact) in facts.into_iter().enumerate() {
        let seq = at as u64 + 1;
        let stamp = Stamp {
            seq,
            at: jiff::Timestamp::UNIX_EPOCH,
            hash: seq.to_string(),
        };
        view.apply(stamp, fact).unwrap();
    }
    view
}

fn doubted(cylinder: u32, cc: f64) -> Option<String> {
    let view = milled();
    let engine = inputs::engine(&view).unwrap();
    let at = ExpectedAt {
        stage: "milled",
        spot: &Spot::Chamber { cylinder },
        round: 1,
        kind: QuantityKind::Volume,
    };
    let value = Quantity {
        value: cc,
        unit: Unit::CubicCentimetre,
    };
    doubt(&engine, &view, at, value)
}

/// Its fellows grew as well, so that it agrees with them.
#[test]
fn a_chamber_that_grew_under_the_mill_is_asked_about_although_its_fellows_did_too() {
    for grown in [63.4, 64.6] {
        let told = doubted(2, grown).expect("a question");
        assert!(told.contains("from before the cut"), "{told}");
    }
}

#[test]
fn a_chamber_that_shrank_as_the_depth_says_is_no_surprise() {
    for cc in [60.5, 61.2, 62.2] {
        assert_eq!(doubted(2, cc), None, "{cc}");
    }
}

#[test]
fn a_gasket_whose_digits_changed_places_is_asked_about() {
    let view = milled();
    let engine = inputs::engine(&view).unwrap();
    let thickness = engine.gasket.thickness.unwrap().value;
    let spot = "gasket/thickness".parse().unwrap();
    let at = ExpectedAt {
        stage: "milled",
        spot: &spot,
        round: 1,
        kind: QuantityKind::Length,
    };
    let typed = |mm: f64| {
        let unit = Unit::Millimetre;
        doubt(&engine, &view, at, Quantity { value: mm, unit })
    };
    let asked = typed(thickness + 0.63).expect("a question");
    assert!(asked.contains("as the engine file says"), "{asked}");
    assert_eq!(typed(thickness + 0.05), None);
}

/// A dish that is typed as a dome is asked about where the engine file says what the parts have.
#[test]
fn a_dome_that_is_typed_for_a_dish_is_asked_about() {
    let mut view = JobView::default();
    let opened = Fact::Opened(OpenedJob {
        job: "v8".to_owned(),
        title: None,
        stage: "as received".to_owned(),
        program: "a test".to_owned(),
        copy_of: None,
    });
    let stamp = Stamp {
        seq: 1,
        at: jiff::Timestamp::UNIX_EPOCH,
        hash: "1".to_owned(),
    };
    view.apply(stamp, opened).unwrap();
    let text = "name = \"check\"\nunits = \"metric\"\ncylinders = 2\n";
    let of = |piston: &str| Engine::from_toml(&format!("{text}[piston]\n{piston}\n")).unwrap();
    let asked = |engine: &Engine, cc: f64| {
        let spot = Spot::Crown {
            cylinder: 1,
            part: benchhand_blueprint::spot::CrownPart::Volume,
        };
        let at = ExpectedAt {
            stage: "as received",
            spot: &spot,
            round: 1,
            kind: QuantityKind::Volume,
        };
        let value = Quantity {
            value: cc,
            unit: Unit::CubicCentimetre,
        };
        doubt(engine, &view, at, value)
    };
    for stated in ["crown = \"-4.0 cc\"", "nominal_crown = \"-4.0 cc\""] {
        let engine = of(stated);
        let told = asked(&engine, 4.05).expect(stated);
        assert!(told.contains("-4"), "{told}");
        assert_eq!(asked(&engine, -4.6), None, "{stated}");
    }
    assert_eq!(asked(&of(""), 4.05), None);
}
