//! Findings that the person lives with; they stay with their layer when layers move.

use serde::{Deserialize, Serialize};

/// A finding that the person has seen and lives with.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Accepted {
    /// Name of its kind, an identifier.
    pub kind: String,
    /// Where it is, a text that compares.
    #[serde(default)]
    pub place: String,
    /// Why it is fine.
    #[serde(default)]
    pub note: String,
}

/// Brings what was accepted up to date when layers move or go: `now` says where each layer is, by where it was.
/// What was accepted of a layer that is gone goes with it.
pub fn follow(accepted: &mut Vec<Accepted>, now: impl Fn(usize) -> Option<usize>) {
    accepted.retain_mut(|a| {
        let Some(rest) = a.place.strip_prefix("layer ") else { return true };
        let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
        let Some(was) = digits.parse::<usize>().ok().and_then(|n| n.checked_sub(1)) else { return true };
        let tail = rest.get(digits.len()..).unwrap_or_default();
        match now(was) {
            Some(to) => {
                a.place = format!("layer {}{tail}", to + 1);
                true
            }
            None => false,
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_accepted_moves_with_its_layer_and_goes_with_it() {
        let of = |place: &str| Accepted {
            kind: "hairline".to_owned(),
            place: place.to_owned(),
            note: String::new(),
        };
        let mut all = vec![of("layer 12, page 3"), of("layer 2"), of("page 4"), of("")];
        follow(&mut all, |was| [Some(1), None].get(was).copied().unwrap_or(Some(was - 1)));
        let places: Vec<&str> = all.iter().map(|a| a.place.as_str()).collect();
        assert_eq!(places, ["layer 11, page 3", "page 4", ""]);
    }
}
