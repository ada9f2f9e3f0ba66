//! Prints answers on standard output, and everything else on standard error.
//!
//! No other module writes to either.

use std::io::{self, Write};

use benchhand_wire::DOCUMENTS;
use benchhand_words::visible;
use serde::Serialize;

/// Standard output.
pub(crate) struct Out {
    to: Box<dyn Write + Send>,
}

impl std::fmt::Debug for Out {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Out")
    }
}

impl Out {
    /// The process's standard output.
    pub(crate) fn standard() -> Self {
        Out {
            to: Box::new(io::stdout()),
        }
    }

    /// How many lines the terminal on standard output shows at a time; `None` where it is none.
    pub(crate) fn lines_shown() -> Option<usize> {
        #[cfg(unix)]
        {
            let size = rustix::termios::tcgetwinsize(io::stdout()).ok()?;
            (size.ws_row > 0).then_some(usize::from(size.ws_row))
        }
        #[cfg(not(unix))]
        None
    }

    /// Prints text and ends the line.
    ///
    /// # Errors
    /// Standard output cannot be written.
    pub(crate) fn text(&mut self, text: &str) -> io::Result<()> {
        self.to.write_all(visible(text.trim_end()).as_bytes())?;
        self.to.write_all(b"\n")?;
        self.to.flush()
    }

    /// Prints one JSON document on several lines, with the version of documents before its own keys.
    ///
    /// # Errors
    /// Standard output cannot be written.
    pub(crate) fn document<T: Serialize>(&mut self, value: &T) -> io::Result<()> {
        let text = serde_json::to_string_pretty(value).map_err(io::Error::from)?;
        self.text(&versioned(text))
    }

    /// Prints one JSON value on one line.
    ///
    /// # Errors
    /// Standard output cannot be written.
    pub(crate) fn json_line<T: Serialize>(&mut self, value: &T) -> io::Result<()> {
        let text = serde_json::to_string(value).map_err(io::Error::from)?;
        self.text(&text)
    }
}

/// A document with its version. What is no object has no keys, and stays as it is.
fn versioned(document: String) -> String {
    match document.strip_prefix('{') {
        Some("}") => format!("{{\n  \"version\": {DOCUMENTS}\n}}"),
        Some(keys) => format!("{{\n  \"version\": {DOCUMENTS},{keys}"),
        None => document,
    }
}

/// Prints text on standard error. A failure is ignored, because nobody reads it then.
pub(crate) fn warn(text: &str) {
    warn_drawn(&visible(text));
}

/// As [`warn`], for text with colours of our own, in which what came from outside is visible already.
pub(crate) fn warn_drawn(text: &str) {
    let _ = writeln!(io::stderr(), "{}", text.trim_end());
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn an_object_carries_its_version_and_keeps_its_keys() {
        let of = |value: serde_json::Value| {
            let text = serde_json::to_string_pretty(&value).expect("text");
            serde_json::from_str::<serde_json::Value>(&versioned(text)).expect("JSON")
        };
        assert_eq!(of(json!({})), json!({"version": DOCUMENTS}));
        let both = json!({"version": DOCUMENTS, "jobs": [1]});
        assert_eq!(of(json!({"jobs": [1]})), both);
        assert_eq!(of(json!(null)), json!(null));
    }
}
