//! A sheet as PDF, printed by a browser of this machine without a window.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use benchhand_wire::{Reason, Refusal};

use crate::args::Paper;
use crate::written;

/// The browser to use instead of those that are looked for.
const BROWSER: &str = "BENCHHAND_BROWSER";
/// The browsers that are looked for, in this order.
const BROWSERS: [&str; 2] = ["chromium", "chromium-browser"];

/// A browser that prints to PDF.
///
/// # Errors
/// None is there.
pub(super) fn browser() -> Result<PathBuf, Refusal> {
    if let Some(named) = std::env::var_os(BROWSER).filter(|named| !named.is_empty()) {
        return Ok(PathBuf::from(named));
    }
    let folders = std::env::var_os("PATH").unwrap_or_default();
    let all = || {
        BROWSERS
            .iter()
            .flat_map(|name| std::env::split_paths(&folders).map(move |folder| folder.join(name)))
    };
    all().find(|file| file.is_file()).ok_or_else(|| {
        Refusal::new(
            Reason::NotFound,
            "no browser that prints to PDF is on this machine; nothing was written",
        )
        .expected(format!("{} in a folder of PATH", BROWSERS.join(" or ")))
        .todo(format!(
            "write the sheet with --out FILE.html and print it from any browser, or name one in {BROWSER}"
        ))
    })
}

/// Prints HTML to a PDF file.
///
/// # Errors
/// The browser does not print it, or the disk refuses. Then nothing has changed.
pub(super) fn print(
    browser: &Path,
    html: &str,
    path: &Path,
    paper: Paper,
    force: bool,
) -> Result<(), Refusal> {
    let part = written::beside(path)?;
    let page = part.with_extension("html");
    let kept = part.with_extension("profile");
    // The printer's paper is not asked for on the page; here it stands in for the printer.
    let size = match paper {
        Paper::A4 => "A4",
        Paper::Letter => "letter",
    };
    let sized = html.replacen(
        "</style>",
        &format!("@page {{ size: {size}; }}\n</style>"),
        1,
    );
    let printed = std::fs::write(&page, sized)
        .map_err(|error| written::refused(path, &error))
        .and_then(|()| run(browser, &page, &part, &kept))
        .and_then(|()| {
            written::free(path, force)?;
            written::named(&part, path, force).map_err(|error| written::refused(path, &error))
        });
    // What is left over is of no use; that it cannot be removed changes nothing.
    let _ = std::fs::remove_file(&page);
    let _ = std::fs::remove_file(&part);
    let _ = std::fs::remove_dir_all(&kept);
    printed
}

fn run(browser: &Path, page: &Path, part: &Path, kept: &Path) -> Result<(), Refusal> {
    let refused = |why: String| {
        Refusal::new(
            Reason::Unavailable,
            format!("{} did not print the sheet: {why}", browser.display()),
        )
        .todo("write the sheet with --out FILE.html and print it from any browser")
    };
    let page = page
        .canonicalize()
        .map_err(|error| refused(error.to_string()))?;
    let option = |name: &str, path: &Path| {
        let mut option = std::ffi::OsString::from(name);
        option.push(path);
        option
    };
    let mut command = Command::new(browser);
    command
        .args(["--headless", "--disable-gpu", "--no-first-run"])
        .args(["--disable-background-networking", "--no-pdf-header-footer"])
        .arg(option("--user-data-dir=", kept))
        .arg(option("--print-to-pdf=", part))
        .arg(option("file://", &page))
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::piped());
    // A browser keeps its pages apart by means that the system's own user has not.
    #[cfg(unix)]
    if rustix::process::geteuid().is_root() {
        command.arg("--no-sandbox");
    }
    let output = command
        .output()
        .map_err(|error| refused(error.to_string()))?;
    let told = String::from_utf8_lossy(&output.stderr);
    match output.status.success() && part.is_file() {
        true => Ok(()),
        false => Err(refused(
            told.lines().last().unwrap_or("it said nothing").to_owned(),
        )),
    }
}
