//! Where a command's words go: findings to the output, problems to the error output. Nothing else in the
//! program writes to either, so a test can listen to both.
//!
//! Names come from files, and a name may hold what a terminal obeys: it moves the cursor, changes colours, hides
//! or turns around what follows. Such characters are shown and not obeyed.

use std::io::{self, Write};

use slipsheet_core::words::is_obeyed;

use super::Ending;

/// The most characters of a problem that are shown of its beginning and of its end.
const SHOWN: usize = 1500;

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
        writeln!(self.out, "{}", shown(&line.to_string()))
    }

    /// One line of JSON, in which what a terminal would obey is written by its number.
    pub(super) fn json(&mut self, value: &impl serde::Serialize) -> io::Result<()> {
        let mut text = String::new();
        for c in serde_json::to_string(value)?.chars() {
            // Such a character stands in a string only, and JSON's own writer leaves those past 31 as they are.
            if is_obeyed(c) {
                text.push_str(&format!("\\u{:04x}", u32::from(c)));
            } else {
                text.push(c);
            }
        }
        text.push('\n');
        self.out.write_all(text.as_bytes())
    }

    /// One sentence about what went wrong.
    pub(super) fn problem(&mut self, sentence: impl std::fmt::Display) {
        // When even the error output is closed there is nobody left to tell; the exit code still speaks.
        writeln!(self.err, "slipsheet: {}", shortened(&shown(&sentence.to_string()))).unwrap_or_default();
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

/// Text of one line with a sign in place of each character that would be obeyed.
fn shown(text: &str) -> String {
    let sign = |c: char| match c {
        // The block of control pictures has one for each.
        '\0'..='\x1f' => char::from_u32(0x2400 + u32::from(c)).unwrap_or(char::REPLACEMENT_CHARACTER),
        '\x7f' => '\u{2421}',
        c if is_obeyed(c) => char::REPLACEMENT_CHARACTER,
        c => c,
    };
    text.chars().map(sign).collect()
}

/// A sentence without the middle, where a name in it goes on and on.
fn shortened(sentence: &str) -> String {
    let count = sentence.chars().count();
    if count <= 2 * SHOWN {
        return sentence.to_owned();
    }
    let end = sentence.chars().skip(count - SHOWN);
    sentence.chars().take(SHOWN).chain(" … ".chars()).chain(end).collect()
}

fn is_broken_pipe(error: &anyhow::Error) -> bool {
    error.downcast_ref::<io::Error>().is_some_and(|e| e.kind() == io::ErrorKind::BrokenPipe)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_a_terminal_obeys_leaves_the_program() {
        let name: String = ('\0'..='\u{2fff}').collect();
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut output = Output::new(&mut out, &mut err);
        output.line(&name).unwrap();
        output.json(&[&name]).unwrap();
        output.problem(&name);
        let back: [String; 1] = serde_json::from_slice(out.split(|b| *b == b'\n').nth(1).unwrap()).unwrap();
        assert_eq!(back[0], name, "a script reads the name as it is");
        for message in [out, err] {
            let text = String::from_utf8(message).unwrap();
            assert!(text.chars().all(|c| c == '\n' || !is_obeyed(c)));
            assert!(text.lines().count() <= 2, "a name makes no line of its own");
        }
        assert_eq!(shown("a\u{1b}[31mb\u{202e}c"), "a␛[31mb\u{fffd}c");
    }

    #[test]
    fn a_name_of_a_megabyte_does_not_bury_the_sentence() {
        let sentence = format!("there is no ink {}; choose another", "x".repeat(1 << 20));
        let short = shortened(&sentence);
        assert!(short.starts_with("there is no ink") && short.ends_with("; choose another"));
        assert!(short.chars().count() < 3100);
        assert_eq!(shortened("short"), "short");
    }
}
