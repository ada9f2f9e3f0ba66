//! Sheets: the documents behind each, its gauges, and the record that it is traced to.

use std::collections::BTreeMap;

use benchhand_blueprint::answers::{Answer, AnswerDocument, ComparedFlowAtLift};
use benchhand_blueprint::spot::SpotFamily;
use benchhand_blueprint::{Engine, Report, Spot};
use benchhand_sheets::{GaugeUsed, SHEETS, Sheet, SheetFacts, ShopShown};
use benchhand_wire::{
    DecideJob, GaugeHistory, JobReport, MakeSheet, OtherSide, PastCheck, Reason, Refusal,
    SheetJournal, SheetMade, SheetNote,
};
use benchhand_words::day_and_minute;
use benchhand_words::digits::rounded_like_u;
use benchhand_words::stated::unit_after;
use serde_json::{Value, json};

use super::charts::before;
use super::{Answers, Desk};
use crate::known::inputs;
use crate::known::refusals::of_store;
use crate::known::{orders, shop_name, told};
use crate::store::line::NO_LINE;
use crate::store::since::JournalMark;
use crate::store::station::StationId;
use crate::store::view::JobView;

/// The version of the note that a sheet carries.
const FORMAT: u32 = 1;

impl Answers<MakeSheet> for Desk {
    fn answer(&self, ask: MakeSheet, _: Option<&str>) -> Result<SheetMade, Refusal> {
        let title = title_of(&ask.sheet)?;
        // Read first: what comes meanwhile counts as kept since.
        let journals = self.journals(&ask.job)?;
        let (view, _) = self.keeper.view(&ask.job)?;
        let report = self.ask(JobReport {
            job: ask.job.clone(),
            stage: ask.stage.clone(),
        })?;
        let kept = report.kept;
        let report: Report = serde_json::from_value(report.document)
            .map_err(|e| Refusal::new(Reason::Unavailable, format!("the report: {e}")))?;
        let engine = inputs::engine(&view)?;
        let head = view.head();
        let note = SheetNote {
            format: FORMAT,
            sheet: ask.sheet.clone(),
            job: ask.job.clone(),
            stage: report.stage.clone(),
            questions: ask.questions.clone(),
            entry: head.map_or(0, |end| end.seq),
            // Of several journals no common hash can be found again; the first is the own one's.
            head: match journals.first() {
                Some(own) => own.head.clone(),
                None => head.map_or(NO_LINE, |end| &end.hash).to_owned(),
            },
            made: self.keeper.clock().now_utc().to_string(),
            journals,
        };
        let shop: ShopShown = shop_name::shop(&self.keeper)?;
        let gauges = self.gauges_used(&view, &ask.sheet, &report.stage)?;
        let earlier = before(&self.keeper, &view, &report);
        let changes = match &earlier {
            Some(earlier) if ask.sheet == "flow" => self.flow_changes(&ask, &earlier.stage)?,
            _ => Vec::new(),
        };
        let orders = view.orders().iter();
        let orders: Vec<_> = orders
            .map(|one| orders::shown(&view, &engine, one))
            .collect();
        let facts = SheetFacts {
            report: &report,
            before: earlier.as_ref(),
            flow_changes: &changes,
            engine: &engine,
            shop: &shop,
            gauges: &gauges,
            orders: &orders,
            note: &note,
            kept: kept.as_deref(),
        };
        let html = match ask.sheet.as_str() {
            "order" => self.order(&facts, &ask)?,
            "work" => self.work(&facts, &ask)?,
            "flow" => benchhand_sheets::flow(&facts),
            "labels" => benchhand_sheets::labels(&facts),
            _ => benchhand_sheets::build(&facts),
        };
        let html =
            html.map_err(|e| Refusal::new(Reason::Unavailable, format!("the sheet: {e}")))?;
        Ok(SheetMade {
            title: title.to_owned(),
            html,
            note,
            since: match &ask.seen {
                Some(hash) => self.since(&ask.job, hash, &ask.seen_journals)?,
                None => None,
            },
        })
    }
}

/// A question whose answer a sheet does not tell.
fn not_its_question(sheet: &str, expected: &str) -> Refusal {
    Refusal::new(
        Reason::BadInput,
        format!("{sheet} does not tell the answer to that question"),
    )
    .expected(format!("questions of {expected}"))
}

/// The title of a kind of sheet.
fn title_of(name: &str) -> Result<&'static str, Refusal> {
    let found = SHEETS.iter().find(|(sheet, _)| *sheet == name);
    found.map(|(_, title)| *title).ok_or_else(|| {
        let names = SHEETS.map(|(sheet, _)| sheet).join(", ");
        Refusal::new(Reason::BadInput, format!("no sheet is called {name:?}"))
            .expected(format!("one of {names}"))
    })
}

impl Desk {
    /// How far flow went from the stage `before` to the sheet's, as `decide compare` tells it.
    fn flow_changes(
        &self,
        ask: &MakeSheet,
        before: &str,
    ) -> Result<Vec<ComparedFlowAtLift>, Refusal> {
        let before = OtherSide {
            job: None,
            stage: Some(before.to_owned()),
        };
        let answered = self.beside(ask, json!({"ask": "compare"}), Some(before))?;
        Ok(match answered.answer {
            Answer::Compare(compared) => compared.flow_by_lift,
            _ => Vec::new(),
        })
    }

    /// The answer to one question of a sheet.
    fn decided(&self, ask: &MakeSheet, question: Value) -> Result<AnswerDocument, Refusal> {
        self.beside(ask, question, None)
    }

    /// The answer to one question of a sheet, where the question compares with another side.
    fn beside(
        &self,
        ask: &MakeSheet,
        question: Value,
        against: Option<OtherSide>,
    ) -> Result<AnswerDocument, Refusal> {
        let answer = self.ask(DecideJob {
            job: ask.job.clone(),
            stage: ask.stage.clone(),
            question,
            against,
        })?;
        serde_json::from_value(answer.document)
            .map_err(|e| Refusal::new(Reason::Unavailable, format!("the answer: {e}")))
    }

    fn order(&self, facts: &SheetFacts<'_>, ask: &MakeSheet) -> Result<Sheet, Refusal> {
        let question = match ask.questions.as_slice() {
            [] => json!({"ask": "dome"}),
            [one] => one.clone(),
            _ => return Err(not_its_question("an order", "one dome")),
        };
        let answered = self.decided(ask, question)?;
        benchhand_sheets::order(facts, &answered)
            .ok_or_else(|| not_its_question("an order", "one dome"))
    }

    /// Chambers are opened before a face is cut. Where the cut is not known for want of a figure, the
    /// sheet says so and tells the chambers alone.
    fn work(&self, facts: &SheetFacts<'_>, ask: &MakeSheet) -> Result<Sheet, Refusal> {
        let questions = match ask.questions.as_slice() {
            [] => vec![
                json!({"ask": "chambers"}),
                json!({"ask": "mill", "opened": "chambers"}),
            ],
            own => own.to_vec(),
        };
        let (mut chambers, mut mill) = (None, None);
        let mut missing: Vec<Refusal> = Vec::new();
        for question in questions {
            match self.decided(ask, question) {
                Ok(answered) => match answered.answer {
                    Answer::Chambers(_) => chambers = Some(answered),
                    Answer::Mill(_) => mill = Some(answered),
                    _ => return Err(not_its_question("a work order", "chambers, mill")),
                },
                Err(refusal) if refusal.reason == Reason::NotFound => missing.push(refusal),
                Err(refusal) => return Err(refusal),
            }
        }
        if chambers.is_none() && mill.is_none() {
            let nothing = || not_its_question("a work order", "chambers, mill");
            return Err(missing.into_iter().next().unwrap_or_else(nothing));
        }
        let no_cut = match &mill {
            // What to type is nothing for the shop that reads the sheet.
            None => missing
                .first()
                .map_or(String::new(), |refusal| refusal.found.clone()),
            Some(_) => String::new(),
        };
        Ok(benchhand_sheets::work(
            facts,
            chambers.as_ref(),
            mill.as_ref(),
            &no_cut,
        ))
    }

    /// How the journals of several stations end.
    fn journals(&self, job: &str) -> Result<Vec<SheetJournal>, Refusal> {
        let marks = self.keeper.with_store(|store| {
            let marks = store.reader().journal_marks(job);
            marks.map_err(|e| of_store(&e))
        })?;
        let journal = |mark: JournalMark| SheetJournal {
            station: mark.station.0,
            head: mark.hash,
        };
        Ok(marks.into_iter().map(journal).collect())
    }

    /// How many entries all stations kept since a sheet was made that carries this hash and these
    /// journals; `None` where the record has no such entry.
    pub(super) fn since(
        &self,
        job: &str,
        hash: &str,
        journals: &[SheetJournal],
    ) -> Result<Option<u64>, Refusal> {
        let mark = |one: &SheetJournal| JournalMark {
            station: StationId(one.station.clone()),
            hash: one.head.clone(),
        };
        let marks: Vec<JournalMark> = journals.iter().map(mark).collect();
        self.keeper.with_store(|store| {
            let since = store.reader().kept_since(job, hash, &marks);
            since.map_err(|e| of_store(&e))
        })
    }

    /// The gauges behind the readings on which the figures of a sheet rest, those of earlier stages
    /// that still hold too; in order of name, and what has none.
    fn gauges_used(
        &self,
        view: &JobView,
        sheet: &str,
        stage: &str,
    ) -> Result<Vec<GaugeUsed>, Refusal> {
        let asked = told::asked(&self.keeper, view, Some(stage))?;
        let mut used: BTreeMap<Option<&str>, usize> = BTreeMap::new();
        let holding = asked.holding();
        let holding = holding.iter().filter_map(|id| view.reading(*id));
        for reading in holding.filter(|reading| tells_of(sheet, &reading.spot)) {
            let mut names: Vec<Option<&str>> = vec![reading.gauge.as_deref()];
            for part in &reading.parts {
                let name = part.gauge.as_deref();
                if name.is_some() && !names.contains(&name) {
                    names.push(name);
                }
            }
            for name in names {
                *used.entry(name).or_default() += 1;
            }
        }
        let shown = |(name, readings): (Option<&str>, usize)| match name {
            Some(name) => GaugeUsed {
                name: name.to_owned(),
                readings,
                checked: self.last_check(&asked.engine, name),
            },
            None => GaugeUsed {
                name: "no gauge named".to_owned(),
                readings,
                checked: "not known".to_owned(),
            },
        };
        Ok(used.into_iter().map(shown).collect())
    }

    /// When a gauge was last checked, in words: by the jobs' records, else by the register, else as
    /// the engine file says.
    fn last_check(&self, engine: &Engine, name: &str) -> String {
        let history = self.ask(GaugeHistory {
            name: name.to_owned(),
        });
        if let Some(check) = history.ok().and_then(|found| found.in_short.last_check) {
            return of_check(&check);
        }
        let registered = self.shop.gauge(name).ok();
        if let Some(date) = registered.and_then(|gauge| gauge.check?.date) {
            return date;
        }
        let stated = engine
            .gauges
            .get(name)
            .and_then(|gauge| gauge.checked.clone());
        stated.unwrap_or_else(|| "never, by what is known".to_owned())
    }
}

/// Whether a sheet of this name tells figures that rest on readings of a spot.
fn tells_of(sheet: &str, spot: &str) -> bool {
    let family = spot.parse::<Spot>().ok().map(|spot| spot.family());
    let of_ports = [
        SpotFamily::Flow,
        SpotFamily::Runner,
        SpotFamily::Seat,
        SpotFamily::Valve,
        SpotFamily::Throat,
    ];
    let of_ports = family.is_some_and(|family| of_ports.contains(&family));
    match sheet {
        "flow" => of_ports,
        "labels" => family == Some(SpotFamily::Chamber),
        _ => !of_ports,
    }
}

fn of_check(check: &PastCheck) -> String {
    let passed = match check.passed {
        Some(true) => ", OK",
        Some(false) => ", NOT OK",
        None => "",
    };
    let error = check.error.value;
    let unit = check
        .error
        .unit
        .parse()
        .map_or_else(|_| format!(" {}", check.error.unit), unit_after);
    let off = match error.abs() > 0.0 {
        true => format!("off by {}{unit}", rounded_like_u(error.abs())),
        false => "nothing off".to_owned(),
    };
    let at = day_and_minute(&check.at);
    let (day, _) = at.split_once(' ').unwrap_or((&at, ""));
    format!("{day} against {}: {off}{passed}", check.against)
}
