//! Reading free spots from an engine file, and spots against what it states.

use super::*;

const HEAD: &str = "name = \"t\"\nunits = \"inch\"\ncylinders = 4\nbanks = [[1, 3], [2, 4]]\n";

fn engine(sections: &str) -> Engine {
    Engine::from_toml(&format!("{HEAD}{sections}")).expect("an engine file")
}

fn refused(sections: &str) -> String {
    let read = Engine::from_toml(&format!("{HEAD}{sections}"));
    read.expect_err("a fault").to_string()
}

const HEIGHT: &str = "[free.spring_height]\nunit = \"in\"\nat = [\"intake\", \"exhaust\"]\n\
    least = \"1.790 in\"\nmost = \"1.810 in\"\nspread = \"0.010 in\"\n";

#[test]
fn a_free_spot_is_at_each_cylinder_bank_by_bank_and_at_its_places() {
    let engine = engine(HEIGHT);
    let (name, height) = engine.free.iter().next().expect("one");
    let spots: Vec<String> = height.spots(name).iter().map(Spot::to_string).collect();
    assert_eq!(spots.len(), 8);
    assert_eq!(spots[0], "free/spring_height/1/intake");
    assert_eq!(spots[3], "free/spring_height/3/exhaust");
    assert_eq!(spots[4], "free/spring_height/2/intake");
    assert_eq!(height.title, "spring height");
    assert_eq!(height.limit(&height.least.expect("a least")), 1.790);
}

#[test]
fn one_of_the_whole_engine_and_one_of_some_cylinders() {
    let engine = engine(
        "[free.end_play]\nunit = \"thou\"\ncylinders = \"none\"\nmost = \"0.008 in\"\n\
         [free.ring_gap]\nunit = \"in\"\ncylinders = [2]\nat = [\"top\", \"second\"]\n",
    );
    let all = |name: &str| {
        let (name, free) = engine
            .free
            .iter()
            .find(|(n, _)| n.as_str() == name)
            .expect("it");
        free.spots(name)
            .iter()
            .map(Spot::to_string)
            .collect::<Vec<_>>()
    };
    assert_eq!(all("end_play"), ["free/end_play"]);
    assert_eq!(
        all("ring_gap"),
        ["free/ring_gap/2/top", "free/ring_gap/2/second"]
    );
    let play = engine.free.values().next().expect("the end play");
    let most = play.most.expect("a most");
    assert!((play.limit(&most) - 8.0).abs() < 1e-9, "in the spot's unit");
    assert!(!engine.free.values().nth(1).expect("the gap").limited());
}

#[test]
fn its_kind_is_that_of_its_unit() {
    let engine = engine("[free.oil]\nunit = \"psi\"\ncylinders = \"none\"\n");
    let kind = |spot: &str| engine.kind_of(&spot.parse().expect("a spot"));
    assert_eq!(kind("free/oil"), QuantityKind::Pressure);
    assert_eq!(kind("chamber/1"), QuantityKind::Volume);
    assert_eq!(kind("free/other"), QuantityKind::Number);
}

#[test]
fn a_free_spot_is_typed_with_or_without_the_word_free() {
    let engine = engine(HEIGHT);
    for text in [
        "spring_height 3 intake",
        "free/spring_height/3/intake",
        "Spring_Height/3/Intake",
    ] {
        let spot = engine.typed_spot(text).expect(text);
        assert_eq!(spot.to_string(), "free/spring_height/3/intake");
        assert_eq!(engine.admit(&spot), Ok(()));
    }
    assert_eq!(
        engine.typed_spot("chamber 3").map(|spot| spot.to_string()),
        Ok("chamber/3".to_owned())
    );
}

#[test]
fn what_is_not_stated_is_refused_with_what_is() {
    let engine = engine(HEIGHT);
    let why = |text: &str| {
        let spot: Spot = text.parse().expect("a spot");
        engine.admit(&spot).expect_err(text).to_string()
    };
    let slip = why("free/spring_hieght/3/intake");
    assert!(slip.contains("did you mean spring_height?"), "{slip}");
    let place = why("free/spring_height/3/intak");
    assert!(
        place.contains("did you mean free/spring_height/3/intake?"),
        "{place}"
    );
    let lacks = why("free/spring_height/3");
    assert!(lacks.contains("free/spring_height/1/intake"), "{lacks}");
    let beyond = why("free/spring_height/5/intake");
    assert!(beyond.contains("cylinder 5"), "{beyond}");
    let none = Engine::from_toml(HEAD).expect("an engine");
    let spot: Spot = "free/x/1".parse().expect("a spot");
    let none = none.admit(&spot).expect_err("none is stated").to_string();
    assert!(
        none.contains("it states none") && none.contains("[free.x]"),
        "{none}"
    );
}

#[test]
fn faults_are_told_at_their_key() {
    for (sections, told) in [
        ("[free.x]\n", "free.x.unit"),
        ("[free.x]\nunit = \"degC\"\n", "free.x.unit"),
        ("[free.chamber]\nunit = \"cc\"\n", "a name of its own"),
        (
            "[free.\"Spring Height\"]\nunit = \"in\"\n",
            "no spot can name",
        ),
        (
            "[free.x]\nunit = \"in\"\nleast = \"2 in\"\nmost = \"1 in\"\n",
            "above a most",
        ),
        ("[free.x]\nunit = \"in\"\nspread = \"-1 in\"\n", "0 or more"),
        (
            "[free.x]\nunit = \"in\"\nmost = \"1 in +- 0.1 in\"\n",
            "chosen number",
        ),
        ("[free.x]\nunit = \"in\"\nmost = \"1 cc\"\n", "free.x.most"),
        ("[free.x]\nunit = \"in\"\ncylinders = [9]\n", "cylinder 9"),
        (
            "[free.x]\nunit = \"in\"\ncylinders = [1, 1]\n",
            "each cylinder once",
        ),
        (
            "[free.x]\nunit = \"in\"\nat = [\"top\", \"top\"]\n",
            "twice",
        ),
        (
            "[free.x]\nunit = \"in\"\nfigure = \"sideways\"\n",
            "below-zero",
        ),
        (
            "[free.x]\nunit = \"in\"\nleest = \"1 in\"\n",
            "did you mean `least`?",
        ),
    ] {
        let faults = refused(sections);
        assert!(faults.contains(told), "{sections}: {faults}");
        assert_eq!(faults.matches("line ").count(), 1, "one fault: {faults}");
    }
}

#[test]
fn it_belongs_to_the_head_or_to_the_block() {
    let said = |part: &str| format!("{HEIGHT}part = \"{part}\"\n");
    let of_the_head = |sections: &str| {
        let engine = engine(sections);
        engine.free.values().next().expect("one").of_the_head
    };
    assert!(of_the_head(&said("head")));
    assert!(!of_the_head(&said("block")) && !of_the_head(HEIGHT));
    assert!(refused(&said("gearbox")).contains("expected \"head\" or \"block\""));
}
