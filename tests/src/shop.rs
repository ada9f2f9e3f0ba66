//! The start of most tests: a data folder, an engine, a job, gauges in the register.

use std::path::{Path, PathBuf};

use serde_json::Value;
use tempfile::TempDir;

use crate::program::Program;
use crate::tree::root;

/// A temporary data folder that is removed after the test.
#[derive(Debug)]
pub struct Shop {
    folder: TempDir,
    /// The executable on this shop's data folder.
    pub program: Program,
}

impl Default for Shop {
    fn default() -> Self {
        Shop::new()
    }
}

impl Shop {
    /// An empty shop.
    pub fn new() -> Shop {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let program = Program::at(&folder.path().join("data"));
        Shop { folder, program }
    }

    /// A shop with a job named `v8` on the invented engine.
    #[track_caller]
    pub fn with_job() -> Shop {
        let shop = Shop::new();
        let engine = example("invented-v8.toml");
        let engine = engine.to_str().expect("UTF-8");
        shop.program.json(&["job", "new", "v8", engine]);
        shop
    }

    /// Says of the chambers to come what a job asks for: the running valves and plugs, and a plate
    /// whose fill hole holds nothing. Unsaid, every chamber lacks it.
    #[track_caller]
    pub fn chambers_are_set_up(&self) {
        for (name, value) in [
            ("valves-and-plugs", "running"),
            ("fill-hole/volume", "0 cc"),
        ] {
            self.program.json(&["condition", "v8", name, value]);
        }
    }

    /// Writes a user's file beside the data folder. Gives its path.
    pub fn file(&self, name: &str, text: &str) -> String {
        let path = self.folder.path().join(name);
        std::fs::write(&path, text).expect("it can be written");
        path.to_str().expect("UTF-8").to_owned()
    }

    /// The folder around the data folder.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// The folder of the job.
    pub fn job(&self) -> PathBuf {
        self.program.data().join("jobs/v8")
    }

    /// The job's journal, byte for byte.
    pub fn journal(&self) -> Vec<u8> {
        std::fs::read(self.job().join("journal.ndjson")).unwrap_or_default()
    }

    /// The readings of the job that count, as `job show` prints them.
    #[track_caller]
    pub fn readings(&self) -> Vec<Value> {
        let shown = self.program.json(&["job", "show", "v8"]);
        let all = shown["readings"].as_array().expect("readings").iter();
        let counts = |r: &&Value| r["state"] == "final" || r["state"] == "held";
        all.filter(counts).cloned().collect()
    }

    /// The values of the readings that count at a spot.
    #[track_caller]
    pub fn values_at(&self, spot: &str) -> Vec<f64> {
        let here = self.readings().into_iter().filter(|r| r["spot"] == spot);
        here.map(|r| r["figure"]["value"].as_f64().expect("a number"))
            .collect()
    }
}

/// A file of `examples/`.
pub fn example(name: &str) -> PathBuf {
    root().join("examples").join(name)
}

/// The object of a cylinder in a report.
#[track_caller]
pub fn cylinder(report: &Value, number: u64) -> &Value {
    let all = report["cylinders"].as_array().expect("cylinders");
    all.iter()
        .find(|c| c["cylinder"] == number)
        .expect("the cylinder")
}

/// The findings of a report as `(spot, kind)`.
pub fn findings(report: &Value) -> Vec<(String, String)> {
    let text = |v: &Value| v.as_str().unwrap_or_default().to_owned();
    let all = report["findings"].as_array().into_iter().flatten();
    all.map(|f| (text(&f["spot"]), text(&f["kind"]))).collect()
}
