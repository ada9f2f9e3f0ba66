//! Rows of a file of readings that look like a slip, or lie far from what the job and the rows before
//! them lead to expect.

use benchhand_blueprint::{Engine, Quantity, Spot};
use benchhand_wire::Refusal;

use crate::known::expectation::{self, ExpectedAt};
use crate::known::slips::{Written, looks_like_a_slip};
use crate::known::{giving_up, inputs};
use crate::store::fact::{ASKED, Fact, Reading};
use crate::store::fold::Stamp;
use crate::store::view::JobView;

/// The question about each row that is odd, by its place among the rows. `view` has all of them in
/// the end; it is one that nobody keeps.
///
/// # Errors
/// Where whoever asked is gone.
pub(crate) fn doubts(
    engine: &Engine,
    view: &mut JobView,
    rows: &[Reading],
) -> Result<Vec<(usize, String)>, Refusal> {
    let mut all = view.clone();
    rows.iter().for_each(|row| taken(&mut all, row));
    let mut doubts = Vec::new();
    for (at, row) in rows.iter().enumerate() {
        giving_up::check()?;
        let (Ok(spot), Ok(unit)) = (row.spot.parse::<Spot>(), row.unit.parse()) else {
            continue;
        };
        let value = Quantity {
            value: row.value,
            unit,
        };
        let stage = row.stage.clone().unwrap_or_else(|| view.stage().to_owned());
        let expected = ExpectedAt {
            stage: &stage,
            spot: &spot,
            round: row
                .round
                .unwrap_or_else(|| inputs::next_round(view, &stage, &spot)),
            kind: value.unit.kind(),
        };
        // The slip of one row shows beside the rows behind it as well.
        let written = Written::of(row.value, None, &row.labels);
        let present = stage == all.stage();
        let slip = present.then(|| looks_like_a_slip(&all, &spot, value, &written));
        let doubt = slip
            .flatten()
            .or_else(|| expectation::doubt(engine, view, expected, value))
            .or_else(|| expectation::row_doubt(engine, view, (&spot, expected.round), row));
        // Whoever is sure of a row that is asked about keeps it with the question: like ones behind it
        // are no surprise.
        match doubt {
            Some(doubt) => {
                let mut asked = row.clone();
                asked.labels.insert(ASKED.to_owned(), doubt.clone());
                taken(view, &asked);
                doubts.push((at, doubt));
            }
            None => taken(view, row),
        }
    }
    Ok(doubts)
}

/// Takes a row into a view that nobody keeps. What does not fit is refused with its reason when all
/// rows are kept.
fn taken(view: &mut JobView, row: &Reading) {
    let _ = view.apply(next_stamp(view), Fact::Final(row.clone()));
}

/// The stamp of the next fact in a view that nobody keeps.
pub(crate) fn next_stamp(view: &JobView) -> Stamp {
    let seq = view.head().map_or(0, |head| head.seq) + 1;
    Stamp {
        seq,
        at: jiff::Timestamp::UNIX_EPOCH,
        hash: String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::fact::{OpenedJob, ReadingSource};

    #[test]
    fn two_chambers_that_are_odd_alike_are_asked_about_once() {
        let engine = Engine::from_toml(
            "name = \"Invented\"\nunits = \"metric\"\ncylinders = 8\nbore = \"100 mm\"\nstroke = \"90 mm\"\n",
        );
        let engine = engine.expect("an engine file");
        let mut view = JobView::default();
        let opened = OpenedJob {
            job: "v8".to_owned(),
            title: None,
            stage: "as received".to_owned(),
            program: "a test".to_owned(),
            copy_of: None,
        };
        let stamp = next_stamp(&view);
        view.apply(stamp, Fact::Opened(opened)).expect("it fits");
        let rows = [64.1, 64.3, 64.0, 64.2, 64.1, 64.2, 90.2, 90.4];
        let rows = rows.iter().zip(1..).map(|(cc, cylinder)| {
            Reading::new(
                format!("chamber/{cylinder}"),
                *cc,
                "cc",
                ReadingSource::Imported,
            )
        });
        let rows: Vec<Reading> = rows.collect();
        let found = doubts(&engine, &mut view, &rows).expect("nobody gave up");
        let at: Vec<usize> = found.iter().map(|(at, _)| *at).collect();
        assert_eq!(at, [6], "{found:?}");
    }
}
