//! What stands on every sheet: whose it is, what it is about, and where its figures come from.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use benchhand_blueprint::Unit;
use benchhand_blueprint::engine::LengthUnits;
use benchhand_words::day_and_minute;
use benchhand_words::digits::rounded;

use crate::facts::{GaugeUsed, MarkKind, SheetFacts, ShopShown};

/// The style of every sheet.
pub(crate) const STYLE: &str = include_str!("../templates/sheet.css");

/// What stands at the head and at the foot of a sheet.
#[derive(Debug)]
pub(crate) struct SheetFrame<'a> {
    pub(crate) title: &'static str,
    pub(crate) job: &'a str,
    pub(crate) shop: &'a ShopShown,
    /// The mark as an address that holds the picture itself.
    pub(crate) mark: Option<String>,
    /// The day on which the sheet was made.
    pub(crate) day: String,
    pub(crate) card: Vec<CardLine>,
    pub(crate) invented: bool,
    pub(crate) gauges: &'a [GaugeUsed],
    /// The note as JSON.
    pub(crate) note: String,
    pub(crate) entry: u64,
    pub(crate) head: &'a str,
    pub(crate) made: String,
}

/// A line of the job card. Where the value is empty, room is left to write it.
#[derive(Debug)]
pub(crate) struct CardLine {
    pub(crate) name: &'static str,
    pub(crate) value: String,
}

impl<'a> SheetFrame<'a> {
    pub(crate) fn new(title: &'static str, facts: &SheetFacts<'a>) -> Self {
        let note = facts.note;
        let made = day_and_minute(&note.made);
        let (day, _) = made.split_once(' ').unwrap_or((&made, ""));
        Self {
            title,
            job: &note.job,
            shop: facts.shop,
            mark: facts.shop.mark.as_ref().map(|mark| {
                let kind = match mark.kind {
                    MarkKind::Svg => "image/svg+xml",
                    MarkKind::Png => "image/png",
                };
                format!("data:{kind};base64,{}", STANDARD.encode(&mark.bytes))
            }),
            day: day.to_owned(),
            card: card(facts),
            invented: facts.report.invented,
            gauges: facts.gauges,
            // A note is texts and numbers: it can always be written.
            note: serde_json::to_string(note).unwrap_or_default(),
            entry: note.entry,
            head: &note.head,
            made,
        }
    }
}

/// The job card, with the engine.
fn card(facts: &SheetFacts<'_>) -> Vec<CardLine> {
    let (report, card) = (facts.report, &facts.report.card);
    let line = |name, value: &str| CardLine {
        name,
        value: value.to_owned(),
    };
    let said = |text: &Option<String>| text.clone().unwrap_or_default();
    let mut lines = vec![
        line("Customer", &said(&card.customer)),
        line("Order number", &said(&card.order)),
        line("Engine", &report.engine),
    ];
    if let Some(displacement) = &report.summary.displacement {
        let cc = displacement.unit.to_base(displacement.value);
        let inches = Unit::CubicInch.from_base(cc);
        let (inches, cc) = (rounded(inches, 0), rounded(cc, 0));
        let size = match report.units {
            LengthUnits::Inch => format!("{inches} cu in ({cc} cc)"),
            LengthUnits::Metric => format!("{cc} cc ({inches} cu in)"),
        };
        lines.push(line("Displacement", &size));
    }
    lines.push(line("Stage", &report.stage));
    if let Some(kept) = facts.kept {
        lines.push(line("Last measured", &day_and_minute(kept)));
    }
    if let Some(block) = &card.block {
        lines.push(line("Block", block));
    }
    let heads: Vec<String> = card
        .heads
        .iter()
        .map(|(bank, mark)| match card.heads.len() {
            1 => mark.clone(),
            _ => format!("{mark} on bank {bank}"),
        })
        .collect();
    if !heads.is_empty() {
        lines.push(line("Heads", &heads.join(", ")));
    }
    if let Some(by) = &card.measured_by {
        lines.push(line("Measured by", by));
    }
    lines
}
