//! The form of the bores, piston-to-valve clearances, and other measurements.

use benchhand_blueprint::report::{BoreReport, GapReport, MeasuredReport};

use super::{Column, column, headings, table};
use crate::stated::{both, sentence, unit_after};
use crate::told::{ToldTable, ToldText};

const BORE: [Column<BoreReport>; 6] = [
    column("diameter", |one| Some(one.diameter.clone())),
    column("out of round", |one| one.out_of_round.clone()),
    column("roundness\nif oval", |one| one.roundness_if_oval.clone()),
    column("taper", |one| one.taper.clone()),
    column("taper in one\ndirection", |one| one.taper_worst.clone()),
    column("piston\nclearance", |one| one.piston_clearance.clone()),
];

/// The bores. `None` if none was measured.
pub(super) fn bores(rows: &[BoreReport]) -> Option<ToldText> {
    let first = rows.first()?;
    let columns: Vec<_> = BORE.iter().filter(|column| column.used(rows)).collect();
    let names = headings([">cylinder", ">heights"]);
    let table = table(names, &columns, rows, |one| {
        vec![one.cylinder.to_string(), one.heights.to_string()]
    });
    let plate = match first.torque_plate {
        Some(true) => "A torque plate was fitted.",
        Some(false) => "No torque plate was fitted.",
        None => "Whether a torque plate was fitted is not said in the engine file.",
    };
    let mut told = ToldText::titled("Bores");
    told += table;
    for one in rows {
        if let (Some(clearance), Some(at)) =
            (one.piston_clearance.clone(), &one.piston_clearance_at)
        {
            told += format!(
                "Piston clearance of cylinder {}: {}, where the bore is least in the thrust direction ({at})\n",
                one.cylinder,
                sentence(&clearance),
            );
        }
    }
    let all: Vec<&MeasuredReport> = rows.iter().flat_map(|one| &one.diameters).collect();
    told += plate;
    told += "\n";
    told += spots(&all);
    Some(told)
}

/// Piston-to-valve clearances. `None` if none was measured.
pub(super) fn valve_gaps(rows: &[GapReport]) -> Option<ToldText> {
    if rows.is_empty() {
        return None;
    }
    let mut told = ToldText::titled("Piston-to-valve clearance");
    for one in rows {
        let least = match &one.enclosed {
            Some((figure, at)) => {
                format!("least {} at {:.1} deg", sentence(figure), at.value)
            }
            None => format!(
                "least measured {} at {:.1} deg, at an end of what was measured: measure beyond it",
                sentence(&one.least),
                one.least_at.value
            ),
        };
        told += format!(
            "  cylinder {} {}: {least} after top dead centre\n",
            one.cylinder, one.port
        );
    }
    Some(told)
}

/// All other measurements. `None` if there are none.
pub(super) fn measured(rows: &[MeasuredReport]) -> Option<ToldText> {
    if rows.is_empty() {
        return None;
    }
    let rows: Vec<&MeasuredReport> = rows.iter().collect();
    let mut told = ToldText::titled("Also measured");
    told += spots(&rows);
    Some(told)
}

/// The measurements, spot by spot.
pub(super) fn spots(rows: &[&MeasuredReport]) -> ToldTable {
    let mut table = ToldTable::new(&["spot", ">mean", "unit", ">readings"]);
    for one in rows {
        table.row(vec![
            one.spot.to_string(),
            both(&one.figure),
            unit_after(one.figure.unit).trim().to_owned(),
            one.readings.to_string(),
        ]);
    }
    table
}

#[cfg(test)]
mod tests {
    use benchhand_blueprint as blueprint;
    use blueprint::report::{ReportInputs, report};

    use crate::full::full_report;

    const ENGINE: &str = include_str!("../../../../cli/tests/files/twin.toml");

    fn text_of(readings: &str) -> String {
        let engine = blueprint::Engine::from_toml(ENGINE).expect("a good engine file");
        let readings = blueprint::readings::from_csv(readings, &engine).expect("good readings");
        let inputs = ReportInputs {
            engine: &engine,
            readings: &readings,
            stages: &[],
            stage: None,
        };
        full_report(&report(&inputs).expect("a report"))
    }

    #[test]
    fn a_bore_is_shown_with_its_form_and_whether_a_plate_was_fitted() {
        let text = text_of(
            "spot,value,unit\nbore/1/top/pin,80.01,mm\nbore/1/top/thrust,80.03,mm\n\
             bore/1/bottom/pin,80.00,mm\nbore/1/bottom/thrust,80.00,mm\n",
        );
        let at = text.find("\nBores\n").expect("a section");
        let row = text[at..]
            .lines()
            .find(|line| line.trim_start().starts_with("1 "));
        let row = row.expect("a row");
        assert!(
            row.contains("0.020"),
            "80.03 less 80.01 out of round: {row}"
        );
        assert!(text.contains("bore/1/top/thrust"), "{text}");
        assert!(
            text.contains("Whether a torque plate was fitted is not said"),
            "{text}"
        );
    }

    #[test]
    fn a_piston_clearance_says_where_it_is_and_no_taper_is_made_up() {
        let text = text_of(
            "spot,value,unit\nskirt/1,79.95,mm\nbore/1/25mm/pin,80.00,mm\n\
             bore/1/25mm/thrust,80.03,mm\nbore/1/100mm/thrust,80.01,mm\nbore/2,80.02,mm\n",
        );
        let clearance = text
            .lines()
            .find(|line| line.starts_with("Piston clearance of cylinder 1: 0.0600 ±"));
        let clearance = clearance.unwrap_or_else(|| panic!("{text}"));
        assert!(clearance.contains("(bore/1/100mm/thrust)"), "{clearance}");
        assert!(text.contains("bore/1/100mm/pin"), "{text}");
        let at = text.find("\nBores\n").expect("a section");
        assert!(!text[at..].contains(" 0.000"), "{text}");
    }

    #[test]
    fn a_mean_of_cylinders_that_differ_is_called_one() {
        let text = text_of("spot,value,unit\nbore/2,80.06,mm\n");
        let line = |name: &str| {
            let at = text.find("Based on").expect("a section");
            let found = text[at..]
                .lines()
                .find(|line| line.trim_start().starts_with(name));
            found.unwrap_or_else(|| panic!("{text}")).to_owned()
        };
        assert!(
            line("bore").contains("mean of the cylinders, which differ"),
            "{text}"
        );
        assert!(!line("stroke").contains("mean of the cylinders"), "{text}");
    }

    #[test]
    fn a_least_gap_at_the_end_of_what_was_measured_asks_for_more() {
        let text = text_of(
            "spot,value,unit\ngap/1/intake/8deg,2.4,mm\ngap/1/intake/10deg,2.2,mm\n\
             gap/1/intake/12deg,2.1,mm\n",
        );
        assert!(text.contains("cylinder 1 intake: least measured"), "{text}");
        assert!(text.contains("measure beyond it"), "{text}");
    }
}
