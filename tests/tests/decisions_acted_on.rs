//! What is told of decisions in words can be acted on: digits that show a fall, the ± of means, what
//! one crown for all cannot do, and refusals that read as English.

use benchhand_tests::shop::{Shop, example};

fn path(name: &str) -> String {
    example(name).to_str().expect("UTF-8").to_owned()
}

#[test]
fn what_is_told_of_decisions_can_be_acted_on() {
    let shop = Shop::new();
    let (engine, csv) = (path("invented-v8.toml"), path("invented-v8-readings.csv"));
    let files = ["--engine", &engine, "--readings", &csv];
    let words = |question: &[&str]| {
        let mut args = vec!["decide"];
        args.extend(question);
        args.extend(files);
        let out = shop.program.run(&args).good().out;
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let next = words(&["next"]);
    let falls: Vec<&str> = next.split("± falls by ").skip(1).collect();
    assert!(!falls.is_empty(), "{next}");
    for fall in falls {
        let (now, after) = fall
            .split_once("from ")
            .and_then(|(_, rest)| rest.split_once(" to "))
            .expect("from and to");
        let after = after.split(' ').next().expect("a number");
        assert_ne!(now, after, "a fall can be seen");
    }
    assert!(next.contains("larger than the one in the report"), "{next}");
    let changed = words(&["what-if", "--set", "chamber -= 0.5 cc"]);
    assert!(changed.contains("-0.50 as set"), "{changed}");
    assert!(!changed.contains("± 0 yes"), "{changed}");
    let ports = words(&["ports"]);
    let told = ports.split("cylinder 1 intake").last().expect("a line");
    assert!(
        told.contains("mean over the listed lifts") && told.contains(" ± "),
        "{told}"
    );
    let dome = words(&["dome", "--ratio", "10.8", "--ratio-tolerance", "0.08"]);
    assert!(dome.contains("for the mean of the cylinders"), "{dome}");
    // Cylinder 6 is off by 0.100 ± 0.049: that may be within 0.08.
    assert!(!dome.contains("Order a piston of its own"), "{dome}");
    let dome = words(&["dome", "--ratio", "10.8", "--ratio-tolerance", "0.04"]);
    assert!(dome.contains("cylinder 6 is off by -0.100"), "{dome}");
    assert!(dome.contains("Order a piston of its own for it"), "{dome}");
    let mut args = vec![
        "decide",
        "effective",
        "--closing",
        "-20 deg",
        "--at-lift",
        "0.05 in",
    ];
    args.extend(files);
    let refused = shop.program.run(&args);
    assert_eq!(refused.code, 3, "{}", refused.err);
    assert!(
        refused.err.contains("-20 deg after bottom dead centre"),
        "{}",
        refused.err
    );
    args[3] = "20 mm";
    let refused = shop.program.run(&args).err;
    assert!(
        refused.contains("an angle (deg) with its unit"),
        "{refused}"
    );
    assert!(!refused.contains("a an"), "{refused}");
}
