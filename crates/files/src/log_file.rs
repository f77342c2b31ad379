//! The log: what failed without stopping anything, in a small file of the person's folder.

use std::fmt::Display;
use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::{SystemTime, UNIX_EPOCH};

use log::{LevelFilter, Log, Metadata, Record};
use slipsheet_core::words::is_obeyed;

/// The log begins anew when it has grown to this.
const MOST_BYTES: u64 = 1 << 20;

/// Writes what is logged from here on into this file, which is made when there is something to write.
pub fn log_to(path: PathBuf) {
    // The first to ask decides; a program has one log.
    if log::set_boxed_logger(Box::new(LogFile { path, last: Mutex::default() })).is_ok() {
        log::set_max_level(LevelFilter::Warn);
    }
}

/// What came of something that can be done without; the log says why it was.
pub fn logged<T, E: Display>(what: &str, made: Result<T, E>) -> Option<T> {
    made.map_err(|e| log::warn!("went on without {what}: {e}")).ok()
}

struct LogFile {
    path: PathBuf,
    /// What was written last: the same again, as of a picture that is asked for again and again, is left out.
    last: Mutex<String>,
}

impl Log for LogFile {
    fn enabled(&self, about: &Metadata<'_>) -> bool {
        about.level() <= LevelFilter::Warn
    }

    fn log(&self, record: &Record<'_>) {
        if !self.enabled(record.metadata()) {
            return;
        }
        let text = format!("{} {}: {}", record.level(), record.target(), record.args());
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        if *last == text {
            return;
        }
        // Where the log cannot be written there is nobody left to tell.
        append(&self.path, &text, SystemTime::now()).unwrap_or_default();
        *last = text;
    }

    fn flush(&self) {}
}

/// Adds a line to the file, in a file that is begun anew where it has grown too large.
fn append(path: &Path, text: &str, at: SystemTime) -> io::Result<()> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    let mut file = File::options().create(true).append(true).open(path)?;
    if file.metadata()?.len() > MOST_BYTES {
        file.set_len(0)?;
    }
    let text: String = text.chars().map(|c| if is_obeyed(c) { ' ' } else { c }).collect();
    file.write_all(format!("{} {text}\n", utc(at)).as_bytes())
}

/// A moment as ISO 8601 has it, to the second.
fn utc(at: SystemTime) -> String {
    let seconds = at.duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
    let (days, rest) = (seconds / 86_400, seconds % 86_400);
    // Years of 1 March to the end of February, in eras of 400 years, so that the leap day comes last.
    let days = days + 719_468;
    let (era, day) = (days / 146_097, days % 146_097);
    let year = (day - day / 1460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let march = (5 * day + 2) / 153;
    let month = if march < 10 { march + 3 } else { march - 9 };
    let year = era * 400 + year + u64::from(month <= 2);
    let day = day - (153 * march + 2) / 5 + 1;
    format!("{year:04}-{month:02}-{day:02}T{:02}:{:02}:{:02}Z", rest / 3600, rest / 60 % 60, rest % 60)
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use log::Level;

    use super::*;

    fn say(log: &LogFile, level: Level, text: &str) {
        log.log(&Record::builder().level(level).target("slipsheet").args(format_args!("{text}")).build());
    }

    #[test]
    fn what_fails_is_a_line_each_said_once_and_notes_are_left_out() {
        let dir = tempfile::tempdir().unwrap();
        let log = LogFile { path: dir.path().join("new/slipsheet.log"), last: Mutex::default() };
        say(&log, Level::Info, "nothing to say");
        assert!(!log.path.exists());
        for text in ["no preview:\n\u{1b}[2Jgone", "no preview:\n\u{1b}[2Jgone", "no thread"] {
            say(&log, Level::Warn, text);
        }
        let text = fs::read_to_string(&log.path).unwrap();
        let lines: Vec<&str> = text.lines().map(|l| l.split_once(' ').unwrap().1).collect();
        assert_eq!(lines, ["WARN slipsheet: no preview:  [2Jgone", "WARN slipsheet: no thread"]);
    }

    #[test]
    fn a_log_that_has_grown_too_large_begins_anew() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("slipsheet.log");
        fs::write(&path, vec![b'a'; MOST_BYTES as usize]).unwrap();
        append(&path, "still fits", UNIX_EPOCH).unwrap();
        assert!(fs::metadata(&path).unwrap().len() > MOST_BYTES);
        append(&path, "anew", UNIX_EPOCH).unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "1970-01-01T00:00:00Z anew\n");
    }

    #[test]
    fn moments_are_dates() {
        let dates = [
            (951_782_399, "2000-02-28T23:59:59Z"),
            (951_782_400, "2000-02-29T00:00:00Z"),
            (951_868_800, "2000-03-01T00:00:00Z"),
            (1_704_067_199, "2023-12-31T23:59:59Z"),
            (4_107_542_400, "2100-03-01T00:00:00Z"),
        ];
        for (seconds, date) in dates {
            assert_eq!(utc(UNIX_EPOCH + Duration::from_secs(seconds)), date);
        }
    }
}
