//! Averages and spreads, each with what is allowed and whether it is kept to.

use benchhand_blueprint::Figure;
use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::{Report, ToleranceName};

use crate::digits::{rounded, usual_decimals};
use crate::rows::{Align, lines as rows_of};
use crate::stated::Stated;

/// One row: its name, and what the report has of it.
struct Row<'a> {
    name: &'a str,
    key: &'a str,
    mean: &'a Option<Figure>,
    spread: &'a Option<Figure>,
    allowed: &'a Option<Figure>,
    tolerance: ToleranceName,
}

pub(super) fn lines(report: &Report) -> Vec<String> {
    let (summary, limits) = (&report.summary, &report.limits);
    let row = |name, key, mean, spread, allowed, tolerance| Row {
        name,
        key,
        mean,
        spread,
        allowed,
        tolerance,
    };
    let all = [
        row(
            "Chamber",
            "chamber",
            &summary.chamber_mean,
            &summary.chamber_spread,
            &limits.chamber_spread,
            ToleranceName::ChamberSpread,
        ),
        row(
            "Deck",
            "deck",
            &summary.deck_mean,
            &summary.deck_spread,
            &limits.deck_spread,
            ToleranceName::DeckSpread,
        ),
        row(
            "Dome or dish",
            "crown",
            &summary.crown_mean,
            &summary.crown_spread,
            &limits.crown_spread,
            ToleranceName::CrownSpread,
        ),
        row(
            "Compression",
            "compression",
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
        let expanded = |of: &str| report.summary.expanded.get(&format!("{}_{of}", self.key));
        let mean = Stated::of(mean, expanded("mean"));
        let several = self.spread.as_ref().filter(|_| report.cylinders.len() > 1);
        let spread = several.map(|spread| both(&Stated::of(spread, expanded("spread"))));
        let verdict = report
            .verdicts
            .iter()
            .find(|one| one.about == self.tolerance && one.cylinder.is_none());
        let judged = verdict.map_or("", |one| word(one.answer, &one.text));
        Some(vec![
            self.name.to_owned(),
            unit(mean.unit.symbol()),
            both(&mean),
            spread.unwrap_or_default(),
            self.allowed.as_ref().map(plain).unwrap_or_default(),
            judged.to_owned(),
        ])
    }
}

/// The compression that is aimed at, under the average.
fn target(report: &Report) -> Option<Vec<String>> {
    let target = report.limits.compression_target.as_ref()?;
    let told = match &report.summary.compression_mean {
        Some(mean) => {
            let mean = Stated::of(mean, report.summary.expanded.get("compression_mean"));
            let off = mean.value - target.value;
            match mean.half_width {
                Some(width) if off.abs() > width => {
                    let side = if off > 0.0 { "over" } else { "under" };
                    format!("{} {side} the target", rounded(off.abs(), mean.decimals()))
                }
                Some(_) => "OK".to_owned(),
                None => String::new(),
            }
        }
        None => String::new(),
    };
    Some(vec![
        String::new(),
        String::new(),
        format!("target {}", plain(target)),
        String::new(),
        String::new(),
        told,
    ])
}

fn both(stated: &Stated) -> String {
    format!("{} ± {}", stated.value(), stated.width())
}

fn plain(figure: &Figure) -> String {
    rounded(figure.value, usual_decimals(figure.unit.symbol()))
}

/// The unit of a column; a ratio is told `:1`.
pub(super) fn unit(symbol: &str) -> String {
    match symbol {
        "1" => ":1".to_owned(),
        symbol => symbol.to_owned(),
    }
}

/// A verdict in a word.
fn word(answer: VerdictAnswer, text: &str) -> &'static str {
    match answer {
        VerdictAnswer::Within => "OK",
        VerdictAnswer::Outside => "NOT OK",
        VerdictAnswer::CannotTell if text.starts_with("not repeated") => "not repeated",
        VerdictAnswer::CannotTell => "too close to call",
    }
}
