//! Cuts: they open a stage, and are corrected or taken back where they were said wrong.

use std::collections::BTreeSet;

use benchhand_blueprint::spot::SpotFamily;
use benchhand_wire::{CorrectCut, CutCorrected, CutJob, CutMade, Reason, Refusal};

use super::{Answers, Desk, cut_depth};
use crate::known::initials::by;
use crate::known::inputs;
use crate::known::shown;
use crate::store::fact::{Fact, PartsCut, TrueCut, WithdrawnCut};
use crate::store::view::{JobStage, JobView};

/// Why a cut is corrected, where nobody says it.
const TYPED_WRONG: &str = "typed wrong";

impl Answers<CutJob> for Desk {
    fn answer(&self, ask: CutJob, key: Option<&str>) -> Result<CutMade, Refusal> {
        let changes = families(&ask.changes)?;
        let (view, _) = self.keeper.view(&ask.job)?;
        let cylinders = of_the_engine(&view, &ask.cylinders)?;
        let (stage, what) = (ask.stage.trim().to_owned(), ask.what);
        let depth = ask.depth.as_deref().map(cut_depth::typed).transpose()?;
        if let (Some(depth), false) = (&depth, ask.sure) {
            cut_depth::within_most(&view, depth, &cylinders, None)?;
        }
        let told = depth
            .as_ref()
            .map(|depth| format!("{} {}", depth.depth, depth.unit));
        let cut = PartsCut {
            stage: stage.clone(),
            what,
            changes,
            cylinders,
            depths: depth.into_iter().collect(),
        };
        let ack = self.keeper.append(&ask.job, Fact::Cut(cut), key)?;
        Ok(CutMade {
            id: ack.seq,
            stage,
            depth: told,
        })
    }
}

impl Answers<CorrectCut> for Desk {
    fn answer(&self, ask: CorrectCut, key: Option<&str>) -> Result<CutCorrected, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let stage = cut_of(&view, &ask.stage)?;
        let instead = match ask.take_back {
            true => None,
            false => Some(corrected(&view, stage, &ask)?),
        };
        if ask.take_back && !ask.sure {
            asks_about_readings(&view, stage)?;
        }
        let reason = ask.reason.as_deref().map(str::trim).unwrap_or_default();
        let reason = match reason.is_empty() {
            true => TYPED_WRONG,
            false => reason,
        };
        let said = WithdrawnCut {
            of: stage.seq,
            instead,
            reason: reason.to_owned(),
            measured: view.taken_in(stage.seq) as u64,
            by: by(&self.keeper, ask.by)?,
        };
        let ack = self
            .keeper
            .append(&ask.job, Fact::CutWithdrawn(said), key)?;
        let (after, _) = self.keeper.view(&ask.job)?;
        let now = after.opened_by(stage.seq).unwrap_or(stage);
        let told = shown::stage(now);
        let readings = match now.stands() == stage.stands() {
            true => 0,
            false => after.taken_in(stage.seq) as u64,
        };
        let counts = after.counts_for(stage.seq);
        Ok(CutCorrected {
            id: ack.seq,
            stands: now.stands(),
            cut: told.cut,
            changes: told.changes,
            cylinders: told.cylinders,
            depth: told.depth,
            readings,
            count_for: counts.map_or_else(String::new, |stage| stage.name.clone()),
            now: after.stage().to_owned(),
            stage: told.name,
        })
    }
}

/// The stage of this name that a cut opened: one that stands, or else the last one whose cut was
/// taken back.
fn cut_of<'a>(view: &'a JobView, said: &str) -> Result<&'a JobStage, Refusal> {
    let named = |stage: &&JobStage| stage.name == said.trim();
    let standing = view.stages().iter().find(named);
    let found = standing.or_else(|| view.opened_stages().iter().rfind(named));
    let cuts = || {
        let cuts = view.opened_stages().iter().filter(|one| one.cut.is_some());
        let cuts: Vec<String> = cuts.map(|one| format!("{:?}", one.name)).collect();
        match cuts.is_empty() {
            true => "no cut is in this job's record".to_owned(),
            false => format!("one of {}", cuts.join(", ")),
        }
    };
    match found {
        Some(stage) if stage.cut.is_some() => Ok(stage),
        Some(stage) => Err(Refusal::new(
            Reason::BadInput,
            format!(
                "{:?} is what the parts came as; no cut opened it",
                stage.name
            ),
        )
        .expected(cuts())),
        None => Err(
            Refusal::new(Reason::NotFound, format!("no cut opened a stage {said:?}"))
                .expected(cuts())
                .todo("name the stage as `job show` lists it"),
        ),
    }
}

/// The cut as it is said now.
fn corrected(view: &JobView, stage: &JobStage, ask: &CorrectCut) -> Result<TrueCut, Refusal> {
    let nothing = ask.what.is_none() && ask.changes.is_empty() && ask.cylinders.is_empty();
    let nothing = nothing && ask.depth.is_none() && !ask.no_depth;
    if nothing && stage.stands() {
        return Err(Refusal::new(
            Reason::BadInput,
            format!("nothing is corrected of the cut that opened {:?}", stage.name),
        )
        .expected("what was cut, what it changed, how deep it went, or that it is taken back")
        .todo("say what is right (`--what`, `--changes`, `--depth`, `--no-depth`), or `--take-back` where nothing was cut"));
    }
    let Some(before) = &stage.cut else {
        return Err(Refusal::new(Reason::BadInput, "no cut opened it"));
    };
    let changes = match ask.changes.is_empty() {
        true => before.changes.clone(),
        false => families(&ask.changes)?,
    };
    let cylinders = match ask.cylinders.is_empty() {
        true => before.cylinders.clone(),
        false => of_the_engine(view, &ask.cylinders)?,
    };
    let depths = match &ask.depth {
        Some(typed) => {
            let depth = cut_depth::typed(typed)?;
            if !ask.sure {
                cut_depth::within_most(view, &depth, &cylinders, Some(&stage.name))?;
            }
            vec![depth]
        }
        None if ask.no_depth => Vec::new(),
        None => before.depths.clone(),
    };
    let what = ask.what.clone().unwrap_or_else(|| before.what.clone());
    Ok(TrueCut {
        what,
        changes,
        cylinders,
        depths,
    })
}

/// Asks about the readings that would count for the stage before.
fn asks_about_readings(view: &JobView, stage: &JobStage) -> Result<(), Refusal> {
    let taken = view.readings().filter(|one| one.opened_in == stage.seq);
    let counting: Vec<&str> = taken
        .filter(|one| one.state.is_live())
        .map(|one| one.spot.as_str())
        .collect();
    if counting.is_empty() || !stage.stands() {
        return Ok(());
    }
    let before = view.stages().iter().take_while(|one| one.seq != stage.seq);
    let before = before.last().map_or("", |one| one.name.as_str());
    let spots: Vec<&str> = counting.iter().copied().take(6).collect();
    let more = match counting.len() > spots.len() {
        true => format!(" and {} more", counting.len() - spots.len()),
        false => String::new(),
    };
    let one = counting.len() == 1;
    let (was, counts) = if one {
        ("reading was", "it counts")
    } else {
        ("readings were", "they count")
    };
    Err(Refusal::new(
        Reason::BadInput,
        format!(
            "{} {was} taken at stage {:?} ({}{more}); without the cut {counts} for {before:?}, \
             together with what was measured there",
            counting.len(),
            stage.name,
            spots.join(", ")
        ),
    )
    .expected("a cut that never was; where it was another one, correct it instead: its readings stay")
    .todo("say that you are sure of it (`--sure`), or correct the cut (`--what`, `--changes`, `--depth`); nothing was kept"))
}

/// The cylinders that were named, in their order, each once; none where all were.
///
/// # Errors
/// Where the engine has no such cylinder.
fn of_the_engine(view: &JobView, said: &[u32]) -> Result<Vec<u32>, Refusal> {
    if said.is_empty() {
        return Ok(Vec::new());
    }
    let all = inputs::engine(view)?.cylinders;
    if let Some(none) = said.iter().find(|one| !(1..=all).contains(*one)) {
        let found = format!("there is no cylinder {none}");
        return Err(Refusal::new(Reason::BadInput, found).expected(format!("1 to {all}")));
    }
    let cylinders: BTreeSet<u32> = said.iter().copied().collect();
    // Of all cylinders, none alone.
    match cylinders.len() == all as usize {
        true => Ok(Vec::new()),
        false => Ok(cylinders.into_iter().collect()),
    }
}

/// The quantities that a cut changed, each once, by the names under which they are kept.
fn families(said: &[String]) -> Result<Vec<String>, Refusal> {
    let mut names: Vec<String> = Vec::new();
    for word in said {
        let family = SpotFamily::typed(word).map_err(|near| {
            let refusal = Refusal::new(
                Reason::BadInput,
                format!("{word:?} is no quantity that is measured"),
            )
            .expected(format!("some of {}", SpotFamily::names()));
            match near {
                Some(near) => refusal.todo(format!("did you mean {near}? nothing was kept")),
                None => refusal,
            }
        })?;
        let name = family.name().to_owned();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    Ok(names)
}
