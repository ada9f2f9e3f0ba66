//! A job as one file, through the executable: packed while a daemon writes, taken up elsewhere.

use std::sync::atomic::{AtomicBool, Ordering};

use benchhand_tests::shop::Shop;
use serde_json::{Value, json};

fn packed(shop: &Shop, name: &str, more: &[&str]) -> (String, Value) {
    let out = shop.folder().join(name).display().to_string();
    let mut args = vec!["job", "pack", "v8", "--out", &out];
    args.extend(more);
    let told = shop.program.json(&args);
    (out, told)
}

fn report(shop: &Shop, job: &str) -> Value {
    shop.program.json(&["report", job])
}

/// A shop with readings and a recorded stream that is larger than any other request's body.
fn measured() -> Shop {
    let shop = Shop::with_job();
    shop.chambers_are_set_up();
    for (cylinder, value) in (1..=8).zip([64.2, 64.4, 64.1, 64.3, 64.2, 64.6, 64.2, 64.3]) {
        let spot = format!("chamber/{cylinder}");
        let value = format!("{value:.1}");
        shop.program.json(&["enter", "v8", &spot, &value, "cc"]);
    }
    let stream = "{\"at\":0}\n".repeat((17 << 20) / 9);
    let path = shop.job().join("streams/burette-001.ndjson");
    std::fs::write(path, stream).unwrap();
    shop
}

#[test]
fn a_job_is_packed_while_a_daemon_writes_and_reports_the_same_elsewhere() {
    let shop = measured();
    let daemon = shop.program.serve(&[]);
    let done = AtomicBool::new(false);
    let (archives, written) = std::thread::scope(|scope| {
        let writing = scope.spawn(|| {
            let mut count = 0_u64;
            while !done.load(Ordering::Relaxed) {
                count += 1;
                let body = json!({"job": "v8", "name": "air/temperature", "value": format!("{} degC", 20 + count % 5)});
                let key = format!("while it is packed {count}");
                let kept = daemon.api.post("conditions/set", &key, &body);
                kept.expect("it answers").good();
            }
            count
        });
        let archives: Vec<_> = (0..4)
            .map(|n| packed(&shop, &format!("{n}.tar"), &["--without-streams"]))
            .collect();
        done.store(true, Ordering::Relaxed);
        (archives, writing.join().unwrap())
    });
    assert!(written > 0, "something was written meanwhile");
    for (file, told) in &archives {
        let other = Shop::new();
        let taken = other.program.json(&["job", "unpack", file]);
        assert_eq!(taken["summary"]["readings"], 8);
        let verified = other.program.json(&["job", "verify", "v8"]);
        assert_eq!(verified["broken"], Value::Null);
        assert_eq!(verified["head"], told["head"]);
        assert_eq!(verified["torn"], Value::Null, "it ends at a whole line");
    }
    // All of it, the stream too, into a folder where another daemon runs.
    let (file, _) = packed(&shop, "whole.tar", &[]);
    let before = report(&shop, "v8");
    let other = Shop::new();
    let there = other.program.serve(&[]);
    let taken = other.program.json(&["job", "unpack", &file]);
    assert_eq!(taken["without_streams"], false);
    assert_eq!(report(&other, "v8"), before);
    let rows = there.api.get("readings/at?spot=chamber/").good();
    assert_eq!(
        rows["readings"].as_array().unwrap().len(),
        8,
        "the index knows them"
    );
    let stream = "streams/burette-001.ndjson";
    let bytes = |shop: &Shop| std::fs::read(shop.job().join(stream)).unwrap();
    assert!(bytes(&other) == bytes(&shop), "{stream} differs");
    other
        .program
        .json(&["enter", "v8", "deck/1/front", "0.010", "in"]);
    there.stop();
    daemon.stop();
    assert_eq!(
        other.program.json(&["job", "verify", "v8"])["broken"],
        Value::Null
    );
}

#[test]
fn a_copy_stands_beside_the_job_and_says_whose_it_is() {
    let shop = measured();
    let (file, told) = packed(&shop, "v8.tar", &["--without-streams"]);
    assert_eq!(told["streams_left_out"], 1);
    let taken = shop.program.run(&["job", "unpack", &file]);
    assert_eq!(taken.code, 5, "{}", taken.err);
    assert!(taken.err.contains("--as"), "{}", taken.err);
    shop.program.json(&["job", "unpack", &file, "--as", "v8-b"]);
    let shown = shop.program.run(&["job", "show", "v8-b"]).good().out;
    let whose = format!("a copy of v8 as of entry {}", told["seq"]);
    assert!(shown.contains(&whose), "{shown}");
    let (mut of_job, mut of_copy) = (report(&shop, "v8"), report(&shop, "v8-b"));
    for report in [&mut of_job, &mut of_copy] {
        report["job"] = Value::Null;
    }
    assert_eq!(of_job, of_copy);
    for job in ["v8", "v8-b"] {
        let verified = shop.program.json(&["job", "verify", job]);
        assert_eq!(verified["broken"], Value::Null);
    }
}

#[test]
fn a_file_is_not_written_over_and_a_damaged_one_not_taken() {
    let shop = measured();
    let (file, _) = packed(&shop, "v8.tar", &["--without-streams"]);
    let again = shop.program.run(&["job", "pack", "v8", "--out", &file]);
    assert_eq!(again.code, 5, "{}", again.err);
    packed(&shop, "v8.tar", &["--without-streams", "--force"]);

    let mut bytes = std::fs::read(&file).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&file, &bytes).unwrap();
    let other = Shop::new();
    let refused = other.program.run(&["job", "unpack", &file]);
    assert_eq!(refused.code, 12, "{}", refused.err);
    assert!(
        refused.err.contains("the archive is damaged"),
        "{}",
        refused.err
    );
    let jobs = std::fs::read_dir(other.program.data().join("jobs"));
    assert_eq!(jobs.map_or(0, Iterator::count), 0);

    let text = shop.file("notes.txt", "not an archive\n");
    let refused = other.program.run(&["job", "unpack", &text]);
    assert_eq!(refused.code, 3, "{}", refused.err);
    assert!(
        refused.err.contains("no archive of a job"),
        "{}",
        refused.err
    );
}

/// The most memory that a process held so far, bytes.
#[cfg(target_os = "linux")]
fn most_held(pid: u32) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let count = line.and_then(|line| line.split_whitespace().next());
    count.unwrap().parse::<u64>().unwrap() << 10
}

#[cfg(target_os = "linux")]
#[test]
fn a_daemon_holds_no_recorded_stream_when_it_packs_and_unpacks() {
    const STREAM: u64 = 192 << 20;
    let shop = measured();
    let stream = shop.job().join("streams/burette-001.ndjson");
    let file = std::fs::File::options().append(true).open(stream).unwrap();
    file.set_len(STREAM).unwrap();
    let daemon = shop.program.serve(&[]);
    // What a daemon takes for its index and its first answers is no part of a stream.
    shop.program.json(&["job", "list"]);
    shop.program.json(&["report", "v8"]);
    let before = most_held(daemon.pid());
    let (archive, told) = packed(&shop, "v8.tar", &[]);
    assert!(told["bytes"].as_u64().unwrap() > STREAM);
    shop.program
        .json(&["job", "unpack", &archive, "--as", "v8-b"]);
    let more = most_held(daemon.pid()) - before;
    assert!(more < STREAM / 4, "{more} bytes more");
    daemon.stop();
}

/// Whoever waits for a long work sees how far it is.
#[cfg(unix)]
#[test]
fn how_far_a_pack_is_is_told_as_long_as_it_is_under_way() {
    use std::io::Read as _;
    let shop = Shop::with_job();
    let streams = shop.job().join("streams");
    std::fs::create_dir_all(&streams).expect("a folder");
    let stream = vec![b' '; 3 << 20];
    std::fs::write(streams.join("burette-1-001.ndjson"), &stream).expect("written");
    // A file that takes no more than it is emptied of, so that the work stands still meanwhile.
    let slow = shop.folder().join("slow");
    let made = std::process::Command::new("mkfifo").arg(&slow).status();
    assert!(made.expect("mkfifo").success());
    let daemon = shop.program.serve(&[]);
    let how_far = || {
        let answer = daemon.api.get("work/how-far?work=pack-of-the-test");
        answer.good()["under_way"].clone()
    };
    assert!(how_far().is_null(), "nothing is under way yet");
    let pack = json!({
        "job": "v8",
        "path": slow.to_str().expect("plain"),
        "work": "pack-of-the-test",
    });
    std::thread::scope(|scope| {
        let packing = scope.spawn(|| daemon.api.post("jobs/pack", "key-of-the-pack", &pack));
        let mut file = std::fs::File::open(&slow).expect("opened");
        let told_when = |wanted: &dyn Fn(&Value) -> bool| loop {
            let told = how_far();
            if wanted(&told) {
                return told;
            }
            std::thread::yield_now();
        };
        told_when(&|told| told["doing"] == "writing the file");
        // As much as lets one piece of the work be done, and not the next.
        let mut all = vec![0; 3 << 19];
        file.read_exact(&mut all).expect("read");
        let told = told_when(&|told| told["done"] != 0);
        let (done, total) = (told["done"].as_u64(), told["total"].as_u64());
        let (done, total) = (done.expect("a number"), total.expect("a number"));
        assert!(total > 3 << 20, "{told}");
        assert!(done < total, "it stands still: {told}");
        file.read_to_end(&mut all).expect("read");
        assert_eq!(
            all.len() as u64,
            total,
            "what was told is what the file has"
        );
        packing.join().expect("no panic").expect("an answer");
    });
    assert!(how_far().is_null(), "it has ended");
}
