//! The ground that Slipsheet stands on: numbers with units, geometry, colour spaces, rasters, transforms, statistics.
//!
//! **Invariant:** nothing in here knows of ink, paper or a project.
//!
//! **Invariant:** no crate below `files` touches a file, window, clock, environment or global state, and the same
//! input gives the same bytes on every machine: transcendental functions come from `libm`, and nothing
//! is ordered by a hash map.

#![expect(missing_docs, reason = "a name or an error's sentence that says everything stands alone")]

mod bounded;
pub mod cache;
pub mod colour;
pub mod distance;
pub mod fourier;
pub mod geometry;
pub mod linear;
pub mod morph;
pub mod picture;
pub mod projective;
pub mod random;
pub mod raster;
pub mod ron_words;
pub mod space;
pub mod spectrum;
pub mod stats;
pub mod units;
pub mod wide;
pub mod words;
