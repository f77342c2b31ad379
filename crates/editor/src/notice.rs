//! What the person is told, in sentences.

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
}

/// A sentence for the person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// How much it matters.
    pub weight: Weight,
    /// The sentence.
    pub text: String,
    /// What cures it.
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
