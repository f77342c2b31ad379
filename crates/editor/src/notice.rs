//! What the person is told, in sentences.

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

/// A sentence for the person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// How much it matters.
    pub weight: Weight,
    /// The sentence.
    pub text: String,
}

impl Notice {
    /// Good to know.
    pub fn note(text: impl Into<String>) -> Self {
        Self { weight: Weight::Note, text: text.into() }
    }

    /// May spoil something.
    pub fn warning(text: impl Into<String>) -> Self {
        Self { weight: Weight::Warning, text: text.into() }
    }

    /// Did not work.
    pub fn error(text: impl Into<String>) -> Self {
        Self { weight: Weight::Error, text: text.into() }
    }
}
