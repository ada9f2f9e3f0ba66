//! A job's engine file is replaced whole or not at all, and what a person edited is not overwritten
//! in silence. A job begins with its cylinders alone.

use benchhand_tests::refusals::{CANNOT_BE_USED, CLASHES, refused};
use benchhand_tests::shop::{Shop, example, findings};
use benchhand_tests::tree::text;
use serde_json::json;

/// The invented engine with another bore.
fn wider() -> String {
    let good = text(&example("invented-v8.toml"));
    assert!(good.contains("\"4.047 in\""));
    good.replacen("\"4.047 in\"", "\"4.057 in\"", 1)
}

fn on_disk(shop: &Shop) -> String {
    text(&shop.job().join("engine.toml"))
}

#[test]
fn an_engine_file_is_replaced_in_folder_and_record_and_a_repetition_counts_once() {
    let shop = Shop::with_job();
    let daemon = shop.program.serve(&[]);
    let body = json!({"job": "v8", "engine": wider(), "file": "wider.toml"});
    let set = |key: &str| {
        daemon
            .api
            .post("jobs/engine/set", key, &body)
            .expect("it answers")
    };
    let first = set("k1").good();
    assert!(first["id"].is_u64(), "{first}");
    assert_eq!(on_disk(&shop), wider());
    let journal = shop.journal();
    assert_eq!(set("k1").good(), first, "the same request once more");
    assert_eq!(shop.journal(), journal);
    assert!(
        set("k2").good().get("id").is_none(),
        "the same text is no change"
    );
    assert_eq!(shop.journal(), journal);
    daemon.stop();
    let report = shop.program.json(&["report", "v8"]);
    assert_eq!(report["inputs"]["bore"]["value"], json!(4.057));
    shop.program.run(&["job", "verify", "v8"]).good();
}

#[test]
fn a_faulty_engine_replaces_nothing_and_is_shown_at_its_line() {
    let shop = Shop::with_job();
    let (before, journal) = (on_disk(&shop), shop.journal());
    let faulty = shop.file(
        "faulty.toml",
        &before.replacen("\"4.047 in\"", "\"-4 in\"", 1),
    );
    refused(
        &shop,
        &["job", "engine", "v8", &faulty],
        CANNOT_BE_USED,
        &["faulty.toml:", "-4 in"],
    );
    assert_eq!((on_disk(&shop), shop.journal()), (before, journal));
}

#[test]
fn an_edit_that_is_not_loaded_yet_is_not_overwritten_in_silence() {
    for served in [false, true] {
        let shop = Shop::with_job();
        let edited = text(&example("invented-v8.toml")) + "# my own remark\n";
        std::fs::write(shop.job().join("engine.toml"), &edited).expect("it can be written");
        let daemon = served.then(|| shop.program.serve(&[]));
        let file = shop.file("wider.toml", &wider());
        let set = ["job", "engine", "v8", &file];
        refused(&shop, &set, CLASHES, &["edited", "not loaded yet"]);
        assert_eq!(on_disk(&shop), edited, "served: {served}");
        let shown = shop.program.run(&["job", "engine", "v8"]).good();
        assert!(shown.out.contains("# my own remark"), "{}", shown.out);
        let over = ["job", "engine", "v8", &file, "--over-edited"];
        shop.program.run(&over).good();
        assert_eq!(on_disk(&shop), wider());
        if let Some(daemon) = daemon {
            daemon.stop();
        }
    }
}

#[test]
fn a_text_that_changed_since_it_was_read_is_not_replaced() {
    let shop = Shop::with_job();
    let daemon = shop.program.serve(&[]);
    let read = daemon.api.get("jobs/engine/text?job=v8").good();
    let meanwhile = wider().replacen("4.057", "4.067", 1);
    let body = json!({"job": "v8", "engine": meanwhile, "file": "a", "base": read["hash"]});
    daemon
        .api
        .post("jobs/engine/set", "k1", &body)
        .expect("it answers")
        .good();
    let body = json!({"job": "v8", "engine": wider(), "file": "b", "base": read["hash"]});
    let late = daemon
        .api
        .post("jobs/engine/set", "k2", &body)
        .expect("it answers");
    assert_eq!(late.json()["reason"], "conflict", "{late:?}");
    assert_eq!(on_disk(&shop), meanwhile);
    daemon.stop();
}

#[test]
fn an_engine_without_a_cylinder_that_was_measured_is_refused() {
    let shop = Shop::with_job();
    shop.program
        .run(&["enter", "v8", "chamber/8", "64.1 cc"])
        .good();
    let four = "name = \"t\"\nunits = \"inch\"\ncylinders = 4\n";
    let file = shop.file("four.toml", four);
    refused(
        &shop,
        &["job", "engine", "v8", &file],
        CLASHES,
        &["chamber/8", "reading"],
    );
}

#[test]
fn heads_alone_need_only_their_cylinders_and_figures_appear_as_their_inputs_do() {
    let shop = Shop::new();
    shop.program
        .run(&["job", "new", "v8", "--template", "v8"])
        .good();
    for (cylinder, volume) in [
        "64.0", "64.1", "64.0", "64.2", "64.1", "64.0", "64.1", "65.0",
    ]
    .iter()
    .enumerate()
    {
        let (spot, value) = (format!("chamber/{}", cylinder + 1), format!("{volume} cc"));
        shop.program
            .run(&["enter", "v8", &spot, &value, "--sure"])
            .good();
    }
    let heads = shop.program.json(&["report", "v8"]);
    assert!(
        heads["summary"]["chamber_mean"].is_object(),
        "{}",
        heads["summary"]
    );
    assert!(heads["summary"]["displacement"].is_null());
    let missing = |report: &serde_json::Value| -> Vec<String> {
        let all = findings(report)
            .into_iter()
            .filter(|(_, kind)| kind == "missing");
        all.map(|(spot, _)| spot).collect()
    };
    assert_eq!(
        missing(&heads),
        Vec::<String>::new(),
        "heads alone lack nothing"
    );
    shop.program.run(&["report", "v8"]).good();

    let bore = "bore = \"4.1 in\"\nstroke = \"3.5 in\"\n";
    let text =
        on_disk(&shop).replacen("# bore = \"0.000 in\"", &format!("{bore}# bore = \"0\""), 1);
    let file = shop.file("with-bore.toml", &text);
    shop.program.run(&["job", "engine", "v8", &file]).good();
    let more = shop.program.json(&["report", "v8"]);
    assert!(more["summary"]["displacement"].is_object());
    assert!(
        missing(&more).iter().any(|spot| spot.starts_with("deck/")),
        "{:?}",
        missing(&more)
    );
    let listed = shop.program.json(&["job", "list"]);
    let lacks = listed["jobs"][0]["lacks"].to_string();
    assert!(
        lacks.contains("decks 1 to 8") && !lacks.contains("chamber"),
        "{lacks}"
    );
}

#[test]
fn without_a_file_and_a_terminal_nothing_is_begun() {
    let shop = Shop::new();
    refused(
        &shop,
        &["job", "new", "v8"],
        CANNOT_BE_USED,
        &["--template", "engine file"],
    );
    refused(
        &shop,
        &["job", "new", "v8", "--template", "v9"],
        CANNOT_BE_USED,
        &["v9", "v8-by-bank"],
    );
    assert!(!shop.program.data().exists());
}
