//! Checks refusals: the exit code, the words, and that nothing changed.

use std::collections::BTreeMap;
use std::path::Path;

use crate::program::FinishedRun;
use crate::shop::Shop;
use crate::tree::files;

/// The exit code for input that cannot be used (`docs/commands.md`).
pub const CANNOT_BE_USED: i32 = 3;
/// The exit code for a missing job, gauge, reading, route, spot or file.
pub const NOT_THERE: i32 = 4;
/// The exit code for input that clashes with what is there.
pub const CLASHES: i32 = 5;

/// Every file below a data folder that must outlive a refusal, with its bytes.
fn everything(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let all = files(folder, "");
    let read = |path: &std::path::PathBuf| std::fs::read(path).expect("it can be read");
    // The index can be rebuilt from the journals, and a running daemon writes its files when its
    // store likes to. The file that names the lock's holder is for people and is not a record.
    let index = folder.join("index");
    let kept = all
        .iter()
        .filter(|p| !p.starts_with(&index) && !p.ends_with("lock-holder.json"));
    kept.map(|p| (p.display().to_string(), read(p))).collect()
}

/// Runs a command that must be refused with this code and these words, and that must change
/// nothing.
#[track_caller]
pub fn refused(shop: &Shop, args: &[&str], code: i32, words: &[&str]) -> FinishedRun {
    let before = everything(shop.program.data());
    let ran = shop.program.run(args);
    assert_eq!(ran.code, code, "{args:?}: {}{}", ran.out, ran.err);
    assert!(ran.err.starts_with("error: "), "{args:?}: {}", ran.err);
    assert_eq!(ran.out, "", "{args:?}: a refusal is no answer");
    for word in words {
        assert!(
            ran.err.contains(word),
            "{word:?} is not said of {args:?}:\n{}",
            ran.err
        );
    }
    let after = everything(shop.program.data());
    assert_eq!(
        before.keys().collect::<Vec<_>>(),
        after.keys().collect::<Vec<_>>(),
        "{args:?} left something behind"
    );
    for (file, bytes) in &before {
        assert!(after[file] == *bytes, "{args:?} changed {file}");
    }
    ran
}
