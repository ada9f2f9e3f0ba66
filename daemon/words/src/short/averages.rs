//! Averages and spreads, each with what is allowed and whether it is kept to.

use benchhand_blueprint::Figure;
use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::{Report, ToleranceName, ToleranceVerdict};

use crate::digits::rounded;
use crate::rows::{Align, lines as rows_of};
use crate::stated::{both, plain};

/// One row: its name, and what the report has of it.
struct Row<'a> {
    name: &'a str,
    mean: &'a Option<Figure>,
    spread: &'a Option<Figure>,
    allowed: &'a Option<Figure>,
    tolerance: ToleranceName,
}

pub(super) fn lines(report: &Report) -> Vec<String> {
    let (summary, limits) = (&report.summary, &report.limits);
    let row = |name, mean, spread, allowed, tolerance| Row {
        name,
        mean,
        spread,
        allowed,
        tolerance,
    };
    let all = [
        row(
            "Chamber",
            &summary.chamber_mean,
            &summary.chamber_spread,
            &limits.chamber_spread,
            ToleranceName::ChamberSpread,
        ),
        row(
            "Deck",
            &summary.deck_mean,
            &summary.deck_spread,
            &limits.deck_spread,
            ToleranceName::DeckSpread,
        ),
        row(
            "Dome or dish",
            &summary.crown_mean,
            &summary.crown_spread,
            &limits.crown_spread,
            ToleranceName::CrownSpread,
        ),
        row(
            "Compression",
            &summary.compression_mean,
            &summary.compression_spread,
            &limits.compression_spread,
            ToleranceName::CompressionSpread,
        ),
    ];
    let mut table = vec![heading()];
    for row in all {
        let Some(cells) = row.cells(report) else {
            continue;
        };
        table.push(cells);
        if row.tolerance == ToleranceName::CompressionSpread {
            table.extend(target(report));
        }
    }
    if table.len() == 1 {
        return Vec::new();
    }
    let columns = [
        Align::Left,
        Align::Left,
        Align::Right,
        Align::Right,
        Align::Right,
        Align::Left,
    ];
    rows_of(&columns, &table)
}

fn heading() -> Vec<String> {
    ["", "", "average", "spread", "allowed", ""]
        .map(str::to_owned)
        .to_vec()
}

impl Row<'_> {
    /// The cells; `None` where nothing of it is known.
    fn cells(&self, report: &Report) -> Option<Vec<String>> {
        let mean = self.mean.as_ref()?;
        let several = self.spread.as_ref().filter(|_| report.cylinders.len() > 1);
        let mut verdicts = report.verdicts.iter();
        let verdict = verdicts.find(|one| one.about == self.tolerance && one.cylinder.is_none());
        Some(vec![
            self.name.to_owned(),
            unit(mean.unit.symbol()),
            both(mean),
            several.map(both).unwrap_or_default(),
            self.allowed.as_ref().map(plain).unwrap_or_default(),
            verdict.map_or("", word).to_owned(),
        ])
    }
}

/// The compression that is aimed at, under the average, and how far the average is from it. How far
/// it may be, no engine file says: whether that is well enough is not judged.
fn target(report: &Report) -> Option<Vec<String>> {
    let target = report.limits.compression_target.as_ref()?;
    let mean = report.summary.compression_mean.as_ref()?;
    let off = rounded((mean.value - target.value).abs(), 2);
    let side = match mean.value < target.value {
        true => "under it",
        false => "over it",
    };
    Some(vec![
        String::new(),
        String::new(),
        format!("target {}", plain(target)),
        format!("{off} {side}"),
        String::new(),
        String::new(),
    ])
}

/// The unit of a column; a ratio is told `:1`.
pub(super) fn unit(symbol: &str) -> String {
    match symbol {
        "1" => ":1".to_owned(),
        symbol => symbol.to_owned(),
    }
}

/// A verdict in a word.
pub(super) fn word(verdict: &ToleranceVerdict) -> &'static str {
    match verdict.answer {
        VerdictAnswer::Within => "OK",
        VerdictAnswer::Outside => "NOT OK",
        VerdictAnswer::CannotTell if verdict.not_repeated => "not repeated",
        VerdictAnswer::CannotTell if verdict.unless_off_by.is_some() => "OK by what is known",
        VerdictAnswer::CannotTell => "too close to call",
    }
}
