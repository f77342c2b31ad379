//! Misregistration: how far a design may slip before it shows, and what a run of it will look like.

pub mod distance;
