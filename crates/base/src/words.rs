//! Counted things in words, and characters that are none.

/// A number of things: “1 copy”, “3 copies”, “0 passes”.
pub fn count<N: PartialEq + From<u8> + std::fmt::Display>(n: N, noun: &str) -> String {
    if n == N::from(1) {
        return format!("1 {noun}");
    }
    match noun.strip_suffix('y') {
        Some(stem) if !stem.ends_with(['a', 'e', 'o', 'u']) => format!("{n} {stem}ies"),
        _ if noun.ends_with(['s', 'x']) || noun.ends_with("ch") || noun.ends_with("sh") => {
            format!("{n} {noun}es")
        }
        _ => format!("{n} {noun}s"),
    }
}

/// Things one after another: “lead”, “lead and tail”, “lead, tail and left”.
pub fn list(things: &[String]) -> String {
    match things {
        [] => String::new(),
        [one] => one.clone(),
        [others @ .., last] => format!("{} and {last}", others.join(", ")),
    }
}

/// A share in per cent, with a decimal below 1 % so that little is not nothing: “0 %”, “0.4 %”, “12 %”.
pub fn percent(share: f64) -> String {
    let percent = share * 100.0;
    let digits = usize::from(percent > 0.0 && percent < 0.95);
    format!("{percent:.digits$} %")
}

/// A message as a sentence: with a capital and a full stop.
pub fn sentence(message: &str) -> String {
    let mut letters = message.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().chain(letters).chain(['.']).collect())
}

/// Whether a terminal obeys a character in place of showing it: controls (ISO/IEC 6429), ends of lines, and the
/// marks that turn the direction of text around (Unicode Standard Annex 9).
pub fn is_obeyed(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_has_commas_and_one_and() {
        let words = ["lead", "tail", "left"].map(str::to_owned);
        let lists = [0, 1, 2, 3].map(|n| list(&words[..n]));
        assert_eq!(lists, ["", "lead", "lead and tail", "lead, tail and left"]);
    }

    #[test]
    fn one_thing_is_one_and_others_are_many() {
        let all: [(u32, &str); 6] =
            [(1, "copy"), (2, "copy"), (0, "pass"), (2, "day"), (3, "blank page"), (2, "batch")];
        let messages: Vec<String> = all.into_iter().map(|(n, noun)| count(n, noun)).collect();
        assert_eq!([0.0, 0.004, 0.0096, 0.12, 1.0].map(percent), ["0 %", "0.4 %", "1 %", "12 %", "100 %"]);
        assert_eq!(messages, ["1 copy", "2 copies", "0 passes", "2 days", "3 blank pages", "2 batches"]);
    }
}
