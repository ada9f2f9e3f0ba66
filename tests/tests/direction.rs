//! The step in which a builder lets a little out and the burette's direction is seen.

#![cfg(unix)]

use std::fs::File;
use std::io::{BufRead as _, BufReader};
use std::process::Stdio;

use benchhand_drivers::transport::Transport as _;
use benchhand_drivers::transport::pty::PtyEnd;
use benchhand_tests::driven_station::{DrivenGauge, DrivenStation};
use benchhand_tests::program::{Daemon, FinishedRun, RunningProgram};
use benchhand_tests::shop::Shop;
use benchhand_tests::signals::Hand;
use serde_json::Value;

const STEP: [&str; 3] = ["gauge", "direction", "burette"];

/// A shop with a burette that stands at `at` and of which the register knows this much more.
struct Evening {
    shop: Shop,
    on_time: DrivenStation,
    burette: DrivenGauge,
    daemon: Daemon,
    stands: f64,
}

impl Evening {
    fn at(at: f64, known: &[&str]) -> Evening {
        let shop = Shop::with_job();
        let on_time = DrivenStation::new();
        let burette = on_time.plug_in("burette");
        let daemon = on_time.serve(&shop.program);
        let mut set = vec!["gauge", "set", "burette", "--profile", "ascii-volume"];
        set.extend(["--port", burette.path(), "--u", "0.03 cc"]);
        set.extend(known);
        daemon.program.json(&set);
        daemon.api.wait_for_port("burette");
        let evening = Evening {
            shop,
            on_time,
            burette,
            daemon,
            stands: at,
        };
        let rests = Hand::at_burette(1).from(at).rest(4.0);
        evening.burette.play(&rests.stream());
        evening.on_time.pass(2.0);
        evening
    }

    /// The level goes there and rests.
    fn goes_to(&mut self, to: f64) {
        let hand = Hand::at_burette(2).from(self.stands).go_to(to, 3.0);
        self.burette.play(&hand.rest(4.0).stream());
        self.on_time.pass(2.0);
        self.stands = to;
    }

    fn register(&self) -> Value {
        let list = self.daemon.program.json(&["gauge", "list"]);
        list["gauges"][0]["setup"].clone()
    }

    /// Begins the step and reads until the hand is asked for.
    #[track_caller]
    fn begin(&self, more: &[&str]) -> RunningProgram {
        let mut step = self.shop.program.start(&[&STEP[..], more].concat());
        wait(&mut step, "Let a little out of burette, 1 to 5 cc");
        step
    }
}

#[track_caller]
fn wait(step: &mut RunningProgram, wanted: &str) -> String {
    let mut heard = String::new();
    while let Some(line) = step.line() {
        if line.contains(wanted) {
            return line;
        }
        heard += &line;
    }
    panic!("never said {wanted:?}: {heard}");
}

/// The numbers that it says, each within a flicker of the gauge.
#[track_caller]
fn moved(told: &str, way: &str, from: f64, to: f64) {
    let (_, numbers) = told.split_once(&format!("{way} from ")).expect(told);
    let said: Vec<f64> = numbers
        .split(' ')
        .filter_map(|word| word.parse().ok())
        .collect();
    let near = |a: f64, b: f64| (a - b).abs() <= 0.03;
    assert!(near(said[0], from) && near(said[1], to), "{told}");
}

#[test]
fn a_little_that_is_let_out_tells_the_direction_and_the_register_keeps_it() {
    for (at, to, counts, way) in [(0.4, 2.75, "up", "rose"), (96.0, 93.5, "down", "fell")] {
        let mut evening = Evening::at(at, &["--capacity", "100 cc"]);
        let mut step = evening.begin(&[]);
        evening.goes_to(to);
        let told = wait(&mut step, "the scale counts");
        step.end().good();
        assert!(told.contains("while some was let out"), "{told}");
        moved(&told, way, at, to);
        assert!(told.contains(&format!("counts {counts}")), "{told}");
        let register = evening.register();
        assert_eq!(register["counts"], counts);
        assert_eq!(register["u"], "0.03 cc", "all else stays");
        assert_eq!(register["capacity"], "100 cc");
    }
}

#[test]
fn the_route_asks_no_more_which_way_the_scale_runs() {
    let mut evening = Evening::at(40.0, &["--capacity", "100 cc"]);
    let step = evening.begin(&[]);
    evening.goes_to(37.0);
    step.end().good();
    evening.daemon.api.wait_for_port("burette");
    let mut measuring = evening
        .shop
        .program
        .start(&["measure", "v8", "chambers", "--json"]);
    measuring.wait("the route runs", |e| e["progress"]["running"] == true);
    // A filling comes first, as it does where the burette is low.
    evening.goes_to(37.0);
    evening.goes_to(100.0);
    evening.goes_to(36.0);
    let reading = measuring.wait("a reading", |e| e["event"] == "reading");
    let value = reading["reading"]["figure"]["value"].as_f64().expect("cc");
    assert!((value - 64.0).abs() < 0.05, "{value}");
}

#[test]
fn a_filling_is_not_believed_and_a_little_let_out_after_it_is() {
    let mut evening = Evening::at(60.0, &["--capacity", "100 cc"]);
    let mut step = evening.begin(&[]);
    evening.goes_to(100.0);
    let doubted = wait(&mut step, "? burette");
    moved(&doubted, "rose", 60.0, 100.0);
    assert!(
        doubted.contains("That movement is not believed. Let a little out once more."),
        "{doubted}"
    );
    assert!(
        evening.register()["counts"].is_null(),
        "nothing was learned"
    );
    evening.goes_to(97.0);
    wait(&mut step, "counts down. The register keeps it.");
    step.end().good();
    assert_eq!(evening.register()["counts"], "down");
}

#[test]
fn too_little_is_said_and_counts_with_what_comes_after() {
    let mut evening = Evening::at(11.0, &[]);
    let mut step = evening.begin(&[]);
    evening.goes_to(11.6);
    wait(&mut step, "too little to tell");
    evening.goes_to(13.0);
    moved(&wait(&mut step, "counts up"), "rose", 11.0, 13.0);
    step.end().good();
}

#[test]
fn what_the_register_says_is_not_changed_without_a_word() {
    let mut evening = Evening::at(20.0, &["--counts", "up"]);
    let step = evening.begin(&[]);
    evening.goes_to(18.0);
    let ran = step.end();
    assert_eq!(ran.code, 5, "{}", ran.out);
    assert!(
        ran.err.contains("counts down, but the register says up"),
        "{}",
        ran.err
    );
    assert!(ran.err.contains("--replace"), "{}", ran.err);
    assert_eq!(evening.register()["counts"], "up");

    // As the register says: nothing to change.
    let mut step = evening.begin(&[]);
    evening.goes_to(20.0);
    wait(&mut step, "counts up, as the register says");
    step.end().good();

    let step = evening.begin(&["--replace"]);
    evening.goes_to(17.0);
    step.end().good();
    assert_eq!(evening.register()["counts"], "down");
}

#[test]
fn json_is_one_document_and_what_is_to_be_done_goes_to_standard_error() {
    let mut evening = Evening::at(0.4, &[]);
    let mut step = evening
        .shop
        .program
        .command(&[&STEP[..], &["--json"]].concat());
    step.stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut step = step.spawn().expect("it starts");
    let mut invited = String::new();
    let mut told = BufReader::new(step.stderr.take().expect("piped"));
    told.read_line(&mut invited).expect("it says what to do");
    assert!(invited.contains("Let a little out of burette"), "{invited}");
    evening.goes_to(3.4);
    let ran = FinishedRun::of(step.wait_with_output().expect("it ends")).good();
    let seen = ran.json();
    assert_eq!(
        (&seen["gauge"], &seen["counts"]),
        (&"burette".into(), &"up".into())
    );
    assert_eq!(seen["changed"], true);
}

/// A person at the terminal answers what the movement was, and whether the register is changed.
#[test]
fn what_a_person_says_in_the_terminal_counts() {
    let mut evening = Evening::at(60.0, &["--capacity", "100 cc", "--counts", "down"]);
    let mut terminal = PtyEnd::open().expect("a pseudo-terminal");
    let stdin = File::options()
        .read(true)
        .write(true)
        .open(terminal.path())
        .expect("its other end");
    let mut step = evening.shop.program.start_with(&STEP, Stdio::from(stdin));
    wait(&mut step, "The register says that burette counts down");
    wait(&mut step, "Let a little out");
    evening.goes_to(0.4);
    wait(&mut step, "Type delivered, or refill.");
    terminal.write(b"yes\n").expect("typed");
    wait(&mut step, "\"yes\" is not an answer to this");
    terminal.write(b"refill\n").expect("typed");
    let asked = wait(&mut step, "Shall the register say up?");
    assert!(
        asked.contains("while it was filled: the scale counts up"),
        "{asked}"
    );
    assert_eq!(
        evening.register()["counts"],
        "down",
        "not before it is answered"
    );
    terminal.write(b"yes\n").expect("typed");
    wait(&mut step, "The register said down; it is changed.");
    step.end().good();
    assert_eq!(evening.register()["counts"], "up");
}

#[test]
fn a_gauge_that_measures_on_a_route_is_not_watched() {
    let evening = Evening::at(0.4, &["--counts", "up"]);
    let mut measuring = evening
        .shop
        .program
        .start(&["measure", "v8", "chambers", "--json"]);
    measuring.wait("the route runs", |e| e["progress"]["running"] == true);
    let ran = evening.shop.program.run(&STEP);
    assert_eq!(ran.code, 5, "{}", ran.out);
    assert!(
        ran.err.contains("the route chambers of job v8"),
        "{}",
        ran.err
    );
}
