//! The whole folder as one file, from outside: beside a daemon that works, and over nothing.

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

struct Shop {
    folder: tempfile::TempDir,
}

impl Shop {
    /// A shop with one measured job and a gauge.
    fn new() -> Shop {
        let shop = Shop {
            folder: tempfile::tempdir().expect("a folder"),
        };
        let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
        let engine = examples.join("invented-v8.toml").display().to_string();
        let readings = examples
            .join("invented-v8-readings.csv")
            .display()
            .to_string();
        shop.said(&["job", "new", "v8", &engine]);
        shop.said(&["import", "v8", &readings, "--sure"]);
        shop.said(&[
            "gauge",
            "set",
            "dial",
            "--profile",
            "bcd13-length",
            "--port",
            "/dev/no-dial",
        ]);
        std::fs::write(
            shop.data().join("shop.toml"),
            "name = \"An invented shop\"\n",
        )
        .expect("written");
        shop
    }

    fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    fn at(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }

    fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(assert_cmd::cargo::cargo_bin("benchhand"));
        command
            .env("BENCHHAND_DATA", self.data())
            .env_remove("BENCHHAND_LOG")
            .env("NO_COLOR", "1")
            .stdin(Stdio::null())
            .args(words);
        command
    }

    fn run(&self, words: &[&str]) -> Output {
        self.command(words).output().expect("it starts")
    }

    #[track_caller]
    fn said(&self, words: &[&str]) -> String {
        let out = self.run(words);
        let wrong = String::from_utf8_lossy(&out.stderr).into_owned();
        assert!(out.status.success(), "{words:?}: {wrong}");
        String::from_utf8(out.stdout).expect("text")
    }

    #[track_caller]
    fn refused(&self, words: &[&str], why: &str) -> Option<i32> {
        let out = self.run(words);
        let said = String::from_utf8_lossy(&out.stderr).into_owned();
        assert!(
            !out.status.success() && said.contains(why),
            "{words:?}: {said}"
        );
        out.status.code()
    }
}

#[test]
fn the_restored_folder_gives_the_same_reports_byte_for_byte() {
    let shop = Shop::new();
    let (file, new) = (shop.at("shop.backup"), shop.at("restored"));
    let told = shop.said(&["backup", "--out", &file]);
    assert!(told.contains("1 job"), "{told}");
    let told = shop.said(&["restore", &file, "--data", &new]);
    assert!(told.contains("1 job"), "{told}");
    for words in [
        &["report", "v8"][..],
        &["report", "v8", "--full"],
        &["report", "v8", "--json"],
        &["job", "show", "v8", "--json"],
        &["job", "verify", "v8"],
        &["gauge", "list", "--json"],
    ] {
        let here = shop
            .said(words)
            .replace(&shop.data().display().to_string(), "DATA");
        let mut there = words.to_vec();
        there.extend(["--data", &new]);
        assert_eq!(shop.said(&there).replace(&new, "DATA"), here, "{words:?}");
    }
    let shop_file = std::fs::read_to_string(Path::new(&new).join("shop.toml")).expect("there");
    assert!(shop_file.contains("An invented shop"));
    for gone in ["lock", "daemon.json", "index"] {
        // The commands above made a lock of their own at most.
        assert!(
            gone == "lock" || !Path::new(&new).join(gone).exists(),
            "{gone}"
        );
    }
}

#[test]
fn nothing_is_written_over_and_a_file_that_was_cut_is_refused() {
    let shop = Shop::new();
    let file = shop.at("shop.backup");
    shop.said(&["backup", "--out", &file]);
    assert_eq!(
        shop.refused(&["backup", "--out", &file], "there already"),
        Some(5)
    );
    shop.said(&["backup", "--out", &file, "--force"]);
    // The folder that it was written from is not empty.
    assert_eq!(
        shop.refused(&["restore", &file], "holds something already"),
        Some(5)
    );
    let bytes = std::fs::read(&file).expect("a file");
    let (cut, new) = (shop.at("cut.backup"), shop.at("new"));
    std::fs::write(&cut, &bytes[..bytes.len() - 2000]).expect("written");
    assert_eq!(
        shop.refused(&["restore", &cut, "--data", &new], "damaged"),
        Some(12)
    );
    let text = shop.at("text.backup");
    std::fs::write(&text, "no backup").expect("written");
    shop.refused(&["restore", &text, "--data", &new], "no archive");
    shop.refused(
        &["restore", &shop.at("absent"), "--data", &new],
        "cannot be read",
    );
    assert!(!Path::new(&new).exists());
    // An empty folder holds the name.
    std::fs::create_dir(&new).expect("made");
    shop.said(&["restore", &file, "--data", &new]);
    let left: Vec<_> = std::fs::read_dir(shop.folder.path())
        .expect("a folder")
        .collect();
    let parts = left
        .iter()
        .flatten()
        .filter(|one| one.file_name().to_string_lossy().starts_with('.'));
    assert_eq!(parts.count(), 0);
}

#[test]
fn a_daemon_works_on_while_a_backup_is_written() {
    let shop = Shop::new();
    let mut serve = shop.command(&["serve", "--json"]);
    let mut serve = serve
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("it starts");
    let mut lines = BufReader::new(serve.stdout.take().expect("piped")).lines();
    lines.next().expect("it answers").expect("a line");
    let mut counts = Vec::new();
    for round in 0..3 {
        let spot = format!("crown/{}", round + 1);
        let mut entering = shop.command(&["enter", "v8", &spot, "--sure", "--", "-3.2 cc"]);
        let mut entering = entering.stdout(Stdio::null()).spawn().expect("it starts");
        let (file, new) = (
            shop.at(&format!("{round}.backup")),
            shop.at(&format!("{round}")),
        );
        shop.said(&["backup", "--out", &file]);
        assert!(entering.wait().expect("it ends").success());
        shop.said(&["restore", &file, "--data", &new]);
        shop.said(&["job", "verify", "v8", "--data", &new]);
        let shown = shop.said(&["job", "show", "v8", "--json", "--data", &new]);
        counts.push(shown.matches("\"spot\"").count());
    }
    shop.said(&["stop"]);
    serve.wait().expect("it ends");
    let now = shop
        .said(&["job", "show", "v8", "--json"])
        .matches("\"spot\"")
        .count();
    assert!(
        counts.is_sorted() && counts[2] + 1 >= now,
        "{counts:?} of {now}"
    );
}

/// Whoever pulls the plug finds nothing under the name, and the next one begins anew.
#[cfg(unix)]
#[test]
fn a_restoration_that_was_killed_leaves_nothing_under_the_name() {
    let shop = Shop::new();
    let streams = shop.data().join("jobs/v8/streams");
    std::fs::create_dir_all(&streams).expect("made");
    std::fs::write(streams.join("dial-001.ndjson"), vec![b'x'; 100 << 20]).expect("written");
    let (file, new) = (shop.at("shop.backup"), shop.at("restored"));
    shop.said(&["backup", "--out", &file]);
    let part = shop.folder.path().join(".restored.restoring");
    let mut restoring = shop.command(&["restore", &file, "--data", &new]);
    let mut restoring = restoring
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("it starts");
    while !part.exists() {
        assert!(
            restoring.try_wait().expect("asked").is_none(),
            "it was too fast"
        );
        std::thread::yield_now();
    }
    restoring.kill().expect("killed");
    restoring.wait().expect("it ends");
    assert!(!Path::new(&new).exists());
    shop.said(&["restore", &file, "--data", &new]);
    assert!(!part.exists());
    shop.said(&["job", "verify", "v8", "--data", &new]);
}
