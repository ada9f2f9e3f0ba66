//! The power goes while readings are entered: on an ext4 of its own, which stops at a seeded moment
//! without writing anything more.
//!
//! The file system lies in a file, mounted by a loop device. It is stopped by the ioctl by which ext4
//! is shut down without flushing its log: what was not synced is gone, as after a power cut. Then it
//! is mounted again, its own journal is played back, and the daemon is started anew. That a disk
//! keeps what it said it had synced is taken for granted.
//!
//! A power cut is one moment; this stop takes one to two milliseconds. A sync that is under way
//! then may answer "done" although nothing of it was written: a bare loop of `write` and
//! `fdatasync`, without any of this program, lost its last block in 36 of 300 such stops on Linux
//! 6.18, always one that was answered after the stop was over. So an answer that comes after the
//! stop began counts as not heard: after a power cut nobody would have heard it. It is asked for
//! again, and must be there once.
//!
//! This needs the administrator and a loop device. Where `BENCHHAND_POWER_CUTS` says how many cuts
//! there are to be, the test fails without them; otherwise it makes five, or says that it did not
//! run.

#![cfg(target_os = "linux")]

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use benchhand_tests::notebook::Notebook;
use benchhand_tests::program::Program;
use benchhand_tests::shop::example;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const SEED: u64 = 20261130;

/// How many cuts were asked for, if any were.
fn asked() -> Option<usize> {
    std::env::var("BENCHHAND_POWER_CUTS").ok()?.parse().ok()
}

/// Runs a program of the system and gives what it printed.
fn run(program: &str, args: &[&str]) -> Result<String, String> {
    let ran = Command::new(program).args(args).output();
    let ran = ran.map_err(|error| format!("{program}: {error}"))?;
    match ran.status.success() {
        true => Ok(String::from_utf8_lossy(&ran.stdout).into_owned()),
        false => Err(format!(
            "{program} {args:?}: {}",
            String::from_utf8_lossy(&ran.stderr)
        )),
    }
}

/// An ext4 in a file.
struct Disk {
    _folder: tempfile::TempDir,
    image: PathBuf,
    at: PathBuf,
}

impl Disk {
    fn new() -> Result<Disk, String> {
        let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
        let (image, at) = (folder.path().join("disk"), folder.path().join("mounted"));
        std::fs::create_dir(&at).map_err(|error| error.to_string())?;
        let file = std::fs::File::create(&image).map_err(|error| error.to_string())?;
        file.set_len(96 << 20).map_err(|error| error.to_string())?;
        run("mkfs.ext4", &["-q", text(&image)])?;
        let disk = Disk {
            _folder: folder,
            image,
            at,
        };
        disk.mount()?;
        Ok(disk)
    }

    fn mount(&self) -> Result<(), String> {
        run("mount", &["-o", "loop", text(&self.image), text(&self.at)]).map(drop)
    }

    /// The power goes: the file system writes nothing more, not even its log. Gives the moment at
    /// which the stop began.
    fn cut(&self) -> Result<SystemTime, String> {
        // EXT4_IOC_SHUTDOWN, _IOR('X', 125, __u32), with EXT4_GOING_FLAGS_NOLOGFLUSH (linux/ext4.h).
        let cut = "import fcntl, os, struct, sys, time
disk = os.open(sys.argv[1], os.O_RDONLY)
began = time.time_ns()
fcntl.ioctl(disk, 0x8004587D, struct.pack('I', 2))
print(began)";
        let began = run("python3", &["-c", cut, text(&self.at)])?;
        let began = began
            .trim()
            .parse()
            .map_err(|_| format!("not a moment: {began}"))?;
        Ok(UNIX_EPOCH + Duration::from_nanos(began))
    }

    /// The power is back.
    fn back(&self) -> Result<(), String> {
        run("umount", &[text(&self.at)])?;
        self.mount()
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        let _ = run("umount", &["-l", text(&self.at)]);
    }
}

fn text(path: &Path) -> &str {
    path.to_str().expect("UTF-8")
}

#[test]
fn what_was_acknowledged_is_there_once_after_the_power_went() {
    let cuts = asked();
    let disk = match (Disk::new(), cuts) {
        (Ok(disk), _) => disk,
        (Err(why), Some(_)) => panic!("{why}"),
        (Err(why), None) => {
            // Elsewhere than in CI a machine without a loop device is no failure.
            let _ = writeln!(std::io::stderr(), "did not run: {why}");
            return;
        }
    };
    let program = Program::at(&disk.at.join("data"));
    let engine = example("invented-v8.toml");
    program.json(&["job", "new", "v8", text(&engine)]);
    let mut dice = ChaCha8Rng::seed_from_u64(SEED);
    let mut notebook = Notebook::default();
    for cut in 0..cuts.unwrap_or(5) {
        let when = format!("seed {SEED}, cut {cut}");
        let daemon = program.serve(&[]);
        notebook.ask_again(&daemon.api);
        notebook.hold_against(&daemon, &when);
        let (readings, moment) = (dice.random_range(0..12), dice.random_range(0..4000));
        let (api, count) = (daemon.api.clone(), AtomicUsize::new(0));
        let gone = std::thread::scope(|scope| {
            let writer = scope.spawn(|| notebook.write(&api, &count));
            while count.load(Ordering::Acquire) < readings && !writer.is_finished() {
                std::thread::yield_now();
            }
            // Not to wait for anything: this is the random moment.
            std::thread::sleep(Duration::from_micros(moment));
            disk.cut().expect("the file system is cut off")
        });
        notebook.heard_nothing_since(gone);
        daemon.kill();
        disk.back().expect("it is mounted again");
    }
    let daemon = program.serve(&[]);
    notebook.ask_again(&daemon.api);
    notebook.hold_against(&daemon, &format!("seed {SEED}, after all cuts"));
    assert!(!notebook.acknowledged.is_empty());
    daemon.kill();
}
