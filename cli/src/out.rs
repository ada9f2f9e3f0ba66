//! What is printed, and where: answers on standard output, everything else on standard error.
//!
//! The only module that writes to either.

use std::io::{self, Write};

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

    /// Prints text and ends the line.
    ///
    /// # Errors
    /// Where standard output cannot be written.
    pub(crate) fn text(&mut self, text: &str) -> io::Result<()> {
        self.to.write_all(text.trim_end().as_bytes())?;
        self.to.write_all(b"\n")?;
        self.to.flush()
    }

    /// Prints one JSON document over as many lines as it takes.
    ///
    /// # Errors
    /// Where standard output cannot be written.
    pub(crate) fn document<T: Serialize>(&mut self, value: &T) -> io::Result<()> {
        let text = serde_json::to_string_pretty(value).map_err(io::Error::from)?;
        self.text(&text)
    }

    /// Prints one JSON value on one line, as one of many.
    ///
    /// # Errors
    /// Where standard output cannot be written.
    pub(crate) fn json_line<T: Serialize>(&mut self, value: &T) -> io::Result<()> {
        let text = serde_json::to_string(value).map_err(io::Error::from)?;
        self.text(&text)
    }
}

/// Says something on standard error. That this may fail is of no concern: nobody is listening.
pub(crate) fn warn(text: &str) {
    let _ = writeln!(io::stderr(), "{}", text.trim_end());
}
