//! The pages of the decisions: what is known is filled in, and the answer stands beside it.

use benchhand_blueprint::answers::{gauge_study, true_tdc};
use benchhand_blueprint::report::Report;
use benchhand_blueprint::{Engine, Quantity};
use benchhand_pages::decide::{
    AGAINST_JOB, AGAINST_STAGE, BesideQuestion, STUDY, TDC, THICKNESS, ThicknessSlider, asked,
    decide, decisions, question_of, tdc_asked,
};
use benchhand_pages::form::{FilledFields, RequestForm};
use benchhand_pages::{Page, PageSection};
use benchhand_wire::{DecideJob, JobReport, OtherSide, ReadEngine, Reason, Refusal};
use benchhand_words::decide as words;
use benchhand_words::digits::rounded;
use benchhand_words::told::ToldText;

use super::Visit;
use super::shown::report_in;

pub(super) fn all(visit: &Visit) -> Result<Page, Refusal> {
    let frame = visit.frame("Decide", PageSection::Decide);
    Ok(decisions(&frame))
}

pub(super) fn one(visit: &Visit) -> Result<Page, Refusal> {
    let name = visit.part("question");
    if name == TDC.request {
        return tdc(visit);
    }
    let form = question_of(name).ok_or_else(|| {
        Refusal::new(Reason::NotFound, format!("no question is called {name:?}"))
            .todo("the list of the questions leads to each of them")
    })?;
    let job = visit.part("job").to_owned();
    let report = visit.desk.ask(JobReport {
        job: job.clone(),
        stage: None,
    })?;
    let report = report_in(report.document)?;
    let given = visit
        .query
        .iter()
        .any(|(name, _)| name == THICKNESS || form.fields.iter().any(|field| field.name == name));
    let filled: FilledFields = match given {
        true => visit.query.clone().into_iter().collect(),
        false => known(form, &report),
    };
    let slider = slider(form, &report, visit.field(THICKNESS));
    let beside = match beside(visit, form, &filled, slider.as_ref()) {
        // Nobody asked yet: what is still needed is no mistake.
        BesideQuestion::Refused(refusal) if !given => BesideQuestion::StillNeeds(refusal),
        other => other,
    };
    let frame = visit.frame(form.title, PageSection::Decide);
    Ok(decide(
        &frame,
        form,
        (&filled, slider.as_ref()),
        &report.stages,
        &beside,
    ))
}

/// True top dead centre, from what is typed and the job's engine.
fn tdc(visit: &Visit) -> Result<Page, Refusal> {
    let job = visit.part("job").to_owned();
    let text = visit.desk.ask(ReadEngine { job })?.text;
    // Without a sound engine file stroke, rod and offset are those that are typed.
    let engine = Engine::from_toml(&text).ok();
    let filled: FilledFields = visit.query.clone().into_iter().collect();
    let beside = match visit.field("pairs") {
        None => BesideQuestion::Waiting,
        Some(_) => match true_tdc(&tdc_asked(&filled), engine.as_ref()) {
            Ok(answer) => BesideQuestion::Told(words::tdc(&answer)),
            Err(error) => BesideQuestion::Refused(
                Refusal::new(Reason::BadInput, error.found)
                    .expected(error.expected)
                    .todo(error.todo),
            ),
        },
    };
    let frame = visit.frame(TDC.title, PageSection::Decide);
    Ok(decide(&frame, &TDC, (&filled, None), &[], &beside))
}

/// The study of a gauge, from what is typed alone.
pub(super) fn study(visit: &Visit) -> Result<Page, Refusal> {
    let filled: FilledFields = visit.query.clone().into_iter().collect();
    let beside = match visit.field("csv") {
        None => BesideQuestion::Waiting,
        Some(csv) => match studied(csv, visit.field("tolerance")) {
            Ok(told) => BesideQuestion::Told(told),
            Err(refusal) => BesideQuestion::Refused(refusal),
        },
    };
    let frame = visit.frame(STUDY.title, PageSection::Gauges);
    Ok(decide(&frame, &STUDY, (&filled, None), &[], &beside))
}

fn studied(csv: &str, tolerance: Option<&str>) -> Result<ToldText, Refusal> {
    let tolerance = tolerance.map(|text| {
        let width: Result<Quantity, _> = text.parse();
        let width = width.ok().filter(|width| width.value > 0.0);
        width.map(|width| (width.value, width.unit)).ok_or_else(|| {
            Refusal::new(Reason::BadInput, format!("the tolerance is {text:?}"))
                .expected("its width with its unit, above 0, such as 0.5 cc")
        })
    });
    match gauge_study(csv, tolerance.transpose()?) {
        Ok(answer) => Ok(words::study(&answer)),
        Err(faults) => Err(Refusal::new(Reason::BadInput, faults.to_string())
            .todo("correct the readings; everyone measures every part equally often")),
    }
}

/// What the engine file and the report already tell of a question.
fn known(form: &RequestForm, report: &Report) -> FilledFields {
    let target = report.limits.compression_target.as_ref();
    let target = target.map(|target| target.value.to_string());
    let gasket = report.inputs.gasket_bore.as_ref();
    let gasket = gasket.zip(report.inputs.gasket_thickness.as_ref());
    let gasket = gasket.map(|(bore, thickness)| {
        let told = |figure: &benchhand_blueprint::Figure| {
            format!("{} {}", rounded(figure.value, 4), figure.unit)
        };
        format!("as now, {}, {}", told(bore), told(thickness))
    });
    let mut stages = report.stages.iter();
    let before = stages
        .position(|stage| *stage == report.stage)
        .and_then(|at| report.stages.get(at.checked_sub(1)?));
    let first = report
        .cylinders
        .iter()
        .find(|one| one.compression.is_some());
    let value = |name: &str| match name {
        "ratio" => target.clone(),
        "offers" => gasket.clone(),
        AGAINST_STAGE => before.cloned(),
        "cylinder" if form.request == "sensitivities" => Some(first?.cylinder.to_string()),
        _ => None,
    };
    let fields = form.fields.iter();
    fields
        .filter_map(|field| Some((field.name.to_owned(), value(field.name)?)))
        .collect()
}

/// The slider of a change, where the gasket's thickness is known.
fn slider(form: &RequestForm, report: &Report, at: Option<&str>) -> Option<ThicknessSlider> {
    let thickness = report.inputs.gasket_thickness.as_ref();
    let thickness = thickness.filter(|_| form.request == "what-if")?;
    let slider = ThicknessSlider::about(thickness.value, thickness.unit.symbol());
    let at: Option<f64> = at.and_then(|text| text.parse().ok());
    Some(match at {
        Some(at) => ThicknessSlider {
            at: at.clamp(slider.least, slider.most),
            ..slider
        },
        None => slider,
    })
}

fn beside(
    visit: &Visit,
    form: &RequestForm,
    filled: &FilledFields,
    slider: Option<&ThicknessSlider>,
) -> BesideQuestion {
    let found = |name: &str| {
        let found = filled.iter().find(|(known, _)| known == name);
        found
            .map(|(_, text)| text.trim().to_owned())
            .filter(|text| !text.is_empty())
    };
    let lacks = |name: &str| found(name).is_none();
    let waits = form
        .fields
        .iter()
        .any(|field| field.needed && lacks(field.name));
    let compares = form.request == "compare";
    if waits || (compares && lacks(AGAINST_STAGE) && lacks(AGAINST_JOB)) {
        return BesideQuestion::Waiting;
    }
    let question = match asked(form, filled, slider) {
        Ok(question) => question,
        Err(fault) => {
            let refusal = Refusal::new(
                Reason::BadInput,
                format!("{}: {:?}", fault.label, fault.found),
            );
            return BesideQuestion::Refused(refusal.expected(fault.expected));
        }
    };
    let answered = visit.desk.ask(DecideJob {
        job: visit.part("job").to_owned(),
        stage: None,
        question,
        against: compares.then(|| OtherSide {
            job: found(AGAINST_JOB),
            stage: found(AGAINST_STAGE),
        }),
    });
    match answered.map(|answered| serde_json::from_value(answered.document)) {
        Ok(Ok(document)) => BesideQuestion::Answer(Box::new(document)),
        Ok(Err(error)) => BesideQuestion::Refused(Refusal::new(
            Reason::Unavailable,
            format!("the answer: {error}"),
        )),
        Err(refusal) => BesideQuestion::Refused(refusal),
    }
}
