//! Lists of parts that cannot be are refused with the line and the name, and a search that would
//! take for ever ends and says so.

#[path = "common/asking.rs"]
mod asking;

use asking::{FOUR, FOUR_CSV, ask, says, try_ask, value};
use benchhand_blueprint::answers::parts_from_csv;
use serde_json::{Value, json};

const LIST: &str = "part,id,crown,height,length,side,fitted
piston,P1,4.7 cc +- 0.05 cc,31.03 mm +- 0.005 mm,,,
piston,P2,5.1 cc +- 0.05 cc,30.97 mm +- 0.005 mm,,,
piston,P3,5.5 cc +- 0.05 cc,31.06 mm +- 0.005 mm,,,
piston,P4,5.4 cc +- 0.05 cc,31.05 mm +- 0.005 mm,,,
rod,R1,,,142.98 mm +- 0.005 mm,,
rod,R2,,,143.02 mm +- 0.005 mm,,
rod,R3,,,143.04 mm +- 0.005 mm,,
rod,R4,,,143.02 mm +- 0.005 mm,,
";

#[test]
fn a_list_that_cannot_be_is_refused_with_its_line() {
    assert!(parts_from_csv(LIST).is_ok());
    let cases = [
        (
            LIST.replace("piston,P4", "piston,P1"),
            5,
            "the piston P1 again, as in line 2",
        ),
        (
            LIST.replace("rod,R3", "rod,R2"),
            8,
            "the rod R2 again, as in line 7",
        ),
        (
            LIST.replace("31.03 mm +- 0.005 mm,,,", "31.03 mm +- 0.005 mm,,,3")
                .replace("30.97 mm +- 0.005 mm,,,", "30.97 mm +- 0.005 mm,,,3"),
            3,
            "a second piston fitted in cylinder 3, as in line 2",
        ),
        (
            LIST.replace("142.98", "-142.98"),
            6,
            "expected a length above 0",
        ),
        (
            LIST.replace("31.06 mm +-", "0 mm +-"),
            4,
            "expected a length above 0",
        ),
    ];
    for (text, line, words) in cases {
        let faults = parts_from_csv(&text).expect_err(words).faults;
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert_eq!(faults[0].line, line, "{faults:?}");
        assert!(faults[0].message.contains(words), "{faults:?}");
    }
    // A rod and a piston may share a name and a cylinder.
    let both = LIST
        .replace("rod,R1", "rod,P1")
        .replace("0.005 mm,,\n", "0.005 mm,,1\n");
    let both = both.replacen("0.005 mm,,,\n", "0.005 mm,,,1\n", 1);
    let faults = parts_from_csv(&both)
        .expect_err("four rods in one cylinder")
        .faults;
    assert_eq!(faults.len(), 3, "{faults:?}");
}

fn pistons(n: usize) -> Vec<Value> {
    (0..n)
        .map(|at| {
            // Invented, spread by no rule that sorting could use.
            let crown = 4.5 + ((at * 7) % 11) as f64 * 0.1;
            let height = 30.95 + ((at * 5) % 12) as f64 * 0.01;
            json!({"id": format!("P{at}"), "crown": format!("{crown:.1} cc +- 0.05 cc"),
                "height": format!("{height:.2} mm +- 0.005 mm")})
        })
        .collect()
}

fn rods(n: usize) -> Vec<Value> {
    (0..n)
        .map(|at| {
            let length = 142.95 + ((at * 3) % 8) as f64 * 0.01;
            json!({"id": format!("R{at}"), "length": format!("{length:.2} mm +- 0.005 mm")})
        })
        .collect()
}

/// The same refusals where a program asks without a CSV file.
#[test]
fn parts_that_cannot_be_are_refused_by_their_names() {
    let refused = |change: &dyn Fn(&mut Vec<Value>, &mut Vec<Value>)| {
        let (mut pistons, mut rods) = (pistons(4), rods(4));
        change(&mut pistons, &mut rods);
        let question = json!({"ask": "fit", "pistons": pistons, "rods": rods});
        try_ask(FOUR, FOUR_CSV, question)
            .expect_err("refused")
            .to_string()
    };
    let twice = refused(&|pistons, _| pistons[3]["id"] = json!("P0"));
    assert!(twice.contains("piston P0 is listed twice"), "{twice}");
    let both = refused(&|_, rods| {
        rods[0]["fitted"] = json!(2);
        rods[3]["fitted"] = json!(2);
    });
    assert!(
        both.contains("rods R0 and R3 are both fitted in cylinder 2"),
        "{both}"
    );
    let less = refused(&|_, rods| rods[1]["length"] = json!("-143 mm"));
    assert!(less.contains("rod R1 is -143 mm"), "{less}");
}

#[test]
fn sixteen_bores_are_answered_and_said_to_be_unproven() {
    let n = 16;
    let mut engine = FOUR.replace("cylinders = 4", "cylinders = 16");
    let mut csv = "spot,value,unit,u,gauge\n".to_owned();
    for at in 0..n {
        let number = at + 1;
        if ![2, 3].contains(&number) {
            let bore = 86.06 + ((at * 11) % 16) as f64 * 0.023;
            engine += &format!("[cylinder.{number}]\nbore = \"{bore:.3} mm +- 0.005 mm\"\n");
        }
        let chamber = 44.4 + ((at * 5) % 12) as f64 * 0.1;
        csv += &format!("chamber/{number},{chamber:.1},cc,,burette\n");
        let height = 217.16 + ((at * 3) % 9) as f64 * 0.01;
        csv += &format!("block/{number}/front,{height:.2},mm,0.01,\n");
    }
    let found = ask(
        &engine,
        &csv,
        json!({"ask": "fit", "pistons": pistons(n), "rods": rods(n)}),
    );
    let assignment = &found["answer"]["assignment"];
    assert_eq!(assignment["proven"], false);
    assert!(says(&found["remarks"], "a smaller spread may exist"));
    // Not worse than what sorting by hand reaches.
    let sorted = value(&found["answer"]["spread_by_sorting"]);
    assert!(value(&assignment["spread"]) <= sorted, "{assignment}");
    let four = ask(
        FOUR,
        FOUR_CSV,
        json!({"ask": "fit", "pistons": pistons(4), "rods": rods(4)}),
    );
    assert_eq!(four["answer"]["assignment"]["proven"], true);
}
