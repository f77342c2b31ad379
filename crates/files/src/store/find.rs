//! Finding a scan that was moved, by its size and then by its contents.

use std::collections::VecDeque;
use std::fs;
use std::path::{Path, PathBuf};

use slipsheet_document::layer::ScanRef;

use crate::scan::{Progress, fingerprint};

/// Folders below the chosen one that are looked into.
const DEPTH: usize = 4;
/// Entries that are looked at before the search gives up.
const ENTRIES: usize = 50_000;

/// Looks for a scan's contents in a folder and up to four folders below.
///
/// A file of the scan's old name is
/// tried first. What cannot be read is passed over, links to folders are not followed, and `None` comes
/// back when nothing fits, the search grew past 50 000 entries, or it was cancelled.
pub fn find_moved(scan: &ScanRef, folder: &Path, progress: &Progress) -> Option<PathBuf> {
    let mut fits = of_size(scan.size, folder, progress);
    let old_name = scan.file_name();
    let renamed = |p: &PathBuf| p.file_name().and_then(|n| n.to_str()) != Some(old_name);
    fits.sort_by_key(|p| (renamed(p), p.components().count(), p.clone()));
    let count = fits.len().max(1);
    fits.into_iter().enumerate().find_map(|(i, path)| {
        if progress.is_cancelled() {
            return None;
        }
        progress.set_fraction(i as f32 / count as f32);
        // An unreadable file is not the one; the search goes on.
        let print = fingerprint(&path).ok()?;
        (print.sha256 == scan.key.sha256).then_some(path)
    })
}

/// Every file of this size, in no particular order.
fn of_size(size: u64, folder: &Path, progress: &Progress) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut seen = 0;
    let mut open = VecDeque::from([(folder.to_path_buf(), 0)]);
    while let Some((folder, depth)) = open.pop_front() {
        let Ok(entries) = fs::read_dir(&folder) else { continue };
        for entry in entries.flatten() {
            seen += 1;
            if seen > ENTRIES || progress.is_cancelled() {
                return found;
            }
            let Ok(kind) = entry.file_type() else { continue };
            let path = entry.path();
            if kind.is_dir() {
                if depth < DEPTH {
                    open.push_back((path, depth + 1));
                }
            } else if fs::metadata(&path).is_ok_and(|m| m.is_file() && m.len() == size) {
                found.push(path);
            }
        }
    }
    found
}
