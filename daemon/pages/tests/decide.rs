//! The forms of the decisions ask what the questions take.

use benchhand_blueprint::answers::{
    ChambersAsked, CompareAsked, DomeAsked, EffectiveAsked, FitAsked, GasketAsked, MillAsked,
    NextAsked, PortsAsked, Question, SensitivitiesAsked, SimulateAsked, TargetAsked, WhatIfAsked,
};
use benchhand_pages::decide::{QUESTIONS, ThicknessSlider, asked, question_of};
use benchhand_pages::form::{FieldKind, FilledFields};

/// Something that each kind of field can hold.
fn something(kind: FieldKind) -> &'static str {
    match kind {
        FieldKind::Number => "10.5",
        FieldKind::Whole | FieldKind::Wholes => "3",
        FieldKind::Tick => "yes",
        FieldKind::Choice(choices) | FieldKind::WholeChoice(choices) => choices[0].0,
        FieldKind::Rows(_) => "a, 1 in, 2 in",
        _ => "1 in",
    }
}

#[test]
fn every_field_of_a_form_is_a_field_of_its_question() {
    for form in QUESTIONS {
        let fields = form.fields.iter();
        let filled: FilledFields = fields
            .map(|field| (field.name.to_owned(), something(field.kind).to_owned()))
            .collect();
        let question = asked(form, &filled, None).expect("usable");
        let names = question.as_object().expect("an object").len();
        let understood: Result<Question, _> = serde_json::from_value(question);
        assert!(understood.is_ok(), "{}: {understood:?}", form.request);
        let against = if form.request == "compare" { 2 } else { 0 };
        assert_eq!(names + against, form.fields.len() + 1, "{}", form.request);
    }
}

#[test]
fn every_question_has_a_form() {
    let all = [
        Question::Mill(MillAsked::default()),
        Question::Chambers(ChambersAsked::default()),
        Question::Dome(DomeAsked::default()),
        Question::Gasket(GasketAsked::default()),
        Question::Fit(FitAsked::default()),
        Question::Next(NextAsked::default()),
        Question::WhatIf(WhatIfAsked::default()),
        Question::Compare(CompareAsked::default()),
        Question::Ports(PortsAsked::default()),
        Question::Sensitivities(SensitivitiesAsked::default()),
        Question::Effective(EffectiveAsked::default()),
        Question::Target(TargetAsked::default()),
        Question::Simulate(SimulateAsked::default()),
    ];
    for question in &all {
        let name = serde_json::to_value(question).expect("JSON")["ask"].clone();
        let name = name.as_str().expect("a name");
        assert!(question_of(name).is_some(), "{name} has no form");
    }
    assert_eq!(all.len(), QUESTIONS.len());
}

#[test]
fn who_says_nothing_on_the_page_is_told_the_least_metal() {
    let form = question_of("chambers").expect("a form");
    let question = |equal: &str| {
        let filled = vec![("equal".to_owned(), equal.to_owned())];
        asked(form, &filled, None).expect("usable")["equal"].clone()
    };
    assert_eq!(question(""), "allowed");
    assert_eq!(question("chambers"), "chambers");
}

#[test]
fn the_slider_is_one_of_the_changes() {
    let form = question_of("what-if").expect("a form");
    let filled = vec![("set".to_owned(), " chamber/3 -= 2 cc \n\n".to_owned())];
    let slider = ThicknessSlider::about(0.0403, "in");
    let question = asked(form, &filled, Some(&slider)).expect("usable");
    assert_eq!(
        question["set"],
        serde_json::json!(["gasket thickness = 0.04030 in", "chamber/3 -= 2 cc"])
    );
    assert!(slider.least < 0.0403 && slider.most > 0.0403);
}
