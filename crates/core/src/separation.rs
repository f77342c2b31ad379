//! A colour picture into plates: the inverse of the overprint model.
//!
//! For a wanted colour the coverages are looked for, as they are asked for before each ink's curve, whose predicted print
//! is nearest ([`Inverse`]). What inks on a stock cannot print is brought within their reach by an [`Intent`]. A picture
//! is separated over a lattice of colours in Lab ([`Lattice`]), whose nodes agree with their neighbours, so that plates
//! have no edge where the picture has none; [`Separation::plates`] reads the lattice off for every pixel.

mod choose;
mod detail;
mod forward;
mod intent;
mod inverse;
mod lattice;
mod plates;
mod solve;

pub use choose::{Chosen, choose};
pub use detail::Detail;
pub use intent::Intent;
pub use inverse::{Inverse, Matched, SeparationError};
pub use lattice::Lattice;
pub use plates::{DetailShare, InkSum, OUT_OF_REACH, Plates, Separation, out_of_reach};

#[cfg(test)]
mod tests;

/// The most inks that a picture is separated into.
pub const MOST_INKS: usize = 6;
