//! Where a command's words go: findings to the output, problems to the error output. Nothing else in the
//! program writes to either, so a test can listen to both.

use std::io::{self, Write};

use super::Ending;

/// The two ways out.
pub struct Output<'a> {
    out: &'a mut dyn Write,
    err: &'a mut dyn Write,
}

impl<'a> Output<'a> {
    /// Findings go to `out`, problems to `err`.
    pub fn new(out: &'a mut dyn Write, err: &'a mut dyn Write) -> Self {
        Self { out, err }
    }

    /// Text as it is.
    pub(super) fn text(&mut self, text: &str) -> io::Result<()> {
        self.out.write_all(text.as_bytes())
    }

    /// One line.
    pub(super) fn line(&mut self, line: impl std::fmt::Display) -> io::Result<()> {
        writeln!(self.out, "{line}")
    }

    /// One line of JSON.
    pub(super) fn json(&mut self, value: &impl serde::Serialize) -> io::Result<()> {
        serde_json::to_writer(&mut *self.out, value)?;
        self.out.write_all(b"\n")
    }

    /// One sentence about what went wrong.
    pub(super) fn problem(&mut self, sentence: impl std::fmt::Display) {
        // When even the error output is closed there is nobody left to tell; the exit code still speaks.
        writeln!(self.err, "slipsheet: {sentence}").unwrap_or_default();
    }

    /// Does a job, says what went wrong, and gives its ending.
    pub(super) fn finish(&mut self, job: impl FnOnce(&mut Self) -> anyhow::Result<Ending>) -> Ending {
        let done = job(self).and_then(|ending| {
            self.out.flush()?;
            Ok(ending)
        });
        match done {
            Ok(ending) => ending,
            // Whoever reads has enough, as `head` does after some lines.
            Err(e) if is_broken_pipe(&e) => Ending::Fine,
            Err(e) => {
                self.problem(e);
                Ending::Failed
            }
        }
    }
}

fn is_broken_pipe(error: &anyhow::Error) -> bool {
    error.downcast_ref::<io::Error>().is_some_and(|e| e.kind() == io::ErrorKind::BrokenPipe)
}
