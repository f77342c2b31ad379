//! The house: inside a crate no module leads back to itself through others, as the `use` lines tell.
//!
//! Between crates Cargo refuses a ring; inside one nothing else does. The crate's root is left out: what it offers
//! belongs to all of its modules.

#![allow(clippy::unwrap_used, reason = "a source that cannot be read fails the test")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

type Modules = BTreeMap<String, BTreeSet<String>>;

/// Rust files below a folder.
fn sources(folder: &Path) -> Vec<std::path::PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path());
    entries
        .flat_map(|path| if path.is_dir() { sources(&path) } else { vec![path] })
        .filter(|path| path.extension().is_some_and(|e| e == "rs"))
        .collect()
}

/// The code of a file without its comments and its tests.
fn code(text: &str) -> String {
    let tests = text.find("#[cfg(test)]\nmod tests {").unwrap_or(text.len());
    text[..tests].lines().map(|l| l.split("//").next().unwrap_or(l)).collect::<Vec<_>>().join("\n")
}

/// The names that stand behind `crate::`, alone or first in the parts of a list in braces.
fn named(code: &str) -> BTreeSet<String> {
    let word = |text: &str| text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    let mut names = BTreeSet::new();
    for (at, _) in code.match_indices("crate::") {
        if code[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_') {
            continue;
        }
        let rest = &code[at + "crate::".len()..];
        let Some(list) = rest.strip_prefix('{') else {
            names.insert(word(rest));
            continue;
        };
        let (mut depth, mut begins) = (1, true);
        for (i, c) in list.char_indices() {
            match c {
                '{' => depth += 1,
                '}' => depth -= 1,
                ',' if depth == 1 => begins = true,
                c if begins && depth == 1 && c.is_alphabetic() => {
                    names.insert(word(&list[i..]));
                    begins = false;
                }
                _ => {}
            }
            if depth == 0 {
                break;
            }
        }
    }
    names
}

/// The top-level modules of a crate and which of them each uses.
fn modules(sources_of: &Path) -> Modules {
    let mut found = Modules::new();
    for path in sources(sources_of) {
        let inside = path.strip_prefix(sources_of).unwrap();
        let first = inside.iter().next().unwrap().to_str().unwrap();
        let name = first.trim_end_matches(".rs").to_owned();
        let is_test = path.file_stem().is_some_and(|s| s == "tests" || s == "testing");
        if is_test || ["lib", "main", "bin"].contains(&name.as_str()) {
            continue;
        }
        found.entry(name).or_default().extend(named(&code(&fs::read_to_string(&path).unwrap())));
    }
    let all: BTreeSet<String> = found.keys().cloned().collect();
    for (name, uses) in &mut found {
        uses.retain(|u| all.contains(u) && u != name);
    }
    found
}

/// All that is reached from a module.
fn reached(modules: &Modules, from: &str) -> BTreeSet<String> {
    let mut seen = BTreeSet::new();
    let mut open = vec![from.to_owned()];
    while let Some(next) = open.pop() {
        for to in modules.get(&next).into_iter().flatten() {
            if seen.insert(to.clone()) {
                open.push(to.clone());
            }
        }
    }
    seen
}

/// Sets of modules that lead to one another.
fn rings(modules: &Modules) -> BTreeSet<Vec<String>> {
    let reach: BTreeMap<&String, BTreeSet<String>> =
        modules.keys().map(|m| (m, reached(modules, m))).collect();
    let ring = |m: &String| -> Vec<String> {
        reach
            .iter()
            .filter(|(o, r)| r.contains(m) && reach[m].contains(**o))
            .map(|(o, _)| (*o).clone())
            .collect()
    };
    modules.keys().map(ring).filter(|r| r.len() > 1).collect()
}

#[test]
fn no_module_leads_back_to_itself() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("../crates");
    let mut found = BTreeSet::new();
    for entry in fs::read_dir(crates).unwrap() {
        let folder = entry.unwrap().path();
        let name = folder.file_name().unwrap().to_str().unwrap().to_owned();
        let modules = modules(&folder.join("src"));
        assert!(!modules.is_empty(), "{name} has no modules");
        found.extend(rings(&modules).into_iter().map(|ring| (name.clone(), ring)));
    }
    assert!(found.is_empty(), "rings: {found:?}");
}

#[test]
fn a_ring_is_found_by_its_use_lines() {
    let uses = |text: &str| named(&code(text)).into_iter().collect::<Vec<_>>();
    assert_eq!(uses("use crate::a::B;\nuse crate::{c, d::{e, F}};\n// use crate::no;"), ["a", "c", "d"]);
    assert_eq!(
        uses("use othercrate::no;\nfn f() { crate::g::h() }\n#[cfg(test)]\nmod tests {\nuse crate::no;"),
        ["g"]
    );
    let of = |pairs: &[(&str, &[&str])]| -> Modules {
        pairs.iter().map(|(m, u)| ((*m).to_owned(), u.iter().map(|u| (*u).to_owned()).collect())).collect()
    };
    assert!(rings(&of(&[("a", &["b"]), ("b", &["c"]), ("c", &[])])).is_empty());
    let found = rings(&of(&[("a", &["b"]), ("b", &["c"]), ("c", &["a"]), ("d", &["a"])]));
    assert_eq!(found.into_iter().collect::<Vec<_>>(), [["a", "b", "c"]]);
}
