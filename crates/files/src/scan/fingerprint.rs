//! Telling whether a scan is still the file it was.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::Path;

use serde::{Deserialize, Deserializer, Serialize};
use sha2::{Digest as _, Sha256};

/// The length and the SHA-256 digest (FIPS 180-4) of a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fingerprint {
    /// Length in bytes.
    pub size: u64,
    /// The digest as 64 lower-case hexadecimal digits; reading a project refuses anything else.
    #[serde(deserialize_with = "hex_digest")]
    pub sha256: String,
}

/// Reads the file once and takes its fingerprint.
///
/// # Errors
/// When the file cannot be opened or read, or is none: a device has no end.
pub fn fingerprint(path: &Path) -> io::Result<Fingerprint> {
    if !std::fs::metadata(path)?.is_file() {
        return Err(io::Error::new(io::ErrorKind::IsADirectory, "not a file"));
    }
    let mut file = File::open(path)?;
    let mut hash = Sha256::new();
    let mut size = 0_u64;
    let mut block = vec![0; 1 << 18];
    loop {
        let got = match file.read(&mut block) {
            Ok(0) => break,
            Ok(got) => got,
            Err(e) if e.kind() == io::ErrorKind::Interrupted => continue,
            Err(e) => return Err(e),
        };
        hash.update(block.get(..got).unwrap_or_default());
        size += got as u64;
    }
    Ok(Fingerprint { size, sha256: digits(&hash.finalize()) })
}

pub fn fingerprint_bytes(bytes: &[u8]) -> Fingerprint {
    Fingerprint { size: bytes.len() as u64, sha256: digits(&Sha256::digest(bytes)) }
}

fn digits(digest: &[u8]) -> String {
    let digit = |nibble: u8| char::from_digit(u32::from(nibble), 16).unwrap_or('0');
    digest.iter().flat_map(|byte| [digit(byte >> 4), digit(byte & 15)]).collect()
}

fn hex_digest<'de, D: Deserializer<'de>>(deserializer: D) -> Result<String, D::Error> {
    let text = String::deserialize(deserializer)?;
    if text.len() == 64 && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')) {
        Ok(text)
    } else {
        Err(serde::de::Error::custom(format!(
            "sha256 must be 64 lower-case hexadecimal digits, not {text:?}"
        )))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The digest of "abc", FIPS 180-4's own example.
    const ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

    #[test]
    fn the_standards_own_example_gives_its_digest() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("abc");
        std::fs::write(&path, b"abc").unwrap();
        let print = fingerprint(&path).unwrap();
        assert_eq!(print, Fingerprint { size: 3, sha256: ABC.to_owned() });
        assert_eq!(fingerprint_bytes(b"abc"), print);
        assert!(fingerprint(&dir.path().join("missing")).is_err());
        assert!(fingerprint(Path::new("/dev/zero")).is_err());
    }

    #[test]
    fn a_fingerprint_survives_a_project_file_and_a_bad_one_is_refused() {
        let print = Fingerprint { size: 3, sha256: ABC.to_owned() };
        let text = ron::to_string(&print).unwrap();
        assert_eq!(ron::from_str::<Fingerprint>(&text).unwrap(), print);
        for bad in [text.replace("ba78", "BA78"), text.replace("ba78", "ba7"), text.replace("ba78", "ga78")] {
            assert!(ron::from_str::<Fingerprint>(&bad).unwrap_err().to_string().contains("sha256"), "{bad}");
        }
        assert!(ron::from_str::<Fingerprint>(&text.replace("size:3", "size:3,x:1")).is_err());
    }
}
