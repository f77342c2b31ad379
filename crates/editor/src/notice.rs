//! What the person is told, in sentences.

use slipsheet_document::ids::ArtId;
use slipsheet_document::layer::ScanKey;

/// How much a notice matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Good to know.
    Note,
    /// May spoil something.
    Warning,
    /// Did not work.
    Error,
}

/// What a notice is about, where that can be cured: the notice goes when it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cause {
    /// The project could not be saved.
    Save,
    /// The settings could not be kept.
    Settings,
    /// The shelf could not be kept.
    Shelf,
    /// No recovery copy could be kept.
    Recovery,
    /// A scan is missing, unreadable or changed.
    Scan(ScanKey),
    /// This piece of artwork is a colour picture that was laid in gray.
    Picture(ArtId),
}

/// A sentence for the person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    pub weight: Weight,
    pub text: String,
    pub cause: Option<Cause>,
}

impl Notice {
    /// Good to know.
    pub fn note(text: impl Into<String>) -> Self {
        Self { weight: Weight::Note, text: text.into(), cause: None }
    }

    /// May spoil something.
    pub fn warning(text: impl Into<String>) -> Self {
        Self { weight: Weight::Warning, text: text.into(), cause: None }
    }

    /// Did not work.
    pub fn error(text: impl Into<String>) -> Self {
        Self { weight: Weight::Error, text: text.into(), cause: None }
    }

    /// The same notice, which goes once this is cured.
    #[must_use]
    pub fn about(self, cause: impl Into<Option<Cause>>) -> Self {
        Self { cause: cause.into(), ..self }
    }
}

/// Which notice goes first where there are too many: one that is said again later, or else the oldest of the least
/// weight.
pub(crate) fn least_needed(notices: &[Notice]) -> usize {
    let again = notices.iter().enumerate().find(|(i, n)| notices.iter().skip(i + 1).any(|later| later == *n));
    let lightest = || notices.iter().enumerate().min_by_key(|(_, n)| n.weight).map(|(i, _)| i);
    again.map(|(i, _)| i).or_else(lightest).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use slipsheet_document::shelf::Shelf;
    use slipsheet_files::home::Settings;

    use super::*;
    use crate::session::Session;

    #[test]
    fn what_is_said_again_goes_first_and_then_the_oldest_note() {
        let mut notices = vec![
            Notice::error("the disk is full"),
            Notice::note("Written: a.png"),
            Notice::warning("b.png has changed"),
            Notice::note("Written: c.png"),
            Notice::warning("b.png has changed"),
        ];
        let mut gone = Vec::new();
        while !notices.is_empty() {
            gone.push(notices.remove(least_needed(&notices)).text);
        }
        let order = [
            "b.png has changed",
            "Written: a.png",
            "Written: c.png",
            "b.png has changed",
            "the disk is full",
        ];
        assert_eq!(gone, order);
    }

    #[test]
    fn a_session_keeps_so_many_notices_and_the_heaviest_of_them() {
        let mut session = Session::new(Shelf::starter().unwrap(), Settings::default());
        session.tell(Notice::error("the disk is full"));
        for n in 0..200 {
            session.tell(Notice::note(format!("Written: {n}.png")));
        }
        let texts: Vec<&str> = session.notices().iter().map(|n| n.text.as_str()).collect();
        assert_eq!((texts.len(), texts[0], texts[49]), (50, "the disk is full", "Written: 199.png"));
    }
}
