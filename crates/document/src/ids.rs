//! Identities: what a layer, a piece of artwork, a sheet or an edition is told apart by, whatever becomes of its name
//! and its place. A project gives each number once and never again.

use serde::{Deserialize, Serialize};

macro_rules! ids {
    ($($(#[$about:meta])* $give:ident $name:ident),*) => {$(
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(u32);

        impl $name {
            pub const fn new(number: u32) -> Self {
                Self(number)
            }

            pub const fn number(self) -> u32 {
                self.0
            }
        }

        impl Ids {
            pub fn $give(&mut self) -> $name {
                $name(self.next())
            }
        }
    )*};
}

ids! {
    /// A layer. Where a layer of a booklet prints on both faces of one sheet, both prints have its identity.
    layer LayerId,
    /// A piece of artwork. The two halves of artwork on facing pages have its identity.
    art ArtId,
    /// A kind of sheet: the piece's own, or its wrap's.
    sheet SheetId,
    edition EditionId,
    /// A colour picture that is separated.
    source SourceId
}

/// The numbers that a project has yet to give.
///
/// Two projects are the same whatever they would give next, and undo does not bring a number back.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Ids(u32);

impl PartialEq for Ids {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Ids {
    /// Gives none of the numbers that `other` has given either.
    pub fn keep_above(&mut self, other: Self) {
        self.0 = self.0.max(other.0);
    }

    /// Whether a number has been given.
    pub(crate) fn has_given(self, number: u32) -> bool {
        number < self.0
    }

    fn next(&mut self) -> u32 {
        let given = self.0;
        // Four thousand million identities are more than a lifetime of work; the last is given for ever.
        self.0 = self.0.saturating_add(1);
        given
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_number_is_given_twice() {
        let mut ids = Ids::default();
        let given = [ids.layer().number(), ids.art().number(), ids.sheet().number(), ids.edition().number()];
        assert_eq!(given, [0, 1, 2, 3]);
        let mut earlier = Ids::default();
        assert!(earlier == ids && !earlier.has_given(0) && ids.has_given(3) && !ids.has_given(4));
        earlier.keep_above(ids);
        assert_eq!(earlier.layer().number(), 4);
    }
}
