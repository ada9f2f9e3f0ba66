//! Decisions over the real executable: from a job and from files alone the same, applied they hit
//! what they aim at, and what cannot be is refused with words that help.

use benchhand_tests::program::Program;
use benchhand_tests::shop::{Shop, example};
use serde_json::{Value, json};

fn path(name: &str) -> String {
    example(name).to_str().expect("UTF-8").to_owned()
}

/// A shop whose job `v8` holds the readings of the example.
fn shop() -> Shop {
    let shop = Shop::with_job();
    let csv = path("invented-v8-readings.csv");
    shop.program.json(&["import", "v8", &csv]);
    shop
}

/// A question about the example's files; it goes through no store.
#[track_caller]
fn of_files(program: &Program, question: &[&str]) -> Value {
    let (engine, csv) = (path("invented-v8.toml"), path("invented-v8-readings.csv"));
    let mut args = vec!["decide"];
    args.extend(question);
    args.extend(["--engine", &engine, "--readings", &csv]);
    program.json(&args)
}

#[track_caller]
fn of_job(program: &Program, question: &[&str]) -> Value {
    let mut args = vec!["decide", question[0], "v8"];
    args.extend(&question[1..]);
    program.json(&args)
}

/// Whether two documents are the same but for the last digits of numbers and the names of readings.
fn alike(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (a.as_f64().unwrap(), b.as_f64().unwrap());
            (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1e-6)
        }
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| alike(a, b))
        }
        (Value::Object(a), Value::Object(b)) => {
            a.len() == b.len()
                && a.iter()
                    .all(|(key, a)| b.get(key).is_some_and(|b| alike(a, b)))
        }
        _ => a == b,
    }
}

fn number(value: &Value) -> f64 {
    value["value"]
        .as_f64()
        .unwrap_or_else(|| panic!("no figure: {value}"))
}

/// Every object with a `value` also has `u` and `unit`.
fn figures_are_whole(value: &Value) {
    match value {
        Value::Object(fields) => {
            if fields.contains_key("value") {
                assert!(
                    fields.contains_key("u") && fields.contains_key("unit"),
                    "{value}"
                );
            }
            fields.values().for_each(figures_are_whole);
        }
        Value::Array(all) => all.iter().for_each(figures_are_whole),
        _ => {}
    }
}

#[test]
fn a_job_and_its_files_give_the_same_document_to_every_question() {
    let shop = shop();
    let (gaskets, parts) = (path("invented-gaskets.csv"), path("invented-parts.csv"));
    let questions: [&[&str]; 12] = [
        &["dome", "--ratio", "10.8"],
        &["mill", "--ratio", "10.8", "--area", "5720 mm2 +- 20 mm2"],
        &["chambers", "--equal", "compression"],
        &["gasket", "--list", &gaskets],
        &["fit", "--parts", &parts],
        &["next"],
        &["what-if", "--set", "gasket thickness = 0.051 in"],
        &["ports"],
        &["sensitivities", "--cylinder", "3"],
        &[
            "effective",
            "--closing",
            "62 deg +- 1 deg",
            "--at-lift",
            "0.050 in",
        ],
        &["target", "--ratio", "10.9"],
        &[
            "mill",
            "--chamber",
            "62 cc",
            "--area",
            "5720 mm2",
            "--angle",
            "0.5 deg",
            "--centroid",
            "40 mm",
        ],
    ];
    let daemon = shop.program.serve(&[]);
    let nowhere = Program::at(&shop.folder().join("nowhere"));
    for question in questions {
        let (job, files) = (
            of_job(&shop.program, question),
            of_files(&nowhere, question),
        );
        assert!(alike(&job, &files), "{question:?}:\n{job:#}\n{files:#}");
        assert_eq!(job["answer"]["ask"], question[0]);
        assert_eq!(job["invented"], true);
        figures_are_whole(&job);
    }
    assert!(!nowhere.data().exists(), "files alone keep nothing");
    // The same over HTTP, as any other program would ask.
    let body = json!({"job": "v8", "question": {"ask": "dome", "ratio": 10.8}});
    let bearer = format!("Bearer {}", daemon.api.token);
    let headers = [
        ("host", daemon.api.address.as_str()),
        ("authorization", bearer.as_str()),
    ];
    let answered = daemon
        .api
        .raw("POST /v1/jobs/decide", &headers, Some(&body.to_string()));
    let answered = answered.expect("the daemon answers");
    assert_eq!(answered.status, 200, "{}", answered.body);
    assert!(
        answered.body.contains("crown_dish_positive"),
        "{}",
        answered.body
    );
}

#[test]
fn a_mill_depth_and_a_crown_applied_reach_the_target() {
    let shop = Shop::new();
    let mill = of_files(
        &shop.program,
        &["mill", "--ratio", "10.9", "--area", "5720 mm2 +- 20 mm2"],
    );
    let heads = mill["answer"]["heads"].as_array().unwrap();
    assert_eq!(heads.len(), 2, "one head for each bank");
    for head in heads {
        let depth = number(&head["depth"]) * 25.4;
        assert_eq!(head["depth"]["unit"], "in");
        assert!(depth > 0.0 && head["depth"]["u"].as_f64().unwrap() > 0.0);
        // 5720 mm² times the depth, as geometry has it.
        let taken = 5.72 * depth;
        assert!((number(&head["taken"]) - taken).abs() < 1e-9);
        let cylinders: Vec<u64> = head["cylinders"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["cylinder"].as_u64().unwrap())
            .collect();
        let mut args = vec!["what-if".to_owned()];
        for number in &cylinders {
            args.extend([
                "--set".to_owned(),
                format!("chamber/{number} -= {taken} cc"),
            ]);
        }
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let after = of_files(&shop.program, &args);
        let all = after["answer"]["cylinders"].as_array().unwrap();
        let ratios: Vec<f64> = all
            .iter()
            .filter(|one| cylinders.contains(&one["cylinder"].as_u64().unwrap()))
            .map(|one| number(&one["compression"]["after"]))
            .collect();
        let mean = ratios.iter().sum::<f64>() / ratios.len() as f64;
        assert!((mean - 10.9).abs() < 1e-9, "{mean}");
    }
    let dome = of_files(&shop.program, &["dome", "--ratio", "11.2"]);
    assert_eq!(
        number(&dome["answer"]["crown"]),
        -number(&dome["answer"]["crown_dish_positive"])
    );
    for one in dome["answer"]["cylinders"].as_array().unwrap() {
        let set = format!("crown/{} = {} cc", one["cylinder"], number(&one["crown"]));
        let after = of_files(&shop.program, &["what-if", "--set", &set]);
        let at = one["cylinder"].as_u64().unwrap() as usize - 1;
        let ratio = number(&after["answer"]["cylinders"][at]["compression"]["after"]);
        assert!((ratio - 11.2).abs() < 1e-9, "{ratio}");
    }
}

#[test]
fn a_cut_with_its_depth_teaches_the_next_and_is_compared_with_before() {
    let shop = shop();
    shop.program.json(&[
        "job",
        "cut",
        "v8",
        "--stage",
        "milled 1",
        "--what",
        "both heads",
        "--changes",
        "chamber",
        "--depth",
        "0.010 in",
    ]);
    // 1.45 cc less everywhere: 5.709 cc/mm by 0.254 mm.
    let before = [64.05, 64.0, 64.2, 63.9, 63.95, 65.05, 64.1, 64.1];
    let rows: String = before
        .iter()
        .enumerate()
        .map(|(at, cc)| format!("chamber/{},{:.2},cc,burette\n", at + 1, cc - 1.45))
        .collect();
    let file = shop.file("after.csv", &format!("spot,value,unit,gauge\n{rows}"));
    shop.program.json(&["import", "v8", &file]);
    let mill = of_job(&shop.program, &["mill", "--ratio", "11.0"]);
    let area = number(&mill["answer"]["area"]);
    assert!((area - 1450.0 / 0.254).abs() < 1.0, "{area}");
    assert_eq!(mill["answer"]["learned_from"], 16);
    assert!((number(&mill["answer"]["already"]) - 0.010).abs() < 1e-12);
    let beside = of_job(
        &shop.program,
        &["compare", "--against-stage", "as received"],
    );
    assert_eq!(beside["answer"]["before"], "as received");
    assert_eq!(beside["answer"]["after"], "milled 1");
    for one in beside["answer"]["cylinders"].as_array().unwrap() {
        assert!((number(&one["chamber"]["difference"]) + 1.45).abs() < 1e-9);
        assert_eq!(one["chamber"]["real"], true);
        assert_eq!(number(&one["deck"]["difference"]), 0.0);
    }
    let itself = shop
        .program
        .run(&["decide", "compare", "v8", "--against-stage", "milled 1"]);
    assert_eq!(itself.code, 3, "{}", itself.err);
    let deep = shop.program.run(&[
        "job",
        "cut",
        "v8",
        "--stage",
        "2",
        "--what",
        "x",
        "--changes",
        "chamber",
        "--depth",
        "3 cc",
    ]);
    assert_eq!(deep.code, 3, "{}", deep.err);
}

#[test]
fn flow_before_and_after_says_from_which_lift_the_difference_is_real() {
    let shop = Shop::new();
    let flow = |drops: [f64; 3]| {
        let rows: String = ["0.100in", "0.200in", "0.300in"]
            .iter()
            .zip(drops)
            .map(|(lift, drop)| {
                format!("flow/1/intake/{lift}/test,28.0,inH2O,manometer\nflow/1/intake/{lift}/metering,{drop},inH2O,manometer\n")
            })
            .collect();
        format!("spot,value,unit,gauge\n{rows}")
    };
    let before = shop.file("before.csv", &flow([0.5, 2.0, 4.2]));
    let after = shop.file("after.csv", &flow([0.5, 2.4, 5.2]));
    let engine = path("invented-v8.toml");
    let args = [
        "decide",
        "compare",
        "--engine",
        &engine,
        "--readings",
        &after,
        "--against-readings",
        &before,
    ];
    let found = shop.program.json(&args);
    let port = &found["answer"]["flow"][0];
    assert_eq!(port["lifts"][0]["real"], false);
    assert!((number(&port["real_from"]) - 0.2).abs() < 1e-9, "{port:#}");
    // Both under the same pressure: flow goes with the root of the metering pressure.
    let share = (5.2f64 / 4.2).sqrt() - 1.0;
    assert!((number(&port["lifts"][2]["difference"]) - share).abs() < 1e-9);
    let words = shop.program.run(&args).good().out;
    assert!(
        words.contains("cylinder 1 intake: real from 0.200 in up"),
        "{words}"
    );
}

#[test]
fn what_cannot_be_is_refused_with_its_code_and_what_to_do() {
    let shop = Shop::new();
    let bare = shop.file(
        "bare.toml",
        "name = \"bare\"\nunits = \"inch\"\ncylinders = 2\nbore = \"4 in\"\nstroke = \"3.5 in\"\n",
    );
    let csv = shop.file(
        "r.csv",
        "spot,value,unit\nchamber/1,64,cc\nchamber/2,64.2,cc\n",
    );
    let bad_list = shop.file("gaskets.csv", "name,bore,thickness\nthin,4.1 in,0.03\n");
    let good = [path("invented-v8.toml"), path("invented-v8-readings.csv")];
    let poor = [bare, csv];
    let cases: [(&[&str], &[String; 2], i32, &str); 12] = [
        (&["dome"], &poor, 4, "--ratio"),
        (
            &["dome", "--ratio", "10"],
            &poor,
            4,
            "cylinder 1 has no deck",
        ),
        (&["dome", "--ratio", "0.5"], &good, 3, "above 1"),
        (&["mill", "--ratio", "10.8"], &good, 4, "--area"),
        (
            &["mill", "--ratio", "10.8", "--area", "5720 mm"],
            &good,
            3,
            "an area",
        ),
        (
            &[
                "mill",
                "--ratio",
                "10.8",
                "--area",
                "5720 mm2",
                "--cylinders",
                "9",
            ],
            &good,
            3,
            "1 to 8",
        ),
        (&["gasket"], &good, 3, "--gasket"),
        (&["gasket", "--list", &bad_list], &good, 3, "without a unit"),
        (
            &["what-if", "--set", "piston = 3 cc"],
            &good,
            3,
            "expected one of bore",
        ),
        (&["next", "--goal", "luck"], &good, 3, "compression_spread"),
        (
            &["effective", "--closing", "62 deg", "--at-lift", "0.05 in"],
            &poor,
            4,
            "--rod",
        ),
        (&["compare"], &good, 3, "--against-stage"),
    ];
    for (question, [engine, csv], code, words) in cases {
        let mut args = vec!["decide"];
        args.extend(question);
        args.extend(["--engine", engine, "--readings", csv]);
        let ran = shop.program.run(&args);
        assert_eq!(ran.code, code, "{question:?}: {}", ran.err);
        assert!(ran.err.contains(words), "{question:?}: {}", ran.err);
        assert!(ran.err.contains("what to do:"), "{question:?}: {}", ran.err);
        assert_eq!(ran.out, "", "{question:?}");
    }
    let none = shop.program.run(&["decide", "dome", "nobody"]);
    assert_eq!(none.code, 4, "{}", none.err);
}

#[test]
fn degrees_of_freedom_from_a_file_reach_the_jobs_expanded_uncertainty() {
    let shop = Shop::with_job();
    let rows: String = (1..=8)
        .map(|n| {
            format!("chamber/{n},64,cc,0.2,3\ndeck/{n},0.2,mm,0.01,\ncrown/{n},-3.2,cc,0.01,\n")
        })
        .collect();
    let csv = shop.file("few.csv", &format!("spot,value,unit,u,dof\n{rows}"));
    shop.program.json(&["import", "v8", &csv]);
    let engine = path("invented-v8.toml");
    let of_files = ["report", "--engine", &engine, "--readings", &csv];
    let expanded = |report: Value| report["cylinders"][0]["compression_expanded"].clone();
    let from_files = expanded(shop.program.json(&of_files));
    assert!(from_files["dof"].is_number(), "{from_files}");
    let from_job = expanded(shop.program.json(&["report", "v8"]));
    assert!(alike(&from_job, &from_files), "{from_job} {from_files}");
}
