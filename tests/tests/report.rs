//! The report from an engine file and a CSV, against worked figures.
//!
//! Source: `blueprint/tests/reference/cr_cases.csv` and `blueprint/tests/reference/cr_target.csv`, which name theirs (geometry;
//! first-order propagation after JCGM 100 by two independent packages).

use std::collections::BTreeMap;

use benchhand_tests::program::Program;
use benchhand_tests::tree::{root, text};
use serde_json::Value;

/// The rows of a reference file, by the names of its columns.
fn rows(file: &str) -> Vec<BTreeMap<String, String>> {
    let path = root().join("blueprint/tests/reference").join(file);
    let text = text(&path);
    let table: String = text
        .lines()
        .filter(|l| !l.starts_with('#'))
        .map(|l| format!("{l}\n"))
        .collect();
    let mut lines = table.lines();
    let split = |line: &str| {
        // Only the first field may be quoted in these files.
        match line
            .strip_prefix('"')
            .and_then(|rest| rest.split_once("\","))
        {
            Some((case, rest)) => std::iter::once(case.to_owned())
                .chain(rest.split(',').map(str::to_owned))
                .collect(),
            None => line.split(',').map(str::to_owned).collect::<Vec<String>>(),
        }
    };
    let names = split(lines.next().expect("a header"));
    lines
        .map(|line| names.iter().cloned().zip(split(line)).collect())
        .collect()
}

fn number(row: &BTreeMap<String, String>, name: &str) -> f64 {
    row[name]
        .parse()
        .unwrap_or_else(|_| panic!("{name} of {row:?}"))
}

fn close(found: &Value, expected: f64, relative: f64) -> bool {
    let found = found.as_f64().expect("a number");
    (found - expected).abs() <= relative * expected.abs().max(1e-12)
}

/// An engine of one cylinder with the inputs of a row, all with the uncertainties and degrees of
/// freedom that the file's header gives.
fn engine(row: &BTreeMap<String, String>) -> String {
    let value = |name: &str| &row[name];
    format!(
        r#"
name = "worked case"
invented = true
units = "metric"
cylinders = 1
bore = {{ value = "{} mm", u = "0.0025 mm", dof = 9 }}
stroke = {{ value = "{} mm", u = "0.01 mm" }}
[piston]
crevice = {{ value = "{} cc", u = "0.1 cc" }}
[gasket]
bore = {{ value = "{} mm", u = "0.1 mm" }}
thickness = {{ value = "{} mm", u = "0.015 mm", dof = 4 }}
"#,
        value("B"),
        value("S"),
        value("crev"),
        value("Gb"),
        value("Gt"),
    )
}

fn readings(row: &BTreeMap<String, String>) -> String {
    format!(
        "spot,value,unit,u,dof\nchamber/1,{},cc,0.12,2\ndeck/1,{},mm,0.006,3\ncrown/1,{},cc,0.15,2\n",
        row["Vch"], row["deck"], row["dome"]
    )
}

#[test]
fn compression_and_its_uncertainty_are_those_of_every_worked_case() {
    let folder = tempfile::tempdir().unwrap();
    let program = Program::at(&folder.path().join("data"));
    let rows = rows("cr_cases.csv");
    assert_eq!(rows.len(), 6);
    for row in rows {
        let (engine_file, csv) = (folder.path().join("e.toml"), folder.path().join("r.csv"));
        std::fs::write(&engine_file, engine(&row)).unwrap();
        std::fs::write(&csv, readings(&row)).unwrap();
        let (e, r) = (engine_file.to_str().unwrap(), csv.to_str().unwrap());
        let report = program.json(&["report", "--engine", e, "--readings", r]);
        let cylinder = &report["cylinders"][0];
        let compression = &cylinder["compression"];
        // The files carry 12 significant digits.
        assert!(
            close(&compression["value"], number(&row, "CR"), 1e-11),
            "{compression} {row:?}"
        );
        assert!(
            close(&compression["u"], number(&row, "u_GTC"), 1e-10),
            "{compression} {row:?}"
        );
        assert_eq!(compression["unit"], "1");
        assert!(close(
            &cylinder["clearance"]["value"],
            number(&row, "Vc"),
            1e-11
        ));
        assert_eq!(report["units"], "metric");
        assert_eq!(cylinder["deck"]["unit"], "mm");
    }
    assert!(
        !program.data().exists(),
        "a report from files keeps nothing"
    );
}

#[test]
fn what_must_go_for_a_target_is_that_of_every_worked_row() {
    for row in rows("cr_target.csv") {
        let (swept, clearance) = (number(&row, "Vs"), number(&row, "Vc"));
        let ratio = 1.0 + swept / clearance;
        assert!((ratio - number(&row, "CR")).abs() < 1e-9);
        let target = number(&row, "CR_target");
        let wanted = benchhand_blueprint::formula::compression::clearance_for(&swept, &target);
        assert!((wanted - number(&row, "Vc_target")).abs() < 1e-9 * wanted);
        assert!((clearance - wanted - number(&row, "remove_cc")).abs() < 1e-9 * clearance);
    }
}
