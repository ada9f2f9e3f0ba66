//! The guide, followed word for word: every command in it runs, in the order of its pages, over
//! virtual gauges.

#![cfg(unix)]

use std::process::Command;

use benchhand_tests::driven_station::{DrivenGauge, DrivenStation};
use benchhand_tests::program::{Daemon, FinishedRun};
use benchhand_tests::shop::Shop;
use benchhand_tests::signals::Hand;
use benchhand_tests::tree::{root, text};
use serde_json::Value;

/// The pages in the order in which the first one lists them.
const PAGES: [&str; 10] = [
    "README",
    "first-job",
    "connecting",
    "pouring",
    "deck",
    "flow",
    "figures",
    "leaving",
    "profiles",
    "cautions",
];

/// The file that a page asks the reader to write.
const OWN_PROFILE: &str = "my-dial.toml";

/// The files and folders that the pages have commands make.
const MADE: [&str; 7] = [
    "build.html",
    "labels.html",
    "number-12.xlsx",
    "number-12-tables",
    "number-12.job",
    "shop.backup",
    "restored",
];

/// One piece of code on a page.
#[derive(Debug, PartialEq)]
struct Code {
    language: String,
    text: String,
}

/// The pieces of code in a page's text.
fn code(page: &str) -> Vec<Code> {
    let mut found = Vec::new();
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        if let Some(language) = line.strip_prefix("```") {
            let inside: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
            found.push(Code {
                language: language.to_owned(),
                text: inside.join("\n"),
            });
        }
    }
    found
}

/// The words of a command, as a shell parts them.
fn words(line: &str) -> Vec<String> {
    let mut all = Vec::new();
    let (mut word, mut quoted, mut begun) = (String::new(), false, false);
    for letter in line.chars() {
        match letter {
            '"' => (quoted, begun) = (!quoted, true),
            ' ' if !quoted => {
                if begun || !word.is_empty() {
                    all.push(std::mem::take(&mut word));
                }
                begun = false;
            }
            other => word.push(other),
        }
    }
    assert!(!quoted, "{line}: a quotation mark is missing");
    if begun || !word.is_empty() {
        all.push(word);
    }
    all
}

/// Somebody who follows the guide at a bench with a burette and a dial.
struct Reader {
    shop: Shop,
    daemon: Daemon,
    burette: DrivenGauge,
    dial: DrivenGauge,
    /// The commands that were run, without the executable's name.
    ran: Vec<String>,
}

impl Reader {
    fn new() -> Reader {
        let shop = Shop::new();
        let station = DrivenStation::new();
        let burette = station.plug_in("burette");
        let dial = station.plug_in("dial");
        let daemon = station.serve(&shop.program);
        Reader {
            shop,
            daemon,
            burette,
            dial,
            ran: Vec::new(),
        }
    }

    /// A path or port of the guide, as it is on this bench.
    fn here(&self, word: &str) -> String {
        match word {
            "/dev/ttyUSB0" => self.burette.path().to_owned(),
            "/dev/ttyUSB1" => self.dial.path().to_owned(),
            made if MADE.contains(&made) || made == OWN_PROFILE => {
                self.shop.folder().join(made).display().to_string()
            }
            other => other.to_owned(),
        }
    }

    /// Runs a command from the project's folder, where the guide's examples lie.
    fn run(&self, args: &[String]) -> FinishedRun {
        let mut command: Command = self.shop.program.command(args);
        command.current_dir(root());
        FinishedRun::of(command.output().expect("it starts"))
    }

    #[track_caller]
    fn follow(&mut self, line: &str) {
        let mut args = words(line).into_iter();
        assert_eq!(args.next().as_deref(), Some("benchhand"), "{line}");
        let args: Vec<String> = args.map(|word| self.here(&word)).collect();
        let first: Vec<&str> = args.iter().take(2).map(String::as_str).collect();
        match first.as_slice() {
            // A daemon serves already: it is said, and nothing is spoilt.
            ["serve"] => {
                let second = self.run(&args);
                assert_ne!(second.code, 0, "one daemon is enough");
                assert!(second.err.contains("error: "), "{}", second.err);
            }
            ["measure", _] => self.measure(&args),
            ["gauge", "watch"] => self.watch(&args),
            _ => {
                let ran = self.run(&args);
                assert_eq!(ran.code, 0, "{line}:\n{}{}", ran.out, ran.err);
                assert!(!ran.out.trim().is_empty(), "{line} says nothing");
            }
        }
        self.ran.push(args.join(" "));
    }

    /// Pours two chambers, then ends the route.
    fn measure(&self, args: &[String]) {
        let args: Vec<&str> = args.iter().map(String::as_str).chain(["--json"]).collect();
        let mut running = self.shop.program.start(&args);
        running.wait("the route runs", |event| {
            event["progress"]["running"] == true
        });
        for (number, cc) in [(1, 64.1), (2, 64.3)] {
            let hand = Hand::at_burette(number).pour(cc).refill().rest(1.0);
            self.burette.play(&hand.stream());
        }
        self.daemon.program.json(&["steer", args[1], "end"]);
        running.end().good();
        for (spot, poured) in [("chamber/1", 64.1), ("chamber/3", 64.3)] {
            let kept = self.values(args[1], spot);
            let right = kept.iter().all(|kept| (kept - poured).abs() < 0.05);
            assert!(!kept.is_empty() && right, "{spot}: {kept:?}");
        }
    }

    /// The values at a spot that count.
    fn values(&self, job: &str, spot: &str) -> Vec<f64> {
        let shown = self.shop.program.json(&["job", "show", job]);
        let all = shown["readings"].as_array().expect("readings").iter();
        let counts = |r: &&Value| r["state"] == "final" || r["state"] == "held";
        let here = all.filter(counts).filter(|r| r["spot"] == spot);
        here.filter_map(|r| r["figure"]["value"].as_f64()).collect()
    }

    /// Sees a value of the dial, then ends the watching.
    #[track_caller]
    fn watch(&self, args: &[String]) {
        self.daemon.api.wait_for_port("dial");
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let mut running = self.shop.program.start(&args);
        let first = running.line().expect("it says how the gauge is");
        assert!(first.contains("Ctrl-C ends"), "{first}");
        self.dial
            .play(&Hand::at_dial(1).from(2.0).rest(2.0).stream());
        let shown = running.line().expect("a value");
        assert!(shown.contains("mm"), "{shown}");
        running.signal(rustix::process::Signal::INT);
        running.end();
    }
}

#[test]
fn every_command_of_the_guide_runs() {
    let mut reader = Reader::new();
    let mut followed = 0;
    for page in PAGES {
        let path = root().join("docs/guide").join(format!("{page}.md"));
        for code in code(&text(&path)) {
            match code.language.as_str() {
                "sh" => {
                    for line in code.text.lines() {
                        reader.follow(line);
                        followed += 1;
                    }
                }
                "toml" => {
                    reader.shop.file(OWN_PROFILE, &code.text);
                }
                other => panic!("{page}: {other:?} is neither a command nor a profile"),
            }
        }
    }
    assert!(followed >= 30, "{followed} commands");
    // What the commands made together is a whole job.
    let report = reader.shop.program.run(&["report", "number-12"]).good();
    assert!(report.out.contains("NEXT"), "{}", report.out);
}

#[test]
fn no_page_of_the_guide_is_left_out() {
    let folder = root().join("docs/guide");
    let mut there: Vec<String> = benchhand_tests::tree::files(&folder, ".md")
        .iter()
        .map(|path| {
            path.file_stem()
                .expect("a name")
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    there.sort();
    let mut known = PAGES.map(str::to_owned).to_vec();
    known.sort();
    assert_eq!(there, known);
}
